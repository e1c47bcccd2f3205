"""A receiver that fails in every way and may be killed at any moment: PORT FILE SEED.

What it takes in is a line of the file, written before it answers: ``new`` for an id it has not seen,
``again`` for one that came with the same bytes, ``clash`` for the same id with other bytes; and for each that
it heard ``answer:`` with the kind of answer that it is about to give.
"""

import hashlib
import os
import random
import sys
import time
from contextlib import suppress
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from threading import Lock

KINDS = [200, 204, 500, 503, 429, 409, 422, 410, "quiet", "drip", "close", "cut", "refuse"]
WEIGHTS = [70, 8, 8, 3, 1.2, 3, 1, 0.1, 0.4, 0.1, 3, 1.5, 1]
ANSWER = "answer:"
QUIET_S = 0.8
TAKEN = {200, 204, "quiet", "drip", "close", "cut"}


class Book:
    """The file of what was taken in."""

    def __init__(self, path: Path) -> None:
        self._lock = Lock()
        self._known: dict[str, str] = {}
        lines = path.read_bytes().split(b"\n")[:-1] if path.exists() else []
        for kind, message, sha256 in (line.decode().split() for line in lines):
            if kind == "new":
                self._known[message] = sha256
        self._file = os.open(path, os.O_WRONLY | os.O_APPEND | os.O_CREAT)

    def note(self, kind: str, message: str, sha256: str) -> None:
        os.write(self._file, f"{kind} {message} {sha256}\n".encode())  # one call: whole, or not at all

    def take(self, message: str, sha256: str) -> None:
        with self._lock:
            known = self._known.setdefault(message, "")
            kind = "new" if not known else "again" if known == sha256 else "clash"
            self.note(kind, message, sha256)
            self._known[message] = known or sha256


class Handler(BaseHTTPRequestHandler):
    """Takes a record in, or not, and answers, or not."""

    book: Book
    rng: random.Random

    def log_message(self, format: str, *args: object) -> None:
        pass

    def do_POST(self) -> None:
        self.close_connection = True
        length = int(self.headers["content-length"])
        body = self.rfile.read(length)
        if len(body) < length:
            return  # the sender was killed
        message, sha256 = self.headers["webhook-id"], hashlib.sha256(body).hexdigest()
        how = self.rng.choices(KINDS, WEIGHTS)[0]
        self.book.note(f"{ANSWER}{how}", message, sha256)
        if how in TAKEN:
            self.book.take(message, sha256)
        with suppress(OSError):  # the sender may be gone
            if isinstance(how, int):
                self._status(how)
            elif how == "quiet":
                time.sleep(QUIET_S)
            elif how == "drip":
                self._drip()
            elif how == "cut":
                self.wfile.write(b"HTTP/1.1 200 OK\r\nContent-Length: 100\r\n\r\n{")

    def _drip(self) -> None:
        for byte in b"HTTP/1.1 200 OK\r\nx-slow: " + b"x" * 40:
            self.wfile.write(bytes([byte]))
            time.sleep(0.1)

    def _status(self, status: int) -> None:
        self.send_response(status)
        if status == 429:
            self.send_header("Retry-After", "7200")
        self.send_header("Content-Length", "0")
        self.end_headers()


def main() -> None:
    """Answer until killed."""
    port, path, seed = int(sys.argv[1]), Path(sys.argv[2]), int(sys.argv[3])
    Handler.book, Handler.rng = Book(path), random.Random(seed)
    server = ThreadingHTTPServer(("127.0.0.1", port), Handler)
    print("ready", flush=True)
    server.serve_forever()


if __name__ == "__main__":
    main()
