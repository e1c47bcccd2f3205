"""What can be seen from outside: logs that lead from a file to its record, health, and figures."""

import io
import json
import logging
import urllib.error
import urllib.request
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from prometheus_client.parser import text_string_to_metric_families

from capture.ingest import ingest
from models.capture import Capture
from models.people import Person
from models.settings import LogSettings, OperationsSettings
from models.store import Store
from pipelines.operations.health import health
from pipelines.operations.listening import ListenError, listening
from pipelines.operations.logs import JsonLines, Plain, set_up_logs
from pipelines.operations.measuring import exposition
from pipelines.operations.state import delivery_state, in_words, lasted, process_state, work_state
from pipelines.order import advance
from pipelines.review.visitor import digest_of
from tests.doubles import Failing, Scripted, workshop, write_note

PAD = "Left front outer pad, six millimeters."
NOW = datetime(2026, 11, 20, 12, tzinfo=UTC)


@pytest.fixture
def home(tmp_path: Path) -> Path:
    return tmp_path / "home"


@pytest.fixture
def store(home: Path) -> Iterator[Store]:
    opened = Store.open(f"sqlite:///{home / 'droplight.db'}")
    yield opened
    opened.close()


@pytest.fixture
def logged() -> Iterator[io.StringIO]:
    out, root = io.StringIO(), logging.getLogger()
    handler, level = logging.StreamHandler(out), root.level
    handler.setFormatter(JsonLines())
    root.addHandler(handler)
    root.setLevel(logging.INFO)
    yield out
    root.removeHandler(handler)
    root.setLevel(level)


def drop(store: Store, home: Path, name: str = "20261120T081500.wav", salt: int = 0) -> Capture:
    inbox = home.parent / "inbox"
    path = write_note(inbox / "417" / name, salt=salt)
    found = ingest(path, inbox, store, home, NOW)
    assert isinstance(found, Capture)
    return found


def numbers(text: str) -> dict[str, float]:
    """Name with the stage in brackets -> value."""
    found = {}
    for family in text_string_to_metric_families(text):
        for sample in family.samples:
            stage = sample.labels.get("stage")
            found[f"{sample.name}[{stage}]" if stage else sample.name] = sample.value
    return found


def ask(address: str, token: str = "", host: str = "") -> tuple[int, str]:
    request = urllib.request.Request(address)
    if token:
        request.add_header("Authorization", f"Bearer {token}")
    if host:
        request.add_header("Host", host)
    try:
        with urllib.request.urlopen(request, timeout=10) as answer:
            return answer.status, answer.read().decode()
    except urllib.error.HTTPError as error:
        with error:
            return error.code, error.read().decode()


def test_one_trace_leads_from_the_file_to_the_record(store: Store, home: Path, logged: io.StringIO) -> None:
    capture = drop(store, home)
    inspection = advance(store, capture.sha256, workshop(home, Scripted([PAD])))
    lines = [json.loads(line) for line in logged.getvalue().splitlines()]
    ours = [line for line in lines if line.get("trace") == capture.sha256[:16]]
    said = [line["message"] for line in ours]
    assert said[0] == f"Took in {capture.original_name}."
    assert [line["stage"] for line in ours if "stage" in line] == ["transcript", "notes"]
    last = ours[-1]
    assert last["message"] == "Draft of unit 417 drawn up."
    assert last["inspection"] == inspection
    assert last["captures"] == [capture.sha256[:16]]
    assert last["findings"] == 1
    assert all({"at", "level", "logger", "message", "host", "process"} <= set(line) for line in lines)
    assert datetime.fromisoformat(last["at"]).utcoffset() == timedelta(0)


def test_a_json_line_is_one_line_whatever_is_logged(logged: io.StringIO) -> None:
    try:
        raise ValueError("first\nsecond")
    except ValueError:
        logging.getLogger("droplight.x").exception("two\nlines %s", "“here”")
    (line,) = logged.getvalue().splitlines()
    found = json.loads(line)
    assert found["message"] == "two\nlines “here”" and "ValueError: first\nsecond" in found["exception"]


def test_plain_lines_show_no_traceback_unless_every_detail_is_asked_for() -> None:
    root = logging.getLogger()
    record = logging.LogRecord("x", logging.ERROR, "x", 1, "It failed.", (), None)
    try:
        raise ValueError("why")
    except ValueError as error:
        record.exc_info = (ValueError, error, error.__traceback__)
    assert Plain("%(message)s").format(record) == "It failed."
    level = root.level
    root.setLevel(logging.DEBUG)
    try:
        assert "Traceback" in Plain("%(message)s").format(record)
    finally:
        root.setLevel(level)


def test_setting_up_twice_says_nothing_twice(capsys: pytest.CaptureFixture[str]) -> None:
    root = logging.getLogger()
    level = root.level
    try:
        for _ in range(2):
            set_up_logs(LogSettings(format="json", level="info"))
        logging.getLogger("droplight.x").info("once")
    finally:
        set_up_logs(LogSettings())
        for handler in [h for h in root.handlers if getattr(h, "of_droplight", False)]:
            root.removeHandler(handler)
        root.setLevel(level)
    (line,) = capsys.readouterr().err.splitlines()
    assert json.loads(line)["message"] == "once"


def test_the_figures_count_what_was_done_and_what_waits(store: Store, home: Path) -> None:
    done, waits = drop(store, home), drop(store, home, "20261120T081600.wav", 3)
    before = numbers(exposition(store).decode())
    assert before["droplight_queue_captures"] == 2
    assert before["droplight_queue_age_seconds"] > 0
    advance(store, done.sha256, workshop(home, Scripted([PAD])))
    after = numbers(exposition(store).decode())
    grown = {name: after[name] - before.get(name, 0.0) for name in after}
    assert grown["droplight_stage_seconds_count[transcript]"] == 1
    assert grown["droplight_stage_seconds_count[notes]"] == 1
    assert grown["droplight_sound_seconds_total"] == pytest.approx(3.0)
    assert grown["droplight_findings_total"] == 1
    assert after["droplight_queue_captures"] == 1
    assert after["droplight_inspections_open"] == 1
    assert after["droplight_deliveries_waiting"] == 0
    advance(store, done.sha256, workshop(home, Scripted([PAD])))  # again: nothing is made anew
    again = numbers(exposition(store).decode())
    assert (
        again["droplight_stage_seconds_count[transcript]"]
        == after["droplight_stage_seconds_count[transcript]"]
    )
    advance(store, waits.sha256, workshop(home, Failing()))
    failed = numbers(exposition(store).decode())
    assert failed["droplight_stages_failed_total"] == again["droplight_stages_failed_total"] + 1
    assert failed["droplight_queue_captures"] == 1


def test_the_door_answers_on_this_computer_and_only_under_its_names(store: Store, home: Path) -> None:
    with listening(OperationsSettings(port=0), store, home) as address:
        assert ask(f"{address}/health/live") == (200, '{"status": "alive"}\n')
        status, text = ask(f"{address}/health")
        assert status == 200
        assert json.loads(text) == {"status": "ready", "checks": {"database": "good", "disk": "good"}}
        assert "droplight_queue_captures 0.0" in ask(f"{address}/metrics")[1]
        assert ask(f"{address}/metrics", host="evil.example")[0] == 403
        assert ask(f"{address}/originals")[0] == 404
    with pytest.raises(urllib.error.URLError):
        ask(f"{address}/health")


def test_beyond_this_computer_only_a_system_s_token_opens_the_figures(store: Store, home: Path) -> None:
    beyond = OperationsSettings(host="0.0.0.0", port=0)
    with pytest.raises(ListenError, match="droplight people add"), listening(beyond, store, home):
        pass
    for name, role in (("monitor", "system"), ("Ana", "reviewer")):
        store.people.add(Person.model_validate({"name": name, "role": role, "added_at": NOW}), "")
        store.people.open_session(digest_of(name), name, NOW, NOW + timedelta(days=9000))
    with listening(beyond, store, home) as address:
        port = address.rsplit(":", 1)[1]
        here = f"http://127.0.0.1:{port}"
        assert ask(f"{here}/metrics")[0] == 401
        assert ask(f"{here}/metrics", token="guess")[0] == 401
        assert ask(f"{here}/metrics", token="Ana")[0] == 401
        assert ask(f"{here}/metrics", token="monitor")[0] == 200
        assert json.loads(ask(f"{here}/health")[1]) == {"status": "ready"}


def test_a_port_in_use_is_said(store: Store, home: Path) -> None:
    with listening(OperationsSettings(port=0), store, home) as address:
        taken = OperationsSettings(port=int(address.rsplit(":", 1)[1]))
        with pytest.raises(ListenError, match=r"operations\.port"), listening(taken, store, home):
            pass


def test_not_ready_when_the_disk_is_full_or_the_database_newer(
    store: Store, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import shutil
    from types import SimpleNamespace

    assert health(store, home).ready
    monkeypatch.setattr(shutil, "disk_usage", lambda _: SimpleNamespace(total=1, used=1, free=10**8))
    monkeypatch.setattr(Store, "is_newer", lambda _: True)
    found = health(store, home)
    assert not found.ready
    assert "100 MB" in found.checks["disk"] and "newer Droplight" in found.checks["database"]


def test_the_state_in_words(store: Store, home: Path) -> None:
    capture = drop(store, home)
    assert "1 wait, the first for 10 minutes" in work_state(store, NOW + timedelta(minutes=10))
    with pytest.raises(RuntimeError, match=r"1 captures wait, the first for 3 hours: is droplight watch"):
        work_state(store, NOW + timedelta(hours=3))
    advance(store, capture.sha256, workshop(home, Scripted([PAD])))
    said = work_state(store, NOW + timedelta(hours=3))
    assert "1 inspections to sign" in said and "of 1 findings to look at" in said and "nothing waits" in said
    assert delivery_state(store) == "none waiting"


def test_the_counters_in_words(store: Store, home: Path) -> None:
    assert "set operations.port" in process_state(OperationsSettings())
    with pytest.raises(RuntimeError, match="nothing answers"):
        process_state(OperationsSettings(port=1))
    with listening(OperationsSettings(port=0), store, home) as address:
        port = int(address.rsplit(":", 1)[1])
        capture = drop(store, home, salt=9)
        advance(store, capture.sha256, workshop(home, Scripted([PAD])))
        said = process_state(OperationsSettings(port=port))
    assert "transcript" in said and "seconds of sound a second" in said and "findings to look at" in said
    assert in_words("") == "nothing done yet"
    assert [lasted(s) for s in (5, 119, 120, 7200, 200_000)] == [
        "5 seconds",
        "119 seconds",
        "2 minutes",
        "2 hours",
        "2 days",
    ]
