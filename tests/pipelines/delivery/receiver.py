"""A receiver on this computer that misbehaves as it is told."""

import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

SECRET = "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw"


@dataclass
class Receiver:
    """What came in, by webhook-id; ``behave`` names what to do with each request.

    Attributes:
        behave: a status, or "timeout", "close" (after taking the record in), "cut" (after the status line).
        taken: webhook-id -> bodies that were taken in as new.
        requests: headers of every request.
    """

    behave: Callable[[], int | str] = lambda: 200
    port: int = 0
    taken: dict[str, bytes] = field(default_factory=dict)
    requests: list[dict[str, str]] = field(default_factory=list)
    clashes: list[str] = field(default_factory=list)
    stop: threading.Event = field(default_factory=threading.Event)

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}/records"

    def take(self, message: str, body: bytes) -> None:
        """Take a record in once: the same id again is known, with other bytes it is a clash."""
        if self.taken.setdefault(message, body) != body:
            self.clashes.append(message)


def _drip(handler: BaseHTTPRequestHandler, stop: threading.Event) -> None:
    """An answer that never ends, byte by byte."""
    with suppress(OSError):
        handler.wfile.write(b"HTTP/1.1 200 OK\r\nx-slow: ")
        while not stop.wait(0.05):
            handler.wfile.write(b"x")


def _handler(receiver: Receiver) -> type[BaseHTTPRequestHandler]:
    class Handler(BaseHTTPRequestHandler):
        def log_message(self, format: str, *args: object) -> None:
            pass

        def do_POST(self) -> None:
            length = int(self.headers["content-length"])
            body = self.rfile.read(length)
            if len(body) < length:  # the sender went away in the middle
                self.close_connection = True
                return
            receiver.requests.append({k.lower(): v for k, v in self.headers.items()})
            how = receiver.behave()
            message = self.headers["webhook-id"]
            self.close_connection = True
            if how == "timeout":
                receiver.take(message, body)
                receiver.stop.wait(0.3)
                return
            if how == "drip":
                receiver.take(message, body)
                _drip(self, receiver.stop)
                return
            if how == "close":
                receiver.take(message, body)
                return
            if how == "cut":
                receiver.take(message, body)
                self.wfile.write(b"HTTP/1.1 200 OK\r\nContent-Length: 100\r\n\r\n{")
                return
            status = int(how)
            if 200 <= status < 300:
                receiver.take(message, body)
            self.send_response(status)
            if status == 429:
                self.send_header("Retry-After", "7200")
            if status == 302:
                self.send_header("Location", f"http://127.0.0.1:{receiver.port}/elsewhere")
            self.send_header("Content-Length", "0")
            self.end_headers()

        def do_GET(self) -> None:
            receiver.requests.append({"followed": self.path})
            self.send_response(200)
            self.end_headers()

    return Handler


@contextmanager
def running(behave: Callable[[], int | str] = lambda: 200) -> Iterator[Receiver]:
    receiver = Receiver(behave=behave)
    server = ThreadingHTTPServer(("127.0.0.1", 0), _handler(receiver))
    receiver.port = server.server_address[1]
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.02})
    thread.start()
    try:
        yield receiver
    finally:
        receiver.stop.set()
        server.shutdown()
        thread.join()
        server.server_close()
