"""One folder drafted where it lies."""

import hashlib
from pathlib import Path

import pytest

from models.record import Record
from pipelines.order import draft_folder
from pipelines.workshop import Artefacts, Workshop
from tests.doubles import Display, Failing, Hanging, Scripted, Shelf, workshop, write_note, write_photo

PAD = "Left front outer pad, six millimeters."


@pytest.fixture
def inbox(tmp_path: Path) -> Path:
    folder = tmp_path / "inbox"
    write_note(folder / "20261120T081500.wav")
    write_photo(folder / "20261120T081600.png")
    return folder


def draft(
    inbox: Path, shop: Workshop, kept: Artefacts | None = None, named: list[str] | None = None
) -> Record:
    return draft_folder(inbox, kept or Shelf(), shop, (named if named is not None else []).append)


def state(folder: Path) -> dict[str, tuple[str, int]]:
    return {
        str(path.relative_to(folder)): (
            hashlib.sha256(path.read_bytes()).hexdigest(),
            path.stat().st_mtime_ns,
        )
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def test_the_folder_is_left_as_it_was(inbox: Path, tmp_path: Path) -> None:
    (inbox / "notes.txt").write_text("not of a kind that is read")
    before = state(inbox)
    record = draft(inbox, workshop(tmp_path / "home", Scripted([PAD])))
    assert len(record.findings) == 1
    assert state(inbox) == before
    assert sorted(path.name for path in inbox.iterdir()) == sorted(before)


def test_every_file_is_named_before_it_is_worked_on(inbox: Path, tmp_path: Path) -> None:
    named: list[str] = []
    draft(inbox, workshop(tmp_path, Scripted([PAD])), named=named)
    assert named == ["20261120T081500.wav", "20261120T081600.png"]


def test_a_second_time_nothing_is_heard_or_read_again(inbox: Path, tmp_path: Path) -> None:
    kept = Shelf()
    first_listener, first_display = Scripted([PAD]), Display()
    first = draft(inbox, workshop(tmp_path, first_listener, first_display), kept)
    listener, display = Scripted(["Something else."]), Display()
    second = draft(inbox, workshop(tmp_path, listener, display), kept)
    assert (len(first_listener.windows), len(first_display.asked)) == (1, 1)
    assert (listener.windows, listener.detected, display.asked) == ([], [], [])
    assert second == first


def test_exact_digits_survive_being_kept(inbox: Path, tmp_path: Path) -> None:
    kept, shop = Shelf(), workshop(tmp_path, Scripted(["Left front outer pad, point two five oh inches."]))
    for _ in range(2):
        (finding,) = draft(inbox, shop, kept).findings
        assert finding.reading is not None
        assert f"{finding.reading.value:f}" == "0.250"


def test_ids_are_the_same_in_another_place(inbox: Path, tmp_path: Path) -> None:
    copy = tmp_path / "copy"
    copy.mkdir()
    for path in inbox.iterdir():
        (copy / path.name).write_bytes(path.read_bytes())
    one, other = (draft(folder, workshop(tmp_path, Scripted([PAD]))) for folder in (inbox, copy))
    assert one.inspection.id == other.inspection.id
    assert [f.id for f in one.findings] == [f.id for f in other.findings] != []


def test_a_changed_note_is_heard_anew(inbox: Path, tmp_path: Path) -> None:
    kept = Shelf()
    draft(inbox, workshop(tmp_path, Scripted([PAD])), kept)
    write_note(inbox / "20261120T081500.wav", 4.0)
    listener = Scripted([PAD.replace("six", "five")])
    (finding,) = draft(inbox, workshop(tmp_path, listener), kept).findings
    assert finding.reading is not None and finding.reading.value == 5
    assert len(listener.windows) == 1


def test_another_language_or_model_is_heard_anew(inbox: Path, tmp_path: Path) -> None:
    kept = Shelf()
    shop = workshop(tmp_path, Scripted([PAD]))
    draft(inbox, shop, kept)
    speech = shop.settings.speech.model_copy(update={"model": "/somewhere/else"})
    other = Workshop(
        settings=shop.settings.model_copy(update={"speech": speech}),
        vocabulary=shop.vocabulary,
        limits=shop.limits,
        listener=(listener := Scripted([PAD])),
        read_display=shop.read_display,
    )
    draft(inbox, other, kept)
    assert len(listener.windows) == 1


def test_the_same_file_twice_is_counted_once(inbox: Path, tmp_path: Path) -> None:
    (inbox / "copy.wav").write_bytes((inbox / "20261120T081500.wav").read_bytes())
    record = draft(inbox, workshop(tmp_path, Scripted([PAD])))
    assert len(record.captures) == 2
    assert len(record.findings) == 1
    assert any("copy.wav" in notice and "20261120T081500.wav" in notice for notice in record.notices)


def test_what_cannot_be_read_becomes_a_notice(inbox: Path, tmp_path: Path) -> None:
    (inbox / "empty.wav").write_bytes(b"")
    (inbox / "broken.jpg").write_bytes(b"\xff\xd8\xff\xe0 not a picture")
    (inbox / "letter.docx").write_bytes(b"PK")
    record = draft(inbox, workshop(tmp_path, Scripted([PAD])))
    assert len(record.findings) == 1
    for name in ("empty.wav", "broken.jpg", "letter.docx"):
        (notice,) = [n for n in record.notices if name in n]
        assert "\n" not in notice and notice.endswith(".")
    assert len(record.captures) == 2


def test_a_photo_without_a_reading_is_said(inbox: Path, tmp_path: Path) -> None:
    record = draft(inbox, workshop(tmp_path, Scripted([PAD])))
    assert any("20261120T081600.png" in n and "no display was found" in n for n in record.notices)


def test_a_silent_note_gives_no_finding_and_is_said(tmp_path: Path) -> None:
    inbox = tmp_path / "inbox"
    write_note(inbox / "20261120T081500.wav", speech=False)
    listener = Scripted([PAD])
    record = draft(inbox, workshop(tmp_path, listener))
    assert record.findings == ()
    assert listener.windows == []
    assert any("20261120T081500.wav" in notice for notice in record.notices)


def test_one_note_that_hangs_does_not_keep_the_others(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("pipelines.stages._LEAST_DEADLINE_S", 0.5)
    inbox = tmp_path / "inbox"
    write_note(inbox / "20261120T081500.wav")
    write_note(inbox / "20261120T081700.wav", 4.0)
    write_photo(inbox / "20261120T081600.png")
    listener, display, kept = Hanging([PAD]), Display(), Shelf()
    try:
        record = draft(inbox, workshop(tmp_path, listener, display, deadline_s=0.001), kept)
    finally:
        listener.let_go.set()
    assert len(record.findings) == 1
    assert len(display.asked) == 1
    assert len(record.captures) == 3
    (notice,) = [n for n in record.notices if "did not answer" in n]
    assert "20261120T081500.wav" in notice and "The file is kept" in notice
    again = draft(inbox, workshop(tmp_path, Scripted([PAD.replace("Left", "Right")])), kept)
    assert sorted(f.position.side or "" for f in again.findings) == ["left", "right"]
    assert not any("did not answer" in n for n in again.notices)


def test_no_memory_for_one_note_is_said_and_the_file_is_kept(inbox: Path, tmp_path: Path) -> None:
    record = draft(inbox, workshop(tmp_path, Failing()))
    (notice,) = [n for n in record.notices if "memory" in n]
    assert "20261120T081500.wav" in notice and "kept" in notice
    assert (inbox / "20261120T081500.wav").exists()


def test_a_display_reader_that_fails_is_said(inbox: Path, tmp_path: Path) -> None:
    def fail(capture: str) -> None:
        raise ValueError("bad strip")

    record = draft(inbox, workshop(tmp_path, Scripted([PAD]), Display(fail)))  # type: ignore[arg-type]
    assert len(record.findings) == 1
    assert any("20261120T081600.png" in n and "bad strip" in n for n in record.notices)


def test_a_note_whose_words_cannot_be_read_does_not_keep_the_others(
    inbox: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*args: object) -> None:
        raise KeyError("furlong")

    monkeypatch.setattr("pipelines.stages.read_notes", fail)
    display = Display()
    record = draft(inbox, workshop(tmp_path, Scripted([PAD]), display))
    assert len(display.asked) == 1
    assert len(record.captures) == 2
    (notice,) = [n for n in record.notices if "furlong" in n]
    assert "20261120T081500.wav" in notice and "kept" in notice


@pytest.mark.parametrize("content", [{}, {"empty.wav": b""}, {"letter.docx": b"PK"}])
def test_a_folder_with_nothing_to_read_is_refused(tmp_path: Path, content: dict[str, bytes]) -> None:
    inbox = tmp_path / "inbox"
    inbox.mkdir()
    for name, data in content.items():
        (inbox / name).write_bytes(data)
    with pytest.raises(ValueError, match="Nothing could be read") as raised:
        draft(inbox, workshop(tmp_path, Scripted()))
    assert str(inbox) in str(raised.value)
    assert all(name in str(raised.value) for name in content)


def test_print_in_a_photo_without_a_display_is_told_beside_the_reason(inbox: Path, tmp_path: Path) -> None:
    asked: list[int] = []

    def read_print(pixels: object) -> list[tuple[str, float]]:
        asked.append(1)
        return [("GVWR 14500 LB", 0.9), ("ill", 0.95), ("maybe a plate", 0.4)]

    kept = Shelf()
    shop = workshop(tmp_path / "home", Scripted([PAD]), read_print=read_print)
    record = draft(inbox, shop, kept)
    assert draft(inbox, shop, kept) == record
    assert len(asked) == 1
    notices = "\n".join(record.notices)
    assert "no display was found" in notices
    assert "printed text in it: “GVWR 14500 LB”." in notices
