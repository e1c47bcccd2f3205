"""Who a file is: the digest of its bytes, and the folder that keeps originals under it."""

import hashlib
import re
import time
from pathlib import Path
from uuid import uuid4

from capture import disk

_STALE_S = 24 * 3600.0
_SHA256 = re.compile(r"[0-9a-f]{64}")


class ChangedError(OSError):
    """The file is not the one that was looked at: it is still being written."""


def sha256_of(path: Path) -> str:
    """The hexadecimal SHA-256 of a file's bytes, read in pieces."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def printable_name(name: str) -> str:
    """A file name that can be printed, stored and sent: no line breaks, controls or undecodable bytes."""
    text = name.encode("utf-8", "surrogateescape").decode("utf-8", "replace")
    return "".join(c if c.isprintable() else "�" for c in text)


def original_path(home: Path, sha256: str) -> Path:
    """Where the original with this content is kept.

    Args:
        home: the data folder.
        sha256: 64 hexadecimal digits.

    Raises:
        FileNotFoundError: no original with this content is kept.
    """
    return kept_path(home / "originals", sha256)


def kept_path(originals: Path, sha256: str) -> Path:
    """The same in a folder of originals that may lie anywhere.

    Raises:
        FileNotFoundError: no original with this content is kept.
    """
    found = _kept(originals, sha256)
    if found is None:
        raise FileNotFoundError(f"no original {printable_name(sha256)} is kept in {originals}")
    return found


def keep(path: Path, originals: Path, sha256: str) -> Path:
    """Copy a file into the originals folder, so that it survives a power cut once this returns.

    Args:
        path: the file; left as it is.
        originals: the folder of originals.
        sha256: digest of the bytes that were looked at.

    Returns:
        ``originals/ab/cd/<sha256><suffix>``; the one that is there already when the content was kept before.

    Raises:
        ChangedError: the bytes are no longer those.
        OSError: the copy cannot be written.
    """
    found = _kept(originals, sha256)
    folder = _folder(originals, sha256)
    if found is not None and found.stat().st_size == path.stat().st_size:
        disk.sync_up(folder, originals.parent)
        return found
    incoming = originals / "incoming"
    for made in (incoming, folder):
        disk.make_folder(made)
    _sweep(incoming)
    target = found or folder / (sha256 + path.suffix.casefold())
    part = incoming / f"{uuid4()}.part"
    try:
        if disk.copy(path, part) != sha256:
            raise ChangedError(f"{printable_name(path.name)} changed while it was copied")
        disk.move(part, target)
    finally:
        part.unlink(missing_ok=True)
    disk.sync_up(folder, originals.parent)
    return target


def _folder(originals: Path, sha256: str) -> Path:
    return originals / sha256[:2] / sha256[2:4]


def _kept(originals: Path, sha256: str) -> Path | None:
    if not _SHA256.fullmatch(sha256):
        return None
    return next(iter(sorted(_folder(originals, sha256).glob(f"{sha256}*"))), None)


def _sweep(incoming: Path) -> None:
    # Half copies of a program that was killed; younger ones may belong to another that is at work.
    limit = time.time() - _STALE_S
    for part in incoming.glob("*.part"):
        try:
            if part.stat().st_mtime < limit:
                part.unlink()
        except FileNotFoundError:
            continue
