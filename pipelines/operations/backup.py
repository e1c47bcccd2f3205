"""A backup of the data folder while everything goes on, and back from it.

``DEST/originals`` holds originals by their content and is shared by all backups in DEST, so a further backup
copies only what is new. ``DEST/<time>`` holds the state of one moment as an SQLite file, the shop's own
files, and a manifest with the hash of everything.
"""

import json
import shutil
import tempfile
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from typing import NamedTuple

from capture.identity import sha256_of
from capture.originals import Folder, Originals, open_originals
from models.frozen import Frozen
from models.settings import Settings
from models.signing import verify
from models.store import Store, StoreError
from models.store.copying import read_copy

DATABASE = "droplight.db"
MANIFEST = "manifest.json"
# What a shop puts into its data folder itself.
OWN_FILES = "*.yaml"
OWN_FOLDERS = ("limits", "plans", "delivery")


class BackupError(Exception):
    """A backup cannot be made, is not whole, or cannot be put back; the message says why."""


class Manifest(Frozen):
    """What a backup holds.

    Attributes:
        made_at: the moment.
        files: path within the backup -> SHA-256.
        originals: hashes of the originals it needs, all in the folder beside it.
    """

    made_at: datetime
    files: dict[str, str]
    originals: tuple[str, ...]


class Checked(NamedTuple):
    """What was looked through: how many signed records and originals, all whole."""

    records: int
    originals: int


def back_up(store: Store, settings: Settings, folder: Path, now: datetime) -> Path:
    """Make a backup.

    Args:
        store: the state; others go on working on it.
        settings: where the data folder and the originals are.
        folder: of backups; made when missing. Readable for its owner alone: settings hold secrets.
        now: the time.

    Returns:
        The folder of this backup.

    Raises:
        BackupError: an original is missing or damaged, or there is a backup of this second already.
        OSError: there is no room, or it cannot be written.
    """
    folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    target = folder / f"{now:%Y%m%dT%H%M%SZ}"
    if target.exists():
        raise BackupError(f"{target} is there already.")
    part = Path(tempfile.mkdtemp(prefix=".part-", dir=folder))
    try:
        # The state first: what it names was kept before it was noted, so all of it is there.
        store.write_copy(part / DATABASE)
        needed = _originals_of(part / DATABASE)
        originals = open_originals(settings.home, settings.originals_url)
        for sha256 in needed:
            _keep(originals, folder / "originals", sha256)
        _copy_own_files(settings.home, part)
        files = {str(p.relative_to(part)): sha256_of(p) for p in sorted(part.rglob("*")) if p.is_file()}
        manifest = Manifest(made_at=now, files=files, originals=tuple(needed))
        (part / MANIFEST).write_text(manifest.model_dump_json(indent=1), encoding="utf-8")
        part.rename(target)
    except BaseException:
        shutil.rmtree(part, ignore_errors=True)
        raise
    return target


def _originals_of(database: Path) -> list[str]:
    """The originals that the state in a file needs: of every capture but those removed on purpose."""
    copy = Store.open(f"sqlite:///{database}")
    try:
        removed = {removal.sha256 for removal in copy.keeping.removals()}
        return sorted(c.sha256 for c in copy.captures() if c.sha256 not in removed)
    finally:
        copy.close()


def _keep(originals: Originals, pool: Path, sha256: str) -> None:
    try:
        Folder(pool).path(sha256)
    except FileNotFoundError:
        try:
            Folder(pool).keep(originals.path(sha256), sha256)
        except FileNotFoundError:
            raise BackupError(f"The original {sha256[:12]} is missing: nothing was backed up.") from None
        except OSError as error:
            raise BackupError(f"The original {sha256[:12]} cannot be copied: {error}.") from None


def _copy_own_files(home: Path, part: Path) -> None:
    for path in sorted(home.glob(OWN_FILES)):
        shutil.copyfile(path, part / path.name)
    for name in OWN_FOLDERS:
        if (home / name).is_dir():
            shutil.copytree(home / name, part / name)


def read_manifest(backup: Path) -> Manifest:
    """What a backup says it holds.

    Raises:
        BackupError: it is none.
    """
    try:
        return Manifest.model_validate_json((backup / MANIFEST).read_bytes())
    except (OSError, ValueError) as error:
        raise BackupError(f"{backup} is no backup: {MANIFEST} cannot be read ({error}).") from None


def check_backup(backup: Path) -> Checked:
    """Read everything through: files, originals, and the signature of every record.

    Raises:
        BackupError: something is missing, damaged or was changed.
    """
    manifest = read_manifest(backup)
    for name, sha256 in manifest.files.items():
        path = backup / name
        if not path.resolve().is_relative_to(backup.resolve()):
            raise BackupError(f"{backup} names a file outside of it: {name}.")
        if not path.is_file() or sha256_of(path) != sha256:
            raise BackupError(f"{path} is missing or was changed since the backup was made.")
    pool = Folder(backup.parent / "originals")
    for sha256 in manifest.originals:
        try:
            whole = sha256_of(pool.path(sha256)) == sha256
        except FileNotFoundError:
            whole = False
        if not whole:
            raise BackupError(f"The original {sha256[:12]} is missing in {pool.folder}, or damaged.")
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / DATABASE  # opening may upgrade it, and a backup is never changed
        shutil.copyfile(backup / DATABASE, copy)
        return Checked(_check_records(copy), len(manifest.originals))


def _check_records(database: Path) -> int:
    store = Store.open(f"sqlite:///{database}")
    try:
        count = 0
        for record in _signed(store):
            count += 1
            if not verify(json.loads(json.dumps(record))):
                raise BackupError(f"The record of {record['inspection']} is not what was signed.")
        return count
    finally:
        store.close()


def _signed(store: Store) -> Iterator[dict[str, object]]:
    for row in store.inspections():
        if row.state == "signed" and (record := store.signed(row.id)) is not None:
            yield record.to_json()


def restore(backup: Path, settings: Settings) -> Checked:
    """Put a backup back, after reading all of it through.

    Args:
        backup: its folder.
        settings: says where to: a data folder and a database that are empty. SQLite and PostgreSQL both take
            what was saved from either.

    Returns:
        What was put back, looked through once more where it lies now.

    Raises:
        BackupError: the backup is not whole, or something is there already.
        OSError: there is no room, or it cannot be written.
    """
    check_backup(backup)
    manifest = read_manifest(backup)
    settings.home.mkdir(parents=True, exist_ok=True)
    originals = open_originals(settings.home, settings.originals_url)
    pool = Folder(backup.parent / "originals")
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / DATABASE
        shutil.copyfile(backup / DATABASE, copy)
        for sha256 in manifest.originals:  # before the state that names them, as when they were taken in
            originals.keep(pool.path(sha256), sha256)
        try:
            read_copy(copy, settings.store_url())
        except StoreError as error:
            raise BackupError(f"Not put back: {error}. Choose an empty data folder with --home.") from None
    for name in manifest.files:
        target = settings.home / name
        if name != DATABASE and not target.exists():
            target.parent.mkdir(parents=True, exist_ok=True)
            shutil.copyfile(backup / name, target)
    return _look_again(settings, originals, manifest)


def _look_again(settings: Settings, originals: Originals, manifest: Manifest) -> Checked:
    store = Store.open(settings.store_url())
    try:
        records = list(_signed(store))
    finally:
        store.close()
    if wrong := [r for r in records if not verify(json.loads(json.dumps(r)))]:
        raise BackupError(f"{len(wrong)} records did not come back as they were signed.")
    for sha256 in manifest.originals:
        if sha256_of(originals.path(sha256)) != sha256:
            raise BackupError(f"The original {sha256[:12]} did not come back as it was.")
    return Checked(len(records), len(manifest.originals))
