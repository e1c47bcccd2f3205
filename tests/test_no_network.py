"""At run time nothing asks the network for anything, unless a setting says so."""

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[1]

# A hook of the interpreter itself: no library can go round it by keeping its own reference to a function.
GUARD = """
import sys

def watch(event, arguments):
    if event in ("socket.connect", "socket.sendto", "socket.bind"):
        address = arguments[1]
        host = address[0] if isinstance(address, tuple) else "a local socket"
    elif event in ("socket.getaddrinfo", "socket.gethostbyname"):
        host = arguments[0]
    else:
        return
    if host not in ("127.0.0.1", "::1", "localhost", "a local socket", None):
        raise RuntimeError(f"NETWORK: {event} {host}")

sys.addaudithook(watch)
"""
DEMO = """
from pipelines import workshop as tools
from tests.doubles import Scripted, workshop
SAID = ["Starting unit four one seven. Left front outer pad, six millimeters."]
tools.open_workshop = lambda settings: workshop(settings.home, Scripted(SAID))
from pipelines.commands.main import main
sys.exit(main(sys.argv[1:]))
"""


def run(code: str, home: Path, *words: str) -> "subprocess.CompletedProcess[str]":
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "DROPLIGHT_HOME": str(home)}
    environment.pop("DATABASE_URL", None)
    return subprocess.run(
        [sys.executable, "-c", code, *words],
        cwd=ROOT,
        env=environment,
        capture_output=True,
        text=True,
        timeout=200,
    )


def test_the_demo_s_draft_asks_for_nothing(tmp_path: Path) -> None:
    draft = tmp_path / "draft.json"
    done = run(GUARD + DEMO, tmp_path / "home", "draft", "samples/demo/inbox", "--out", str(draft))
    assert (done.returncode, "NETWORK" in done.stderr) == (0, False), done.stderr
    assert draft.exists()


def test_the_whole_demo_asks_for_nothing(tmp_path: Path) -> None:
    done = run(GUARD + DEMO, tmp_path / "home", "demo", "--no-serve")
    assert (done.returncode, "NETWORK" in done.stderr) == (0, False), done.stderr
    assert "Draft for unit" in done.stdout


def test_the_guard_would_have_seen_it(tmp_path: Path) -> None:
    ask = "import urllib.request\nurllib.request.urlopen('http://example.org/', timeout=2)\n"
    done = run(GUARD + ask, tmp_path)
    assert done.returncode == 1
    assert "NETWORK: socket.getaddrinfo example.org" in done.stderr
    direct = "import socket\nsocket.socket().connect(('192.0.2.1', 80))\n"
    assert "NETWORK: socket.connect 192.0.2.1" in run(GUARD + direct, tmp_path).stderr
