"""Work in a process apart: every kind of fall is told from the others, and the next job is done."""

import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from capture.apart import Crashed, Helper, JobFailed, NoMemory, Overrun, Reply, Stopped

LONG = 30.0
GB = 1 << 30
ROOT = Path(__file__).parents[2]


@pytest.fixture
def helper() -> Iterator[Helper]:
    made = Helper("tests.capture.misbehaving", ("one", "two"), GB, {"OPENBLAS_NUM_THREADS": "1"})
    yield made
    made.close()


def ask(helper: Helper, job: str, cpu_s: float = LONG, wall_s: float = LONG, **words: object) -> list[Reply]:
    return list(helper.ask(job, words, cpu_s=cpu_s, wall_s=wall_s))


def process_of(helper: Helper) -> int:
    return int(ask(helper, "who")[0].words["process"])


def alive(process: int) -> bool:
    try:
        return Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except OSError:
        return False


def gone(process: int) -> bool:
    end = time.monotonic() + 5
    while alive(process) and time.monotonic() < end:
        time.sleep(0.02)
    return not alive(process)


def test_words_and_bytes_go_there_and_back(helper: Helper) -> None:
    pixels = np.arange(3_000_000, dtype=np.uint8)
    name = os.fsdecode(b"caf\xe9 \xff.wav")
    replies = list(helper.ask("echo", {"say": [name, 1.25, None]}, pixels.data, cpu_s=LONG, wall_s=LONG))
    assert replies[0].words == {"words": [name, 1.25, None], "told": ["one", "two"]}
    assert np.array_equal(np.frombuffer(replies[0].data, np.uint8), pixels)


def test_one_process_does_many_jobs(helper: Helper) -> None:
    first = process_of(helper)
    assert [reply.words["number"] for reply in ask(helper, "count", to=5)] == [0, 1, 2, 3, 4]
    assert process_of(helper) == first


def test_what_a_library_prints_is_no_message(helper: Helper) -> None:
    assert ask(helper, "chatter")[0].words == {"still": "understood"}


def test_an_error_is_handed_on_and_the_process_stays(helper: Helper, tmp_path: Path) -> None:
    first = process_of(helper)
    with pytest.raises(JobFailed, match="No such file") as caught:
        ask(helper, "fail", path=str(tmp_path / "nothing"))
    assert (caught.value.kind, caught.value.errno) == ("OSError", 2)
    with pytest.raises(JobFailed, match="embedded null"):
        ask(helper, "fail", path="a\0b")
    assert process_of(helper) == first


@pytest.mark.parametrize(
    ("job", "error", "limits"),
    [
        ("crash", Crashed, {}),
        ("leave", Crashed, {}),
        ("hang", Overrun, {"wall_s": 0.3}),
        ("spin", Overrun, {"cpu_s": 0.1}),
        ("swell", NoMemory, {}),
    ],
)
def test_after_a_fall_another_process_does_the_next_job(
    helper: Helper, job: str, error: type[Exception], limits: dict[str, float]
) -> None:
    first = process_of(helper)
    began = time.monotonic()
    with pytest.raises(error):
        ask(helper, job, **limits)
    assert time.monotonic() - began < 60  # and not for ever
    assert gone(first)
    assert process_of(helper) != first


def test_a_process_ended_by_the_system_is_no_crash_of_its_own(helper: Helper) -> None:
    replies = helper.ask("hang", {}, cpu_s=LONG, wall_s=LONG)
    process = int(next(replies).words["process"])
    os.kill(process, signal.SIGKILL)
    with pytest.raises(Stopped):
        next(replies)


def test_another_thread_can_stop_it(helper: Helper) -> None:
    process_of(helper)
    threading.Timer(0.2, helper.stop).start()
    with pytest.raises(Stopped):
        ask(helper, "hang")


def test_who_stops_listening_half_way_ends_the_process(helper: Helper) -> None:
    first = process_of(helper)
    replies = helper.ask("count", {"to": 1_000_000}, cpu_s=LONG, wall_s=LONG)
    next(replies)
    replies.close()
    assert gone(first)
    assert process_of(helper) != first


def test_one_that_died_while_it_waited_is_replaced(helper: Helper) -> None:
    first = process_of(helper)
    os.kill(first, signal.SIGKILL)
    # Its first thread may be gone before the others are: wait for the end of the whole process.
    os.waitid(os.P_PID, first, os.WEXITED | os.WNOWAIT)
    assert process_of(helper) != first


ASKS_AND_WAITS = """
import sys
from capture.apart import Helper
helper = Helper("tests.capture.misbehaving")
replies = helper.ask(sys.argv[1], {}, cpu_s=60, wall_s=60)
print(next(replies).words["process"], flush=True)
next(replies)
"""


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="needs /proc")
def test_it_ends_with_the_program_that_started_it() -> None:
    asking = subprocess.Popen(
        [sys.executable, "-c", ASKS_AND_WAITS, "hang"],
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        stdout=subprocess.PIPE,
        text=True,
    )
    assert asking.stdout is not None
    helper = int(asking.stdout.readline())
    assert alive(helper)
    asking.kill()
    asking.communicate()
    assert gone(helper)
