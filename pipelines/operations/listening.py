"""``/health`` and ``/metrics`` of ``watch`` and ``worker``, for whoever watches over them; nothing else."""

import hashlib
import json
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

from models.settings import OperationsSettings
from models.store import Store
from pipelines.operations.health import health
from pipelines.operations.measuring import exposition

_OWN_NAMES = {"127.0.0.1", "localhost", "[::1]", "::1"}


class ListenError(Exception):
    """The figures cannot be shown; the message says why and what to do."""


def _digest(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()


class _Server(ThreadingHTTPServer):
    daemon_threads = True

    def __init__(self, settings: OperationsSettings, store: Store, home: Path) -> None:
        self.settings, self.store, self.home = settings, store, home
        super().__init__((settings.host, settings.port or 0), _Handler)

    @property
    def open_beyond(self) -> bool:
        """Whether other computers can reach it."""
        return self.settings.host not in _OWN_NAMES


class _Handler(BaseHTTPRequestHandler):
    server: _Server
    server_version = "droplight"
    sys_version = ""
    timeout = 10

    def do_GET(self) -> None:
        if not self._may_ask():
            self._answer(403, "This answers under its own names only.\n")
        elif self.path == "/health/live":
            self._answer(200, '{"status": "alive"}\n', "application/json")
        elif self.path == "/health":
            found = health(self.server.store, self.server.home)
            status = {"status": "ready" if found.ready else "not ready"}
            told = status if self.server.open_beyond else status | {"checks": found.checks}
            self._answer(200 if found.ready else 503, json.dumps(told) + "\n", "application/json")
        elif self.path == "/metrics":
            self._metrics()
        else:
            self._answer(404, "There is /health, /health/live and /metrics.\n")

    def _metrics(self) -> None:
        if self.server.open_beyond and not self._has_token():
            self._answer(401, "The figures need the token of a system account.\n")
            return
        text = exposition(self.server.store).decode()
        self._answer(200, text, "text/plain; version=0.0.4; charset=utf-8")

    def _may_ask(self) -> bool:
        # A page of another site may point a name of its own at this computer.
        host = self.headers.get("host", "").rsplit(":", 1)[0].casefold()
        return self.server.open_beyond or host in _OWN_NAMES

    def _has_token(self) -> bool:
        scheme, _, token = self.headers.get("authorization", "").partition(" ")
        if scheme.casefold() != "bearer" or not token.strip():
            return False
        session = self.server.store.people.session(_digest(token.strip()), datetime.now(UTC))
        return session is not None and session.person is not None and session.person.role == "system"

    def _answer(self, status: int, text: str, kind: str = "text/plain; charset=utf-8") -> None:
        body = text.encode()
        self.send_response(status)
        self.send_header("content-type", kind)
        self.send_header("content-length", str(len(body)))
        self.send_header("cache-control", "no-store")
        self.send_header("x-content-type-options", "nosniff")
        if status == 401:
            self.send_header("www-authenticate", "Bearer")
        self.end_headers()
        self.wfile.write(body)

    def log_message(self, format: str, *args: object) -> None:
        """Nobody needs a line for each time that Prometheus asks."""


@contextmanager
def listening(settings: OperationsSettings, store: Store, home: Path) -> Iterator[str]:
    """Answer in a thread of its own for as long as the context lasts; does nothing without a port.

    Args:
        settings: where.
        store: what waits is counted in it.
        home: the data folder.

    Yields:
        The address, or an empty text.

    Raises:
        ListenError: the port cannot be used, or others could reach it and no system account exists.
    """
    if settings.port is None:
        yield ""
        return
    if settings.host not in _OWN_NAMES and not any(p.role == "system" for p in store.people.all()):
        raise ListenError(
            f"The figures are not shown on {settings.host} without a system account, whose token opens them: "
            "droplight people add NAME --role system. Or set operations.host to 127.0.0.1."
        )
    try:
        server = _Server(settings, store, home)
    except OSError as error:
        raise ListenError(
            f"Port {settings.port} on {settings.host} cannot be used ({error.strerror or error}): "
            "set another operations.port in settings.yaml."
        ) from None
    thread = threading.Thread(target=server.serve_forever, name="figures", daemon=True)
    thread.start()
    try:
        yield f"http://{settings.host}:{server.server_address[1]}"
    finally:
        server.shutdown()
        server.server_close()
