"""Taking a file in: prove it readable, keep it, note it, and only then remove it from the inbox."""

import logging
import os
import stat
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

from capture import disk
from capture.identity import ChangedError, printable_name
from capture.media import UnreadableMedia, probe
from capture.originals import Folder, Originals
from capture.settling import Stamp
from models.capture import Capture, Rejection
from models.store import Store
from models.trace import tracing

REJECTED = "rejected"
_LONGEST_NAME = 120
_DEEPEST = 20
_MOST_SAID = 1000

# Names that other programs use for what is not finished or not meant for anybody.
_TEMPORARY_STARTS = (".", "~$", "~syncthing~", "$recycle", "@eadir")
_TEMPORARY_ENDS = (
    ".part", ".partial", ".crdownload", ".download", ".opdownload", ".tmp", ".temp", ".filepart", ".aria2",
    ".!sync", ".!ut", ".!bt", ".drivedownload", ".incomplete", ".inprogress", ".uploading", ".icloud",
)  # fmt: skip
_CLUTTER = {
    "thumbs.db",
    "ehthumbs.db",
    "desktop.ini",
    "#recycle",
    "@tmp",
    "__macosx",
    "lost+found",
    "system volume information",
}

_log = logging.getLogger("droplight.capture")
_said: set[str] = set()


def is_temporary(name: str) -> bool:
    """A name that is left alone: unfinished copies, hidden files, clutter of operating systems."""
    folded = name.casefold()
    return folded in _CLUTTER or folded.startswith(_TEMPORARY_STARTS) or folded.endswith(_TEMPORARY_ENDS)


def scan(inbox: Path) -> list[Path]:
    """Every file of the inbox that somebody may have meant to be taken in, by name.

    That includes files of an unknown kind, links, and files that lie deeper than one folder: :func:`ingest`
    rejects them with a reason, so that nothing is passed over without a word. Only temporary names, devices
    and the folder of rejected files are left out.

    Raises:
        OSError: the inbox is not there.
    """
    return sorted(_files(inbox, 0))


def _files(folder: Path, depth: int) -> Iterator[Path]:
    with os.scandir(folder) as entries:
        for entry in entries:
            if is_temporary(entry.name) or (depth == 0 and entry.name == REJECTED):
                continue
            path = folder / entry.name
            if entry.is_dir(follow_symlinks=False):
                yield from _files_below(path, depth + 1)
            elif entry.is_symlink() or entry.is_file(follow_symlinks=False):
                yield path


def _files_below(folder: Path, depth: int) -> Iterator[Path]:
    name = printable_name(str(folder))
    if depth > _DEEPEST:
        _say_once(f"{name} lies more than {_DEEPEST} folders deep and is not looked through: move it up.")
        return
    try:
        yield from _files(folder, depth)
    except OSError as error:
        _say_once(f"{name} cannot be looked through: {error.strerror or error}")


def _say_once(sentence: str) -> None:
    # A folder is looked through every few seconds.
    if sentence not in _said and len(_said) < _MOST_SAID:
        _said.add(sentence)
        _log.warning("%s", sentence)


def stamp(path: Path) -> Stamp:
    """Size and modification time of a file; of a link, those of the link itself.

    Raises:
        OSError: it is gone.
    """
    found = path.lstat()
    return Stamp(found.st_size, found.st_mtime_ns)


def ingest(
    path: Path, inbox: Path, store: Store, home: Path, now: datetime, originals: Originals | None = None
) -> Capture | Rejection:
    """Take one settled file in.

    A crash between any two steps leaves the file in the inbox as well as kept, never in neither; taking it in
    again then changes nothing.

    Args:
        path: a file from :func:`scan`.
        inbox: the folder that is watched.
        store: where the capture is noted.
        home: the data folder.
        now: the time of arrival.
        originals: where originals are kept; by default in ``home/originals``.

    Returns:
        The capture (the one that was taken in first when the content is known already), or why there is none;
        a rejected file lies in ``inbox/rejected`` with its reason beside it.

    Raises:
        OSError: the file changed, vanished or cannot be read just now, or there is no room: try again later.
    """
    before, name = stamp(path), printable_name(path.name)
    if not os.access(path.parent, os.W_OK):
        raise OSError(f"{name} could not be removed from {path.parent} afterwards: make that folder writable")
    try:
        found: Capture | UnreadableMedia = _probed(path, inbox)
    except UnreadableMedia as error:
        found = error
    if stamp(path) != before:
        raise ChangedError(f"{name} changed while it was read")
    if isinstance(found, UnreadableMedia):
        return _reject(path, inbox, store, Rejection(name=name, reason=str(found), at=now))
    return _take(found, path, before, store, originals or Folder(home / "originals"), now)


def _take(
    capture: Capture, path: Path, before: Stamp, store: Store, originals: Originals, now: datetime
) -> Capture:
    originals.keep(path, capture.sha256)
    with tracing(capture.sha256):
        store.add_capture(capture, now)
        _log.info("Took in %s.", capture.original_name, extra={"file": capture.original_name})
    _remove(path, before)
    return store.capture(capture.sha256) or capture


def _probed(path: Path, inbox: Path) -> Capture:
    name = printable_name(path.name)
    folders = path.relative_to(inbox).parts[:-1]
    if ".." in folders:
        raise ValueError(f"{name} does not lie in the inbox {inbox}")
    if path.is_symlink():
        raise UnreadableMedia(f"{name} is a link: copy the file itself to the inbox.")
    if not stat.S_ISREG(path.lstat().st_mode):
        raise OSError(f"{name} is not a file")
    if len(folders) > 1:
        raise UnreadableMedia(
            f"{name} lies {len(folders)} folders deep: "
            "put it into the inbox or into one folder named after the unit."
        )
    return probe(path, folders[0] if folders else "")


def _remove(path: Path, expected: Stamp) -> None:
    # Somebody may have put another file there under the same name: that one is still to be taken in.
    try:
        if stamp(path) == expected:
            disk.remove(path)
    except FileNotFoundError:
        pass


def _reject(path: Path, inbox: Path, store: Store, rejection: Rejection) -> Rejection:
    folder = inbox / REJECTED
    if folder.is_symlink():
        raise OSError(f"{folder} is a link: make it a folder, so that rejected files stay here")
    disk.make_folder(folder)
    dropped_as = printable_name(str(path.relative_to(inbox)))
    target, alike = _reserve(folder, path, f"{rejection.reason}\n\nDropped as: {dropped_as}\n")
    disk.sync_up(folder, inbox)
    # Reason, row, move: a crash in between leaves the file in the inbox, where it is met again.
    if alike is None or _rows(store, rejection) <= alike:
        store.add_rejection(rejection)
    disk.move(path, target)
    disk.sync(folder)
    return rejection


def _rows(store: Store, rejection: Rejection) -> int:
    return sum((r.name, r.reason) == (rejection.name, rejection.reason) for r in store.rejections())


def _reserve(folder: Path, path: Path, why: str) -> tuple[Path, int | None]:
    """A free name, with the reason beside it.

    Returns:
        The name; and, when an earlier try came as far as beginning to write this very reason, how many files
        lie there for the same reason: one row more than that is of the earlier try.
    """
    alike = 0
    stem, suffix = _plain(path.stem), _plain(path.suffix)
    for number in range(1, 100_000):
        target = folder / f"{stem}{'' if number == 1 else f' ({number})'}{suffix}"
        reason = folder / f"{target.name}.why.txt"
        if os.path.lexists(target):
            alike += _text(reason) == why
            continue
        try:
            disk.write(reason, why, "x")
        except FileExistsError:
            if not why.startswith(_text(reason)):
                continue
            disk.write(reason, why, "w")  # it may be half, or whole and not yet safe
            return target, alike
        return target, None
    raise OSError(f"{folder} is full of files named {stem}{suffix}: empty it")


def _text(reason: Path) -> str:
    try:
        return reason.read_text(encoding="utf-8", errors="replace").rstrip("\0")
    except FileNotFoundError:
        return ""


def _plain(text: str) -> str:
    """Text that is safe in a file name on any system."""
    plain = "".join("_" if c in '<>:"/\\|?*\ufffd' else c for c in printable_name(text))
    return plain.encode()[:_LONGEST_NAME].decode("utf-8", "ignore").strip(" ") or "file"
