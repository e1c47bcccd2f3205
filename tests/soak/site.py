"""An inbox, a data folder, and the real ``droplight watch`` between them in a process of its own."""

import os
import signal
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from models.store import Store
from tests.soak.yard import photo_bytes, tone_bytes

ROOT = Path(__file__).parents[2]
FILES_A_TRUCK = 10
FILES_A_PHOTO = 4
END_S = 120.0
# What a recogniser fell on is left alone for a while, and may meet another fall after that.
LEFT_ALONE_S = 5.0
LONGEST_ALONE_S = 20.0
# Longer than a process takes to start on a busy computer: else it is given up while it starts, every time.
DEADLINE_S = 20.0

_CHILD = """
import sys
from pathlib import Path
from pipelines import stages, workshop
from pipelines.deadline import Patience
from tests.soak.driver import apart
control = Path(sys.argv[1])
first_s, longest_s, deadline_s = map(float, sys.argv[2:5])
patience = Patience(first_s=first_s, longest_s=longest_s)
stages._LEAST_DEADLINE_S = stages._PHOTO_DEADLINE_S = deadline_s
workshop.open_workshop = lambda settings: apart(settings, control, patience)
from pipelines.commands.main import main
sys.exit(main(sys.argv[5:]))
"""
_SETTINGS = "watch: {settle_s: 0.5}\n"


def drop(inbox: Path, number: int) -> None:
    """Drop the file of this number; each is another."""
    truck, place = divmod(number, FILES_A_TRUCK)
    folder = inbox / f"truck-{truck:04}"
    folder.mkdir(exist_ok=True)
    minute = number % 1440
    photo = number % FILES_A_PHOTO == FILES_A_PHOTO - 1
    name = f"20261120T{minute // 60:02}{minute % 60:02}{place:02}.{'png' if photo else 'wav'}"
    # written under a name that is left alone, so that the settling time is the only wait
    part = folder / f".{name}.part"
    part.write_bytes(photo_bytes(number) if photo else tone_bytes(number))
    part.rename(folder / name)


class Site:
    """An inbox, a data folder, and the watch between them in a process of its own."""

    def __init__(self, folder: Path) -> None:
        self.inbox, self.home, self.control = folder / "inbox", folder / "home", folder / "control"
        for made in (self.inbox, self.home, self.control):
            made.mkdir()
        (self.home / "settings.yaml").write_text(_SETTINGS)
        (self.control / "model.bin").touch()

    @contextmanager
    def watched(self) -> Iterator[tuple[Store, int]]:
        """While it lasts the watch runs; gives a store to look into, and the watch's process."""
        environment = {**os.environ, "PYTHONPATH": str(ROOT), "DATABASE_URL": ""}
        told = [str(self.control), *map(str, (LEFT_ALONE_S, LONGEST_ALONE_S, DEADLINE_S))]
        command = [sys.executable, "-c", _CHILD, *told, "--home", str(self.home), "watch", str(self.inbox)]
        child = subprocess.Popen(
            command, env=environment, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True
        )
        assert child.stdout is not None
        while (line := child.stdout.readline()) and "Watching" not in line:
            pass
        reader = threading.Thread(target=child.stdout.read, daemon=True)  # so that it never waits for one
        reader.start()
        try:
            with closing(Store.open(f"sqlite:///{self.home / 'droplight.db'}")) as store:
                yield store, child.pid
        finally:
            child.send_signal(signal.SIGTERM)
            child.wait(END_S)
            reader.join()
            child.stdout.close()


def whole(store: Store, dropped: int) -> list[str]:
    """What is wrong at the end; nothing when every file is in one draft, once, and read."""
    wrong = []
    found = store.figures()
    if (found.captures, found.waiting, found.rejected) != (dropped, 0, 0):
        taken = f"{found.captures} taken in, {found.waiting} unread, {found.rejected} refused"
        wrong.append(f"{dropped} dropped, {taken}")
    drafts = [draft for row in store.inspections() if (draft := store.draft(row.id))]
    drafted = [c.sha256 for draft in drafts for c in draft.captures]
    if len(drafted) != len(set(drafted)) or len(drafted) != dropped:
        wrong.append(f"{len(drafted)} files in drafts, {len(set(drafted))} of them different")
    wrong += [notice for draft in drafts for notice in draft.notices if "The file is kept" in notice]
    return wrong


def memory_mb(process: int) -> float:
    """Of the watch alone: its helpers are new after each fall."""
    pages = int(Path(f"/proc/{process}/statm").read_text().split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 1e6
