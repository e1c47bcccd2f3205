"""Answering on this computer."""

import socket
from pathlib import Path

import uvicorn

from models.settings import Settings
from models.store import Store
from pipelines.review.app import create_app
from pipelines.review.case import Redraft, Rejudge


class ServeError(Exception):
    """The pages cannot answer; the message says why and what to do."""


def is_loopback(host: str) -> bool:
    """Whether an address is one of this computer's own names, which nobody else can reach."""
    return host.casefold() in {"127.0.0.1", "localhost", "::1"}


def _listening(host: str, port: int) -> socket.socket:
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    found = socket.socket(family, socket.SOCK_STREAM)
    try:
        found.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        found.bind((host, port))
    except OSError as error:
        found.close()
        raise ServeError(
            f"Port {port} on {host} cannot be used ({error.strerror or error}): close what uses it, "
            "or set another review.port in settings.yaml."
        ) from None
    return found


def serve(
    store: Store,
    home: Path,
    settings: Settings,
    rejudge: Rejudge | None = None,
    redraft: Redraft | None = None,
) -> None:
    """Answer until interrupted; prints the address first.

    Args:
        store: where inspections are kept.
        home: the data folder.
        settings: ``review.host`` and ``review.port``; port 0 takes a free one.
        rejudge: as for :func:`create_app`.
        redraft: likewise.

    Raises:
        ServeError: the address is not this computer's own, or the port is taken.
    """
    host, port = settings.review.host.strip("[]"), settings.review.port
    if not is_loopback(host):
        raise ServeError(
            f"The review pages do not answer on {host}: there are no accounts yet, so everyone who can reach "
            "that address could sign records. Set review.host to 127.0.0.1 in settings.yaml; from another "
            "computer, come through an SSH tunnel."
        )
    listening = _listening("127.0.0.1" if host.casefold() == "localhost" else host, port)
    name = f"[{host}]" if ":" in host else host
    print(f"Review at http://{name}:{listening.getsockname()[1]}/ (stop with Ctrl+C)", flush=True)
    app = create_app(store, home, settings, rejudge, redraft)
    config = uvicorn.Config(app, log_level="warning", access_log=False, server_header=False)
    try:
        uvicorn.Server(config).run(sockets=[listening])
    except KeyboardInterrupt:
        pass
    finally:
        listening.close()
