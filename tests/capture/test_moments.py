"""When something was recorded: tags before names before file times."""

import os
import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from capture.media import probe
from capture.moments import container_moment, exif_moment, name_moment
from tests.capture.material import encoded, wav_bytes

# The zone of the tests: five hours behind UTC in winter, four in summer.
ZONE = "EST5EDT,M3.2.0,M11.1.0"


@pytest.fixture(autouse=True)
def local_zone(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    monkeypatch.setenv("TZ", ZONE)
    time.tzset()
    yield
    monkeypatch.undo()
    time.tzset()


def utc(*parts: int) -> datetime:
    return datetime(*parts, tzinfo=UTC)


@pytest.mark.parametrize("original", ["2026:11:20 08:15:03", "2026-11-20 08:15:03", "2026:11:20 08:15:03\0"])
def test_exif_time_without_a_zone_is_local(original: str) -> None:
    found = exif_moment(original, None)
    assert found is not None
    assert (found.at, found.zone_known) == (utc(2026, 11, 20, 13, 15, 3), False)


@pytest.mark.parametrize(
    ("offset", "hour"), [("+05:30", 2.75), ("-08:00", 16.25), ("+00:00", 8.25), ("-0800", 16.25)]
)
def test_exif_offset_is_used(offset: str, hour: float) -> None:
    found = exif_moment("2026:11:20 08:15:03", offset)
    assert found is not None
    assert found.zone_known
    assert found.at == utc(2026, 11, 20, 0, 0, 3) + timedelta(hours=hour)


@pytest.mark.parametrize("offset", ["   :  ", "", "Z?", "+99:00", "local"])
def test_a_blank_offset_is_no_zone(offset: str) -> None:
    found = exif_moment("2026:11:20 08:15:03", offset)
    assert found is not None
    assert not found.zone_known


@pytest.mark.parametrize(
    "original",
    [
        None,
        "",
        "    :  :     :  :  ",
        "0000:00:00 00:00:00",
        "1904:01:01 00:00:00",
        "2026:13:20 08:15:03",
        "2026:11:20",
        17,
    ],
)
def test_a_blank_exif_time_is_none(original: object) -> None:
    assert exif_moment(original, "+01:00") is None


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("20261120T081503.m4a", utc(2026, 11, 20, 13, 15, 3)),
        ("20261120_081503.m4a", utc(2026, 11, 20, 13, 15, 3)),
        ("note-20261120081503.wav", utc(2026, 11, 20, 13, 15, 3)),
        ("IMG_20261120_081503123.jpg", utc(2026, 11, 20, 13, 15, 3)),
        ("2026-11-20 08.15.03.ogg", utc(2026, 11, 20, 13, 15, 3)),
        ("Audio 2026-11-20 at 08.15.03 (2).opus", utc(2026, 11, 20, 13, 15, 3)),
        ("2026-07-20T08-15-03.wav", utc(2026, 7, 20, 12, 15, 3)),
        ("REC_2026_11_20_08_15_03.amr", utc(2026, 11, 20, 13, 15, 3)),
        ("99999999999999 20261120T081503.wav", utc(2026, 11, 20, 13, 15, 3)),
    ],
)
def test_a_time_in_a_name_is_local(name: str, expected: datetime) -> None:
    found = name_moment(name)
    assert found is not None
    assert (found.at, found.zone_known) == (expected, False)


def test_a_zone_in_a_name_is_used() -> None:
    for name, hour in (("20261120T081503Z.wav", 8), ("20261120T081503+0200.wav", 6)):
        found = name_moment(name)
        assert found is not None
        assert (found.at, found.zone_known) == (utc(2026, 11, 20, hour, 15, 3), True)


@pytest.mark.parametrize(
    "name",
    [
        "note.m4a",
        "20261120.wav",
        "IMG_0417.jpg",
        "20269999T081503.wav",
        "1234567890123456.wav",
        "417 08.15.03",
    ],
)
def test_a_name_without_a_full_time_has_none(name: str) -> None:
    assert name_moment(name) is None


@given(st.text())
def test_any_name_is_read_without_failing(name: str) -> None:
    found = name_moment(name)
    assert found is None or found.at.tzinfo is not None


@given(st.datetimes(datetime(1990, 1, 1), datetime(2099, 12, 31)))  # noqa: DTZ001
def test_a_written_time_is_read_back(moment: datetime) -> None:
    whole = moment.replace(microsecond=0, tzinfo=UTC)
    found = name_moment(f"x {whole:%Y%m%dT%H%M%SZ}.wav")
    assert found is not None
    assert found.at == whole


def test_container_times() -> None:
    zulu = container_moment({"creation_time": "2026-11-20T13:15:03.000000Z"})
    assert zulu == (utc(2026, 11, 20, 13, 15, 3), True)
    broadcast = container_moment({"date": "2026-11-20", "creation_time": "08:15:03"})
    assert broadcast == (utc(2026, 11, 20, 13, 15, 3), False)
    for blank in ("1904-01-01T00:00:00.000000Z", "1970-01-01T00:00:00.000000Z", "08:15:03", "", "soon"):
        assert container_moment({"creation_time": blank}) is None
    assert container_moment({}) is None


def test_sound_container_comes_before_name_before_file_time(tmp_path: Path) -> None:
    made = encoded("ipod", "aac", 1.0, creation_time="2026-11-20T13:15:03Z")
    tagged, named, plain = (tmp_path / n for n in ("20250101T000000.m4a", "20261120T081503.wav", "plain.wav"))
    tagged.write_bytes(made)
    named.write_bytes(wav_bytes(2.0))
    plain.write_bytes(wav_bytes(2.0))
    os.utime(plain, (1_800_000_010, 1_800_000_010))
    found = [probe(path, "") for path in (tagged, named, plain)]
    assert [c.time_source for c in found] == ["container", "file_name", "file_time"]
    assert [c.zone_known for c in found] == [True, False, True]
    assert found[0].captured_at == found[1].captured_at == utc(2026, 11, 20, 13, 15, 3)
    assert found[2].captured_at.timestamp() == pytest.approx(1_800_000_008, abs=0.01)


@pytest.mark.parametrize("name", ["a.heic", "a.png", "a.webp"])
def test_every_kind_of_photo_has_its_tags_read(tmp_path: Path, name: str) -> None:
    if name == "a.heic":
        pytest.importorskip("pillow_heif").register_heif_opener()
    exif = Image.Exif()
    tags = {0x9003: "2026:11:20 08:15:03", 0x9011: "-05:00"}
    if name == "a.png":
        exif[0x8769] = tags
    else:
        exif.get_ifd(0x8769).update(tags)
    Image.new("RGB", (64, 64)).save(tmp_path / name, exif=exif)
    found = probe(tmp_path / name, "")
    assert (found.captured_at, found.time_source) == (utc(2026, 11, 20, 13, 15, 3), "exif")


def test_photo_tags_come_before_name_before_file_time(tmp_path: Path) -> None:
    exif = Image.Exif()
    exif.get_ifd(0x8769).update({0x9003: "2026:11:20 08:15:03", 0x9011: "-05:00"})
    picture = Image.new("RGB", (8, 8))
    tagged, named, plain = (tmp_path / n for n in ("20250101T000000.jpg", "20261120_081503.jpg", "plain.png"))
    picture.save(tagged, exif=exif)
    picture.save(named)
    picture.save(plain)
    os.utime(plain, (1_800_000_000, 1_800_000_000))
    found = [probe(path, "") for path in (tagged, named, plain)]
    assert [c.time_source for c in found] == ["exif", "file_name", "file_time"]
    assert [c.zone_known for c in found] == [True, False, True]
    assert found[0].captured_at == found[1].captured_at == utc(2026, 11, 20, 13, 15, 3)
    assert found[2].captured_at.timestamp() == 1_800_000_000
