import os
import re
import signal
import socket
import threading

import pytest
from fastapi.testclient import TestClient

from models.people import Person
from models.settings import ReviewSettings, Settings
from pipelines.review.serve import ServeError, serve
from tests.pipelines.review.sample import AT, Bench


@pytest.mark.parametrize(
    "host", ["0.0.0.0", "::", "192.168.1.5", "10.0.0.1", "garage.example", "127.0.0.2", ""]
)
def test_beyond_this_computer_it_wants_accounts_and_names(bench: Bench, host: str) -> None:
    settings = Settings(home=bench.home, review=ReviewSettings(host=host, port=0, names=("garage-pc",)))
    with pytest.raises(ServeError, match=r"without accounts.*droplight people add NAME --role reviewer"):
        serve(bench.store, bench.home, settings)
    program = Person(name="counter", role="system", added_at=AT)  # reads records; nobody signs in with it
    bench.store.people.add(program, "")
    with pytest.raises(ServeError, match="without accounts"):
        serve(bench.store, bench.home, settings)
    bench.store.people.add(Person(name="Ana", role="reviewer", added_at=AT), "digest")
    settings = Settings(home=bench.home, review=ReviewSettings(host=host, port=0))
    with pytest.raises(ServeError, match=r"review\.names: \[garage-pc"):
        serve(bench.store, bench.home, settings)


def test_a_taken_port_is_explained(bench: Bench) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        settings = Settings(home=bench.home, review=ReviewSettings(port=port))
        with pytest.raises(ServeError, match=f"Port {port} on 127.0.0.1 cannot be used"):
            serve(bench.store, bench.home, settings)


@pytest.fixture
def served(bench: Bench, monkeypatch):
    """Serves without answering; gives back where it listens and the application."""

    class Quiet:
        def __init__(self, config) -> None:
            self.config = config

        def run(self, sockets) -> None:
            found.extend([sockets[0].getsockname(), self.config.app])

    found: list = []
    monkeypatch.setattr("pipelines.review.serve.uvicorn.Server", Quiet)

    def run(**review):
        serve(bench.store, bench.home, Settings(home=bench.home, review=ReviewSettings(port=0, **review)))
        return found

    return run


def test_with_accounts_it_answers_the_shop_under_its_names(bench: Bench, served, capsys) -> None:
    bench.store.people.add(Person(name="Ana", role="reviewer", added_at=AT), "digest")
    (address, port), app = served(host="0.0.0.0", names=("garage-pc", "192.168.1.5"))
    assert address == "0.0.0.0"
    assert capsys.readouterr().out == f"Review at http://garage-pc:{port}/ (stop with Ctrl+C)\n"
    with TestClient(app, follow_redirects=False) as client:
        for host, status in (("garage-pc:80", 303), ("192.168.1.5", 303), ("192.168.1.6", 400), ("*", 400)):
            assert client.get("/", headers={"host": host}).status_code == status


@pytest.mark.parametrize("name", ["*", "a b", "", "x/y", "*.test"])
def test_names_are_names(name: str) -> None:
    with pytest.raises(ValueError, match="names"):
        ReviewSettings(names=(name,))


@pytest.mark.parametrize(("host", "shown"), [("127.0.0.1", "127.0.0.1"), ("localhost", "localhost")])
def test_the_link_that_is_printed_opens_the_pages(served, capsys, host, shown) -> None:
    (address, port), app = served(host=host)
    assert address == "127.0.0.1"
    said = capsys.readouterr().out
    found = re.fullmatch(r"Review at (http://(\S+):(\d+)/\?key=([\w-]{32})) \(stop with Ctrl\+C\)\n", said)
    assert found is not None
    assert (found[2], int(found[3])) == (shown, port)
    with TestClient(app, base_url=f"http://{shown}:{port}") as client:
        assert client.get("/").status_code == 403
        assert "Unit 417" in client.get(found[1]).text
        assert "Unit 417" in client.get("/").text


def test_a_signal_ends_it_and_lets_the_program_finish(bench: Bench) -> None:
    before = signal.getsignal(signal.SIGTERM)
    ended = threading.Event()

    def ask() -> None:
        while not ended.wait(0.3):
            os.kill(os.getpid(), signal.SIGTERM)

    signal.signal(signal.SIGTERM, lambda *_: None)  # one that comes too early, or too late, is not ours
    asking = threading.Thread(target=ask)
    asking.start()
    try:
        serve(bench.store, bench.home, Settings(home=bench.home, review=ReviewSettings(port=0)))
    finally:
        ended.set()
        asking.join()
        signal.signal(signal.SIGTERM, before)
    assert bench.store.inspections()  # still here


def test_each_start_has_a_link_of_its_own(served, capsys) -> None:
    served()
    first = capsys.readouterr().out.split("key=")[1]
    served()
    assert capsys.readouterr().out.split("key=")[1] != first
