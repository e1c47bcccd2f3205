"""Slow and silent clients against the real server: heads, forms, and too many connections."""

import socket
import threading
import time
from collections.abc import Iterator

import pytest
import uvicorn

from pipelines.review.app import create_app
from pipelines.review.serve import server_config
from tests.pipelines.review.sample import KEY, Bench


@pytest.fixture
def port(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> Iterator[int]:
    """The pages on a port of this computer; limits are tenths of a second."""
    monkeypatch.setattr("pipelines.review.patience.HEAD_WITHIN_S", 0.4)
    monkeypatch.setattr("pipelines.review.desk.BODY_WITHIN_S", 0.4)
    config = server_config(create_app(bench.store, bench.home, bench.settings, key=KEY))
    config.limit_concurrency = 12
    server = uvicorn.Server(config)
    listening = socket.create_server(("127.0.0.1", 0))
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]})
    thread.start()
    while not server.started:
        time.sleep(0.01)
    yield listening.getsockname()[1]
    server.should_exit = True
    thread.join(20)
    listening.close()


def _open(port: int) -> socket.socket:
    connection = socket.create_connection(("127.0.0.1", port))
    connection.settimeout(5)
    return connection


def _rest(connection: socket.socket) -> bytes:
    """Everything until the server closes; fails when it does not."""
    got = b""
    while piece := connection.recv(65536):
        got += piece
    return got


def _cookie(port: int) -> str:
    with _open(port) as connection:
        connection.sendall(
            f"GET /?key={KEY} HTTP/1.1\r\nhost: 127.0.0.1\r\nconnection: close\r\n\r\n".encode()
        )
        head = _rest(connection).decode()
    return next(line.split(": ", 1)[1].split(";")[0] for line in head.split("\r\n") if "set-cookie" in line)


@pytest.mark.parametrize("first", [b"", b"GET / HT", b"GET / HTTP/1.1\r\nhost: 127.0.0.1\r\n"])
def test_a_head_that_does_not_come_is_not_waited_for(port: int, first: bytes) -> None:
    with _open(port) as connection:
        begin = time.monotonic()
        if first:
            connection.sendall(first)
        assert _rest(connection).startswith(b"HTTP/1.1 408 ")
        assert 0.2 < time.monotonic() - begin < 3


def test_a_head_that_drips_is_not_waited_for_either(port: int) -> None:
    with _open(port) as connection:
        begin = time.monotonic()
        try:
            for byte in b"GET / HTTP/1.1\r\nx: " + b"y" * 100:
                connection.sendall(bytes([byte]))
                time.sleep(0.05)
        except OSError:
            pass  # it was closed
        assert time.monotonic() - begin < 3


def test_a_second_request_may_take_its_time_but_not_half_of_it(port: int) -> None:
    with _open(port) as connection:
        connection.sendall(b"GET /favicon.ico HTTP/1.1\r\nhost: 127.0.0.1\r\n\r\n")
        assert connection.recv(65536).startswith(b"HTTP/1.1 204 ")
        time.sleep(0.6)  # longer than a head may take: the connection is kept for the next page
        connection.sendall(b"GET /favicon.ico HTTP/1.1\r\nhost: 127.0.0.1\r\n\r\n")
        assert connection.recv(65536).startswith(b"HTTP/1.1 204 ")
        connection.sendall(b"GET /favicon.ico HT")
        assert _rest(connection).startswith(b"HTTP/1.1 408 ")


def test_a_form_that_does_not_come_is_not_waited_for(port: int) -> None:
    head = (
        f"POST /name HTTP/1.1\r\nhost: 127.0.0.1\r\ncookie: {_cookie(port)}\r\nconnection: close\r\n"
        "content-type: application/x-www-form-urlencoded\r\ncontent-length: 1000\r\n\r\nname=A"
    )
    with _open(port) as connection:
        connection.sendall(head.encode())
        begin = time.monotonic()
        assert _rest(connection).startswith(b"HTTP/1.1 408 ")
        assert 0.2 < time.monotonic() - begin < 3


def test_a_head_without_end_is_refused(port: int) -> None:
    with _open(port) as connection:
        try:
            connection.sendall(b"GET / HTTP/1.1\r\nx: " + b"y" * 200_000)
            said = _rest(connection)
        except OSError:
            return  # it closed while we were still sending
        assert said.startswith((b"HTTP/1.1 400 ", b"HTTP/1.1 431 "))


def test_too_many_at_once_are_sent_away_and_served_again_afterwards(port: int) -> None:
    others = [_open(port) for _ in range(12)]
    ask = b"GET /favicon.ico HTTP/1.1\r\nhost: 127.0.0.1\r\nconnection: close\r\n\r\n"
    with _open(port) as connection:
        connection.sendall(ask)
        assert _rest(connection).startswith(b"HTTP/1.1 503 ")
    for other in others:
        other.close()
    time.sleep(0.1)
    with _open(port) as connection:
        connection.sendall(ask)
        assert _rest(connection).startswith(b"HTTP/1.1 204 ")
