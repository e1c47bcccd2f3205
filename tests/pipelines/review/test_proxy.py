"""The pages behind a proxy: whom they believe, and our own block for nginx, as DEVELOPERS.md has it."""

import re
import shutil
import socket
import ssl
import subprocess
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path

import httpx
import pytest
import uvicorn
from argon2 import PasswordHasher

from capture.ingest import scan
from models.people import Person
from models.settings import ReviewSettings
from pipelines.review.app import create_app
from pipelines.review.serve import server_config
from tests.pipelines.review.sample import AT, ID, Bench
from tests.pipelines.review.test_upload import jpeg

PASSWORD = "correct horse battery"
DIGEST = PasswordHasher(time_cost=1, memory_cost=64, parallelism=1).hash(PASSWORD)
NAME = "garage-pc"
MOST = 6
"""Failures of one place: in earnest there may be more, each of which takes its time."""
MANUAL = Path(__file__).parents[3] / "DEVELOPERS.md"

Serve = Callable[..., int]


@pytest.fixture
def serve(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> Iterator[Serve]:
    """Answers on a port of this computer, with the proxies that are given; a shop with one reviewer."""
    monkeypatch.setenv("FORWARDED_ALLOW_IPS", "*")  # the server's own way, which would believe everybody
    monkeypatch.setattr("pipelines.review.login.MOST_FROM_ONE_PLACE", MOST)
    bench.store.people.add(Person(name="Ana Cole", role="reviewer", added_at=AT), DIGEST)
    with ExitStack() as running:

        def answer(*proxies: str) -> int:
            review = ReviewSettings(
                names=(NAME,), trusted_proxies=proxies, inbox=bench.home.parent / "phones"
            )
            return running.enter_context(_answering(bench, review))

        yield answer


@contextmanager
def _answering(bench: Bench, review: ReviewSettings) -> Iterator[int]:
    settings = bench.settings.model_copy(update={"review": review})
    app = create_app(bench.store, bench.home, settings)
    server = uvicorn.Server(server_config(app, settings.review.trusted_proxies))
    listening = socket.create_server(("127.0.0.1", 0))
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]})
    thread.start()
    while not server.started:
        time.sleep(0.01)
    try:
        yield listening.getsockname()[1]
    finally:
        server.should_exit = True
        thread.join(20)
        listening.close()


def _sign_in(port: int, name: str = "Ana Cole", password: str = PASSWORD, **said: str) -> httpx.Response:
    headers = {f"x-forwarded-{key}": value for key, value in said.items()}
    form = {"name": name, "password": password}
    return httpx.post(f"http://127.0.0.1:{port}/login", data=form, headers=headers, trust_env=False)


def _fail_until_refused(port: int, said: str) -> None:
    """As many wrong passwords as one place may give, each for another name."""
    for n in range(MOST):
        assert _sign_in(port, f"Nobody {n}", "wrong", **{"for": said.format(n)}).status_code == 401


@pytest.mark.parametrize("proxies", [(), ("192.0.2.1",)])
def test_a_forged_address_does_not_dodge_the_limit(serve: Serve, proxies: tuple[str, ...]) -> None:
    port = serve(*proxies)
    _fail_until_refused(port, "198.51.100.{}")
    assert _sign_in(port, "Somebody", "wrong", **{"for": "198.51.100.99"}).status_code == 429


@pytest.mark.parametrize("proxy", ["127.0.0.1", "127.0.0.0/8"])
def test_a_trusted_proxy_says_who_asks(serve: Serve, proxy: str) -> None:
    port = serve(proxy)
    # What stands on the left came with the request and may be forged; the proxy writes on the right.
    _fail_until_refused(port, "203.0.113.{}, 198.51.100.7")
    assert _sign_in(port, "Somebody", "wrong", **{"for": "198.51.100.7"}).status_code == 429
    assert _sign_in(port, "Somebody", "wrong", **{"for": "198.51.100.8"}).status_code == 401


@pytest.mark.parametrize(
    ("proxies", "proto", "secure"),
    [((), "https", False), (("127.0.0.1",), "https", True), (("127.0.0.1",), "http", False)],
)
def test_the_cookie_is_secure_when_a_trusted_proxy_says_https(
    serve: Serve, proxies: tuple[str, ...], proto: str, secure: bool
) -> None:
    answer = _sign_in(serve(*proxies), proto=proto)
    assert answer.status_code == 303
    assert ("; secure" in answer.headers["set-cookie"].lower()) is secure


@pytest.mark.parametrize("proxy", ["*", "", "garage-pc", "0.0.0.0/0", "::/0", "127.0.0.1:80", "10.1.0.5/24"])
def test_a_proxy_is_named_by_its_address(proxy: str) -> None:
    with pytest.raises(ValueError, match="trusted_proxies"):
        ReviewSettings(trusted_proxies=(proxy,))


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def _certificate(folder: Path) -> tuple[Path, Path]:
    certificate, key = folder / "garage-pc.crt", folder / "garage-pc.key"
    names = f"subjectAltName=DNS:{NAME},IP:127.0.0.1"
    command = ["openssl", "req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:P-256", "-nodes"]
    command += ["-days", "2", "-subj", f"/CN={NAME}", "-addext", names]
    command += ["-keyout", str(key), "-out", str(certificate)]
    subprocess.run(command, check=True, capture_output=True, timeout=60)
    return certificate, key


def _configuration(folder: Path, port: int, pages: int) -> str:
    """The block of the manual with this test's ports and files, and a second instead of ten for heads."""
    found = re.search(r"```nginx\n(.*?)```", MANUAL.read_text(encoding="utf-8"), re.DOTALL)
    assert found is not None
    block = found[1]
    for written, ours in (
        ("listen 443 ssl", f"listen 127.0.0.1:{port} ssl"),
        ("/etc/droplight/", f"{folder}/"),
        ("127.0.0.1:8417", f"127.0.0.1:{pages}"),
        ("client_header_timeout 10s", "client_header_timeout 1s"),
    ):
        assert written in block
        block = block.replace(written, ours)
    kinds = ("client_body", "proxy", "fastcgi", "uwsgi", "scgi")
    places = "".join(f"{kind}_temp_path {folder}/{kind};\n" for kind in kinds)
    return (
        "daemon off;\nmaster_process off;\n"  # one process, of whoever runs the tests
        f"pid {folder}/pid;\nerror_log {folder}/error.log;\nevents {{}}\n"
        f"http {{\naccess_log off;\n{places}{block}}}\n"
    )


@pytest.fixture
def nginx(serve: Serve, tmp_path_factory: pytest.TempPathFactory) -> Iterator[httpx.Client]:
    """A browser of the shop's network, which calls nginx over https by the name of the computer."""
    program = shutil.which("nginx") or shutil.which("nginx", path="/usr/sbin")
    if program is None or shutil.which("openssl") is None:
        pytest.skip("no nginx, or no openssl to make its certificate, on this computer")
    folder = tmp_path_factory.mktemp("nginx")
    port, (certificate, _) = _free_port(), _certificate(folder)
    settings = folder / "nginx.conf"
    settings.write_text(_configuration(folder, port, serve("127.0.0.1")), encoding="utf-8")
    command = [program, "-p", str(folder), "-e", str(folder / "error.log"), "-c", str(settings)]
    running = subprocess.Popen(command, stderr=subprocess.PIPE)
    try:
        _wait_for(port, running)
        trusted = ssl.create_default_context(cafile=certificate)
        headers = {"host": f"{NAME}:{port}", "origin": f"https://{NAME}:{port}"}
        root = f"https://127.0.0.1:{port}"
        with httpx.Client(base_url=root, verify=trusted, headers=headers, trust_env=False) as client:
            yield client
    finally:
        running.terminate()
        running.communicate(timeout=20)


def _wait_for(port: int, running: "subprocess.Popen[bytes]") -> None:
    deadline = time.monotonic() + 20
    while time.monotonic() < deadline:
        if running.poll() is not None:
            assert running.stderr is not None
            pytest.fail(f"nginx ended: {running.stderr.read().decode()}")
        try:
            socket.create_connection(("127.0.0.1", port), 1).close()
            return
        except OSError:
            time.sleep(0.05)
    pytest.fail("nginx does not answer")


def _signed_in(nginx: httpx.Client) -> httpx.Client:
    answer = nginx.post("/login", data={"name": "Ana Cole", "password": PASSWORD})
    assert answer.status_code == 303
    assert "; secure" in answer.headers["set-cookie"].lower()
    return nginx


def test_nginx_signing_in_and_a_decision_s_page(nginx: httpx.Client) -> None:
    assert nginx.get(f"/inspections/{ID}").status_code == 303  # to the page for signing in
    page = _signed_in(nginx).get(f"/inspections/{ID}")
    assert (page.status_code, "417" in page.text) == (200, True)
    foreign = nginx.post("/logout", headers={"origin": "https://elsewhere.example"})
    assert foreign.status_code == 403


def test_nginx_passes_the_name_on_that_the_browser_called(nginx: httpx.Client) -> None:
    assert nginx.get("/login").status_code == 200
    assert nginx.get("/login", headers={"host": "elsewhere.example"}).status_code == 400


def test_nginx_says_itself_who_asks(nginx: httpx.Client) -> None:
    for n in range(MOST):
        form = {"name": f"Nobody {n}", "password": "wrong"}
        answer = nginx.post("/login", data=form, headers={"x-forwarded-for": f"198.51.100.{n}"})
        assert answer.status_code == 401
    form = {"name": "Somebody", "password": "wrong"}
    assert nginx.post("/login", data=form, headers={"x-forwarded-for": "198.51.100.99"}).status_code == 429


def test_nginx_sound_in_pieces(nginx: httpx.Client, bench: Bench) -> None:
    address = f"/audio/{bench.audio.sha256}"
    whole = _signed_in(nginx).get(address)
    assert (whole.status_code, whole.headers["accept-ranges"]) == (200, "bytes")
    piece = nginx.get(address, headers={"range": "bytes=100-199"})
    assert (piece.status_code, piece.content) == (206, whole.content[100:200])
    assert piece.headers["content-range"] == f"bytes 100-199/{len(whole.content)}"


def test_nginx_photos_from_a_phone(nginx: httpx.Client, bench: Bench) -> None:
    photo = jpeg() + b"\0" * 3_000_000  # more than nginx takes unless it is told to
    files = {"files": ("image.jpg", photo, "image/jpeg")}
    answer = _signed_in(nginx).post("/bay/send", data={"truck": ID}, files=files, timeout=60)
    assert (answer.status_code, "1 of 1 arrived for 417" in answer.text) == (200, True)
    (path,) = scan(bench.home.parent / "phones")
    assert path.read_bytes() == photo


def test_nginx_does_not_wait_for_slow_heads(nginx: httpx.Client) -> None:
    port = nginx.base_url.port
    trusted = ssl.create_default_context()
    trusted.check_hostname, trusted.verify_mode = False, ssl.CERT_NONE
    with (
        socket.create_connection(("127.0.0.1", port), 10) as bare,
        trusted.wrap_socket(bare) as connection,
    ):
        begin = time.monotonic()
        connection.sendall(b"GET / HTTP/1.1\r\nx: ")
        assert connection.recv(65536) == b""  # closed, without a word
        assert 0.5 < time.monotonic() - begin < 5
    assert nginx.get("/login").status_code == 200
