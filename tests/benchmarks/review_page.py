"""How quickly the page of a large inspection comes, against what a reviewer will wait for.

Serves an inspection of 200 findings on a port of this computer and asks for its page as a browser does.
Fails when the first byte takes longer than 150 ms, the whole page longer than 1 s, or the page is larger than
300 KB, uncompressed (medians of ten; sound and photos come on their own later).
"""

import http.client
import socket
import statistics
import sys
import tempfile
import threading
import time
from pathlib import Path

import uvicorn

sys.path.insert(0, str(Path(__file__).parents[2]))

from pipelines.review.app import create_app
from pipelines.review.serve import server_config
from tests.pipelines.review.sample import ID, KEY, build, make_large

FINDINGS = 200
TURNS = 10


def _cookie(port: int) -> str:
    connection = http.client.HTTPConnection("127.0.0.1", port)
    connection.request("GET", f"/?key={KEY}")
    return str(connection.getresponse().headers["set-cookie"]).split(";")[0]


def _ask(port: int, cookie: str, coding: str = "gzip") -> tuple[float, float, int]:
    """Seconds to the first byte and to the last, and how many bytes."""
    begin = time.perf_counter()
    connection = http.client.HTTPConnection("127.0.0.1", port)
    connection.request("GET", f"/inspections/{ID}", headers={"cookie": cookie, "accept-encoding": coding})
    answer = connection.getresponse()
    first = time.perf_counter() - begin
    size = len(answer.read())
    assert answer.status == 200
    return first, time.perf_counter() - begin, size


def main() -> int:
    """Print the figures; 1 when one is beyond its bound."""
    with tempfile.TemporaryDirectory() as folder:
        bench = build(Path(folder))
        make_large(bench, FINDINGS)
        app = create_app(bench.store, bench.home, bench.settings, key=KEY)
        listening = socket.create_server(("127.0.0.1", 0))
        port = listening.getsockname()[1]
        server = uvicorn.Server(server_config(app))
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]})
        thread.start()
        try:
            cookie = _cookie(port)
            _ask(port, cookie)  # compiles the templates
            turns = [_ask(port, cookie) for _ in range(TURNS)]
            raw = _ask(port, cookie, "identity")[2]
        finally:
            server.should_exit = True
            thread.join()
            bench.store.close()
    first, whole, size = (statistics.median(column) for column in zip(*turns, strict=True))
    print(
        f"page of {FINDINGS} findings: first byte {first * 1000:.0f} ms, whole {whole * 1000:.0f} ms, ",
        end="",
    )
    print(f"{raw / 1000:.0f} KB, {size / 1000:.0f} KB compressed")
    return 0 if first < 0.150 and whole < 1.0 and raw < 300_000 else 1


if __name__ == "__main__":
    sys.exit(main())
