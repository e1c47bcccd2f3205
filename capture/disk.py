"""Every call that decides what a power cut leaves: made in one place, so that their order can be checked.

A file's bytes are safe once it was synced, its name once the folder it lies in was. Renaming is taken to be
all or nothing, as journaling file systems make it.
"""

import errno
import hashlib
import os
from collections.abc import Iterator
from io import BufferedReader
from pathlib import Path

_CHUNK = 1 << 20
_NO_SUCH_CALL = {errno.EINVAL, errno.ENOTSUP, errno.ENOSYS}


def make_folder(folder: Path) -> None:
    """Make a folder and those above it; whether they survive is up to :func:`sync_up`."""
    folder.mkdir(parents=True, exist_ok=True)


def copy(source: Path, target: Path) -> str:
    """Copy into a new file that nobody may write to, and sync it.

    Returns:
        The hexadecimal SHA-256 of what was copied.

    Raises:
        OSError: the source cannot be read, the target is there already or cannot be written.
    """
    digest = hashlib.sha256()
    with source.open("rb") as reader, target.open("xb") as writer:
        for chunk in _chunks(reader):
            digest.update(chunk)
            writer.write(chunk)
        writer.flush()
        os.fsync(writer.fileno())
    target.chmod(0o444)
    return digest.hexdigest()


def _chunks(reader: BufferedReader) -> Iterator[bytes]:
    while chunk := reader.read(_CHUNK):
        yield chunk


def write(path: Path, text: str, mode: str) -> None:
    """Write a text file and sync it.

    Args:
        path: the file.
        text: all of it.
        mode: ``x`` for one that must not be there, ``w`` for one that may.
    """
    with path.open(mode, encoding="utf-8") as file:
        file.write(text)
        file.flush()
        os.fsync(file.fileno())


def move(source: Path, target: Path) -> None:
    """Give a file another name on the same file system, in the place of one that had it."""
    source.replace(target)


def remove(path: Path) -> None:
    """Remove a file."""
    path.unlink()


def sync(folder: Path) -> None:
    """Make safe which names a folder holds. Windows and some network shares have no such call."""
    if os.name == "nt":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    except OSError as error:
        if error.errno not in _NO_SUCH_CALL:
            raise
    finally:
        os.close(handle)


def sync_up(folder: Path, top: Path) -> None:
    """Make safe the names in a folder and in those above it, up to `top`.

    Also those that are there already: a program that was killed may have made them and not come to this.
    """
    while True:
        sync(folder)
        if folder == top or folder == folder.parent:
            return
        folder = folder.parent
