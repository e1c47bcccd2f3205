"""Answering on this computer."""

import secrets
import signal
import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import uvicorn
from fastapi import FastAPI

from models.settings import Settings
from models.store import Store
from pipelines.review.app import create_app
from pipelines.review.case import Reckon, Redraft, Rejudge
from pipelines.review.patience import MOST_AT_ONCE, PatientProtocol


class ServeError(Exception):
    """The pages cannot answer; the message says why and what to do."""


def is_loopback(host: str) -> bool:
    """Whether an address is one of this computer's own names, which nobody else can reach."""
    return host.casefold() in {"127.0.0.1", "localhost", "::1"}


def _check_open_address(host: str, names: tuple[str, ...], accounts: bool) -> None:
    shown = host or "an empty review.host"
    if not accounts:
        raise ServeError(
            f"The review pages do not answer on {shown} without accounts, because everyone who can reach it "
            "could sign records. Make an account first: droplight people add NAME --role reviewer. Or set "
            "review.host to 127.0.0.1 in settings.yaml."
        )
    if not host or not names:
        raise ServeError(
            f"The review pages do not answer on {shown} before settings.yaml says under which names or "
            "addresses browsers will call this computer: review.names: [garage-pc, 192.168.1.5]. Requests "
            "for other names are refused."
        )


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


def server_config(app: FastAPI, trusted_proxies: tuple[str, ...] = ()) -> uvicorn.Config:
    """How the server answers: patient for a while with slow clients, and with so many at once.

    Args:
        app: the pages.
        trusted_proxies: whose ``X-Forwarded-For`` and ``X-Forwarded-Proto`` are believed, as in the settings;
            without this the server would believe every program on this computer, which could then pass for
            another address whenever it had tried too many passwords.
    """
    return uvicorn.Config(
        app,
        http=PatientProtocol,
        ws="none",
        lifespan="off",
        limit_concurrency=MOST_AT_ONCE,
        timeout_graceful_shutdown=5,
        log_level="warning",
        access_log=False,
        server_header=False,
        proxy_headers=bool(trusted_proxies),
        forwarded_allow_ips=list(trusted_proxies),
    )


def serve(
    store: Store,
    home: Path,
    settings: Settings,
    rejudge: Rejudge | None = None,
    redraft: Redraft | None = None,
    reckon: Reckon | None = None,
) -> None:
    """Answer until interrupted; prints the address first.

    Args:
        store: where inspections are kept.
        home: the data folder.
        settings: ``review.host``, ``review.port`` (0 takes a free one), ``review.names`` and
            ``review.trusted_proxies``.
        rejudge: as for :func:`create_app`.
        redraft: likewise.
        reckon: likewise.

    Raises:
        ServeError: others could reach the address and there are no accounts, or nobody said under which
            names they will call it; or the port is taken.
    """
    host, port = settings.review.host.strip("[]"), settings.review.port
    accounts = store.people.needed()
    if not is_loopback(host):
        _check_open_address(host, settings.review.names, accounts)
    key = None if accounts else secrets.token_urlsafe(24)
    listening = _listening("127.0.0.1" if host.casefold() == "localhost" else host, port)
    name = settings.review.names[0] if settings.review.names and not is_loopback(host) else host
    name = f"[{name}]" if ":" in name else name
    link = f"http://{name}:{listening.getsockname()[1]}/" + (f"?key={key}" if key else "")
    print(f"Review at {link} (stop with Ctrl+C)", flush=True)
    app = create_app(store, home, settings, rejudge, redraft, key, reckon)
    try:
        with _ending_quietly():
            uvicorn.Server(server_config(app, settings.review.trusted_proxies)).run(sockets=[listening])
    except KeyboardInterrupt:
        pass
    finally:
        listening.close()


@contextmanager
def _ending_quietly() -> Iterator[None]:
    # Once the server has ended it raises the signal that ended it again, which would end the program before
    # what runs beside it, such as the sender of records, could finish what it has in hand.
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.signal(signal.SIGTERM, lambda *_: None)
    try:
        yield
    finally:
        signal.signal(signal.SIGTERM, before)
