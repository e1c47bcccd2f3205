"""Where originals are kept: a folder of this computer or a shared one, or a store of objects.

They are named by their content, so several hosts may keep the same file at once, and nothing is ever changed
in place.
"""

import os
import time
from pathlib import Path
from typing import Any, Protocol
from urllib.parse import unquote, urlsplit
from uuid import uuid4

from capture.identity import keep, kept_path, sha256_of

_TRIM_GRACE_S = 3600.0


class OriginalsError(Exception):
    """The place where originals are kept cannot be used; the message says which, why and what to do."""


class Originals(Protocol):
    """Keeps originals by the digest of their content."""

    def keep(self, path: Path, sha256: str) -> None:
        """Keep a file, so that it survives a power cut once this returns.

        Raises:
            ChangedError: its bytes are no longer those of the digest.
            OSError: it cannot be kept now.
        """
        ...

    def path(self, sha256: str) -> Path:
        """A file of this computer with the original; only for reading.

        Raises:
            FileNotFoundError: no original with this content is kept.
            OSError: it cannot be had now.
        """
        ...

    def remove(self, sha256: str) -> bool:
        """Remove an original for good; False when there was none."""
        ...

    def check(self) -> str:
        """Where they are, in words.

        Raises:
            OSError: nothing can be kept there now.
        """
        ...


class Folder:
    """Originals in a folder, which several hosts may share.

    Attributes:
        folder: holds ``ab/cd/<sha256><suffix>``.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def keep(self, path: Path, sha256: str) -> None:
        """See :class:`Originals`."""
        keep(path, self.folder, sha256)

    def path(self, sha256: str) -> Path:
        """See :class:`Originals`."""
        return kept_path(self.folder, sha256)

    def remove(self, sha256: str) -> bool:
        """See :class:`Originals`."""
        try:
            found = self.path(sha256)
        except FileNotFoundError:
            return False
        found.unlink(missing_ok=True)
        return True

    def check(self) -> str:
        """See :class:`Originals`."""
        self.folder.mkdir(parents=True, exist_ok=True)
        probe = self.folder / f".{uuid4()}.part"
        probe.write_bytes(b"")
        probe.unlink()
        return str(self.folder)


class Bucket:
    """Originals in a store of objects, with copies of those that were used on this computer."""

    def __init__(self, url: str, copies: Path) -> None:
        """Use a store.

        Args:
            url: of a kind that fsspec knows, such as ``s3://bucket/folder``.
            copies: folder of this computer; may be emptied at any time.

        Raises:
            OriginalsError: the kind is not known, or what it needs is not installed.
        """
        import fsspec

        self._url = url
        self._copies = Folder(copies)
        try:
            # A listing that is remembered would hide what another host has just kept.
            self._fs, root = fsspec.core.url_to_fs(url, use_listings_cache=False, skip_instance_cache=False)
        except (ImportError, ValueError) as error:
            raise OriginalsError(
                f"originals_url {url} cannot be used: {error}. For s3:// install the extra 's3'."
            ) from None
        self._root = str(root).rstrip("/")

    def keep(self, path: Path, sha256: str) -> None:
        """See :class:`Originals`."""
        self._copies.keep(path, sha256)  # checks the bytes, and is what is sent
        copy = self._copies.path(sha256)
        size = copy.stat().st_size
        found = self._find(sha256)
        if found is not None and self._ask(lambda: self._fs.size(found)) == size:
            return
        target = f"{self._folder(sha256)}/{copy.name}"
        self._ask(lambda: self._send(copy, target))
        if self._ask(lambda: self._fs.size(target)) != size:
            raise OSError(f"{copy.name} did not arrive whole in {self._url}")

    def path(self, sha256: str) -> Path:
        """See :class:`Originals`."""
        try:
            copy = self._copies.path(sha256)
            os.utime(copy)  # so that those used last are trimmed last
            return copy
        except FileNotFoundError:
            pass
        found = self._find(sha256)
        if found is None:
            raise FileNotFoundError(f"no original {sha256} is kept in {self._url}")
        incoming = self._copies.folder / "incoming"
        incoming.mkdir(parents=True, exist_ok=True)
        part = incoming / f"{uuid4()}{Path(found).suffix}"
        try:
            self._ask(lambda: self._fs.get_file(found, str(part)))
            if sha256_of(part) != sha256:
                raise OSError(f"{found} in {self._url} is damaged: its content is not what its name says")
            self._copies.keep(part, sha256)
        finally:
            part.unlink(missing_ok=True)
        return self._copies.path(sha256)

    def remove(self, sha256: str) -> bool:
        """See :class:`Originals`. Copies on other hosts are found missing here and removed when trimmed."""
        self._copies.remove(sha256)
        found = self._find(sha256)
        if found is None:
            return False
        self._ask(lambda: self._fs.rm_file(found))
        return True

    def check(self) -> str:
        """See :class:`Originals`."""
        probe = f"{self._root}/incoming/{uuid4()}.part"
        self._ask(lambda: self._fs.pipe_file(probe, b"x"))
        self._ask(lambda: self._fs.rm_file(probe))
        return self._url

    def trim(self, most_bytes: int) -> int:
        """Remove copies of this computer: those whose original is gone, then those used longest ago.

        Args:
            most_bytes: as much may stay.

        Returns:
            How many were removed.
        """
        young = time.time() - _TRIM_GRACE_S
        copies = [p for p in self._copies.folder.glob("??/??/*") if p.stat().st_mtime < young]
        copies.sort(key=lambda p: p.stat().st_mtime, reverse=True)
        room, removed = most_bytes, 0
        for copy in copies:
            size = copy.stat().st_size
            if size > room or self._find(copy.stem) is None:
                copy.unlink(missing_ok=True)
                removed += 1
            else:
                room -= size
        return removed

    def _send(self, copy: Path, target: str) -> None:
        self._fs.makedirs(target.rsplit("/", 1)[0], exist_ok=True)
        # An object appears whole or not at all; the check of the size guards stores that do otherwise.
        self._fs.put_file(str(copy), target)

    def _folder(self, sha256: str) -> str:
        return f"{self._root}/{sha256[:2]}/{sha256[2:4]}"

    def _find(self, sha256: str) -> str | None:
        try:
            names = self._ask(lambda: self._fs.ls(self._folder(sha256), detail=False, refresh=True))
        except FileNotFoundError:
            return None
        own = (str(name) for name in names)
        return next((name for name in sorted(own) if Path(name).stem == sha256), None)

    def _ask(self, what: Any) -> Any:
        """Do something with the store; whatever its library raises is an OSError afterwards."""
        try:
            return what()
        except OSError:
            raise
        except Exception as error:
            raise OSError(f"{self._url} does not answer: {error}") from error


def open_originals(home: Path, url: str = "") -> Originals:
    """Where originals are kept.

    Args:
        home: the data folder.
        url: empty for ``home/originals``; a folder as a path or ``file://`` address, which several hosts may
            share; else the address of a store of objects, of which copies are held in ``home/originals``.

    Raises:
        OriginalsError: the address cannot be used.
    """
    if not url:
        return Folder(home / "originals")
    parts = urlsplit(url)
    if parts.scheme in {"", "file"}:
        folder = Path(unquote(parts.path) if parts.scheme else url).expanduser()
        if not folder.is_absolute():
            raise OriginalsError(f"originals_url {url} must be a whole path, such as /mnt/shop/originals.")
        return Folder(folder)
    return Bucket(url, home / "originals")
