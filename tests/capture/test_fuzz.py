"""Damaged and invented files end as read or as rejected with one sentence: no traceback, no hang."""

import os
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import capture.media as media
from capture.media import AUDIO_SUFFIXES, PHOTO_SUFFIXES, UnreadableMedia, load_audio, load_photo, probe
from capture.media.apart import Allowance, Decoders
from tests.capture.specimens import exif_jpeg, specimens

# The long form is ``make soak``; this one only shows that the way is open.
EXAMPLES = int(os.environ.get("DROPLIGHT_FUZZ", "12"))
pytestmark = pytest.mark.timeout(300 + EXAMPLES)  # many examples on a busy computer are no hang
fuzz = settings(
    max_examples=EXAMPLES, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
SUFFIXES = sorted(AUDIO_SUFFIXES | PHOTO_SUFFIXES)


@pytest.fixture(scope="module", autouse=True)
def strict() -> Iterator[None]:
    """Little time and memory: what overruns them is a finding."""
    kept, media.decoders = media.decoders, Decoders(Allowance(cpu_s=20.0, memory=2 << 30))
    yield
    media.decoders.close()
    media.decoders = kept


def ends_well(path: Path) -> bool:
    """Read, or refused with one sentence that says what is wrong with the file itself."""
    try:
        found = probe(path, "417")
    except UnreadableMedia as error:
        sentence = str(error)
        assert sentence.startswith(path.name) and sentence.endswith(".") and "\n" not in sentence
        for fall in ("crash", "was not read to its end within", "GB of memory", "cannot be read ("):
            assert fall not in sentence, sentence  # the decoder fell and did not refuse
        return False
    content = load_audio(path) if found.kind == "audio" else load_photo(path)
    assert content.size == (
        round((found.duration_s or 0) * 16_000)
        if found.kind == "audio"
        else 3 * (found.width or 0) * (found.height or 0)
    )
    return True


def test_every_specimen_is_read(tmp_path: Path) -> None:
    for name, content in specimens().items():
        (tmp_path / name).write_bytes(content)
        assert ends_well(tmp_path / name), name


@st.composite
def damaged(draw: st.DrawFn) -> tuple[str, bytes]:
    """A valid file with bytes changed, cut out, doubled or put in; sometimes under another's name."""
    name = draw(st.sampled_from(sorted(specimens())))
    content = bytearray(specimens()[name])
    for _ in range(draw(st.integers(1, 4))):
        # the beginning decides most
        at = draw(st.integers(0, len(content)) | st.integers(0, min(len(content), 200)))
        length = draw(st.integers(0, 64))
        kind = draw(st.sampled_from(["change", "cut", "double", "put in", "end"]))
        if kind == "change":
            content[at : at + length] = draw(st.binary(min_size=length, max_size=length))
        elif kind == "cut":
            del content[at : at + length * 8]
        elif kind == "double":
            content[at:at] = content[at : at + length * 8]
        elif kind == "put in":
            content[at:at] = draw(st.binary(max_size=64))
        else:
            del content[at:]
    if draw(st.integers(0, 9)) == 0:
        name = f"a{draw(st.sampled_from(SUFFIXES))}"
    return name, bytes(content)


@fuzz
@given(damaged())
def test_damaged_files(tmp_path: Path, file: tuple[str, bytes]) -> None:
    path = tmp_path / file[0]
    path.write_bytes(file[1])
    ends_well(path)


@fuzz
@given(st.sampled_from(SUFFIXES), st.binary(max_size=400), st.sampled_from(sorted(specimens())))
def test_invented_files(tmp_path: Path, suffix: str, content: bytes, like: str) -> None:
    path = tmp_path / f"a{suffix}"
    path.write_bytes(specimens()[like][:16] + content)
    ends_well(path)


@fuzz
@given(
    st.sampled_from([b"II*\0\x08\0\0\0", b"MM\0*\0\0\0\x08", b""]),
    st.lists(st.tuples(st.sampled_from([0x0112, 0x8769, 0x9003, 0x9011, 0x927C]), st.binary(max_size=10))),
    st.binary(max_size=200),
)
def test_invented_photo_tags(tmp_path: Path, head: bytes, tags: list[tuple[int, bytes]], rest: bytes) -> None:
    order = "big" if head[:1] == b"M" else "little"
    entries = b"".join(tag.to_bytes(2, order) + body.ljust(10, b"\1") for tag, body in tags)
    path = tmp_path / "a.jpg"
    path.write_bytes(exif_jpeg(head + len(tags).to_bytes(2, order) + entries + rest))
    assert ends_well(path)  # broken tags do not spoil the picture
