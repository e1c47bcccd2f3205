import socket

import pytest

from models.settings import ReviewSettings, Settings
from pipelines.review.serve import ServeError, serve
from tests.pipelines.review.sample import Bench


@pytest.mark.parametrize(
    "host", ["0.0.0.0", "::", "192.168.1.5", "10.0.0.1", "garage.example", "127.0.0.2", ""]
)
def test_it_answers_on_this_computer_only(bench: Bench, host: str) -> None:
    settings = Settings(home=bench.home, review=ReviewSettings(host=host, port=0))
    with pytest.raises(ServeError, match=r"no accounts yet.*127\.0\.0\.1.*SSH tunnel"):
        serve(bench.store, bench.home, settings)


def test_a_taken_port_is_explained(bench: Bench) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        settings = Settings(home=bench.home, review=ReviewSettings(port=port))
        with pytest.raises(ServeError, match=f"Port {port} on 127.0.0.1 cannot be used"):
            serve(bench.store, bench.home, settings)


@pytest.mark.parametrize(("host", "shown"), [("127.0.0.1", "127.0.0.1"), ("localhost", "localhost")])
def test_the_address_is_printed_before_it_answers(bench: Bench, monkeypatch, capsys, host, shown) -> None:
    bound = []

    class Quiet:
        def __init__(self, config) -> None:
            self.config = config

        def run(self, sockets) -> None:
            bound.extend(s.getsockname() for s in sockets)

    monkeypatch.setattr("pipelines.review.serve.uvicorn.Server", Quiet)
    serve(bench.store, bench.home, Settings(home=bench.home, review=ReviewSettings(host=host, port=0)))
    ((address, port),) = bound
    assert address == "127.0.0.1"
    assert capsys.readouterr().out == f"Review at http://{shown}:{port}/ (stop with Ctrl+C)\n"
