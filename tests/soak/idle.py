"""What a watch costs that has nothing to do: ``python -m tests.soak.idle --seconds 60 --files 0``.

The real ``droplight watch`` on an inbox of its own; its processor time over the time, and its memory. With
``--files`` so many files of an unfinished download lie there, which are looked at and left alone.
"""

import argparse
import os
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from tests.soak.yard import children

ROOT = Path(__file__).parents[2]
TICKS = os.sysconf("SC_CLK_TCK")


def cpu_s(process: int) -> float:
    """Processor time of a process and of those it has waited for, in seconds."""
    fields = Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()
    return sum(int(n) for n in fields[11:15]) / TICKS


def _memory_mb(process: int) -> float:
    lines = Path(f"/proc/{process}/smaps_rollup").read_text().splitlines()
    return sum(int(line.split()[1]) for line in lines if line.startswith("Pss:")) / 1024


def main() -> None:
    """Watch, measure, print."""
    words = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    words.add_argument("--seconds", type=float, default=60.0)
    words.add_argument("--files", type=int, default=0)
    words.add_argument("--mode", default="auto")
    asked = words.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        base = Path(folder)
        for name in ("inbox", "home"):
            (base / name).mkdir()
        (base / "home" / "settings.yaml").write_text(f"watch: {{mode: {asked.mode}}}\n")
        for number in range(asked.files):
            (base / "inbox" / f"{number:05}.wav").write_bytes(b"")  # waits a long time to be filled
        command = [sys.executable, "-m", "pipelines.commands.main", "--home", str(base / "home"), "watch"]
        environment = {**os.environ, "PYTHONPATH": str(ROOT)}
        watch = subprocess.Popen([*command, str(base / "inbox")], env=environment, stdout=subprocess.PIPE)
        assert watch.stdout is not None
        watch.stdout.readline()
        time.sleep(3.0)
        before = cpu_s(watch.pid)
        time.sleep(asked.seconds)
        share = (cpu_s(watch.pid) - before) / asked.seconds
        memory = [_memory_mb(p) for p in (watch.pid, *children(watch.pid))]
        watch.send_signal(signal.SIGTERM)
        watch.wait(90)
    print(
        f"{share:.3%} of a core over {asked.seconds:.0f} s, {sum(memory):.0f} MB in {len(memory)} process(es)"
    )


if __name__ == "__main__":
    main()
