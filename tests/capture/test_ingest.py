"""One file in: kept once, noted once, gone from the inbox; or rejected with its reason."""

import os
from pathlib import Path

import pytest

import capture.ingest as ingest_module
from capture import originals as originals_module
from capture.identity import ChangedError, original_path, sha256_of
from capture.ingest import ingest, is_temporary, scan
from models.capture import Capture, Rejection
from models.store import Store
from tests.capture.material import NOW, encoded, png_header, wav_bytes


class Crash(BaseException):
    """The power goes out."""


def take(path: Path, inbox: Path, store: Store, home: Path) -> Capture | Rejection:
    return ingest(path, inbox, store, home, NOW)


def dropped(inbox: Path, name: str, content: bytes | None = None) -> Path:
    path = inbox / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(wav_bytes(0.2) if content is None else content)
    return path


def files(folder: Path) -> list[str]:
    return sorted(str(p.relative_to(folder)) for p in folder.rglob("*") if not p.is_dir())


def rejected(path: Path, inbox: Path, store: Store, home: Path) -> str:
    found = take(path, inbox, store, home)
    assert isinstance(found, Rejection)
    assert store.rejections()[-1] == found
    assert not os.path.lexists(path)
    assert store.captures() == []
    return found.reason


def test_a_file_is_kept_noted_and_removed(inbox: Path, store: Store, home: Path) -> None:
    path = dropped(inbox, "417/20261120T081503.wav")
    content = path.read_bytes()
    found = take(path, inbox, store, home)
    assert isinstance(found, Capture)
    assert (found.folder, found.original_name, found.kind) == ("417", "20261120T081503.wav", "audio")
    assert store.captures() == [found]
    assert original_path(home, found.sha256).read_bytes() == content
    assert files(inbox) == []


def test_the_same_content_again_is_no_second_capture(inbox: Path, store: Store, home: Path) -> None:
    first = take(dropped(inbox, "a.wav"), inbox, store, home)
    again = take(dropped(inbox, "b/copy.WAV"), inbox, store, home)
    assert isinstance(first, Capture)
    assert again == first
    assert store.captures() == [first]
    assert store.sightings(first.sha256) == 1
    assert files(inbox) == []
    assert len(list((home / "originals").rglob("*.wav"))) == 1


@pytest.mark.parametrize("stage", ["keep", "add_capture", "_remove"])
@pytest.mark.parametrize("when", ["before", "after"])
def test_a_crash_at_any_step_loses_and_doubles_nothing(
    inbox: Path, store: Store, home: Path, monkeypatch: pytest.MonkeyPatch, stage: str, when: str
) -> None:
    path = dropped(inbox, "a.wav")
    digest = sha256_of(path)
    owner = {"add_capture": store, "keep": originals_module}.get(stage, ingest_module)
    real = getattr(owner, stage)

    def crash(*arguments: object) -> object:
        if when == "after":
            real(*arguments)
        raise Crash

    with monkeypatch.context() as patch:
        patch.setattr(owner, stage, crash)
        with pytest.raises(Crash):
            take(path, inbox, store, home)
    for path in scan(inbox):
        take(path, inbox, store, home)
    assert [c.sha256 for c in store.captures()] == [digest]
    assert sha256_of(original_path(home, digest)) == digest
    assert len([p for p in (home / "originals").rglob("*") if p.is_file()]) == 1
    assert files(inbox) == []


@pytest.mark.parametrize("stage", ["add_rejection", "replace"])
def test_a_crash_while_rejecting_leaves_one_row_and_one_file(
    inbox: Path, store: Store, home: Path, monkeypatch: pytest.MonkeyPatch, stage: str
) -> None:
    path = dropped(inbox, "a.wav", b"")

    def crash(*arguments: object) -> object:
        raise Crash

    with monkeypatch.context() as patch:
        patch.setattr(store if stage == "add_rejection" else Path, stage, crash)
        with pytest.raises(Crash):
            take(path, inbox, store, home)
    assert path.exists()
    take(path, inbox, store, home)
    assert len(store.rejections()) == 1
    assert files(inbox) == ["rejected/a.wav", "rejected/a.wav.why.txt"]


def test_a_rejected_file_lies_beside_its_reason(inbox: Path, store: Store, home: Path) -> None:
    reason = rejected(dropped(inbox, "417/a.wav", b"Not sound.\n" * 99), inbox, store, home)
    assert "a.wav does not hold sound" in reason
    assert files(inbox) == ["rejected/a.wav", "rejected/a.wav.why.txt"]
    why = (inbox / "rejected" / "a.wav.why.txt").read_text()
    assert reason in why
    assert "417/a.wav" in why
    assert (inbox / "rejected" / "a.wav").read_bytes().startswith(b"Not sound.")


def test_rejected_files_of_one_name_are_all_kept(inbox: Path, store: Store, home: Path) -> None:
    for number in range(3):
        rejected(dropped(inbox, "a.wav", b"text %d" % number), inbox, store, home)
    assert files(inbox) == sorted(
        f"rejected/a{n}.wav{end}" for n in ("", " (2)", " (3)") for end in ("", ".why.txt")
    )
    assert {(inbox / "rejected" / f"a{n}.wav").read_bytes() for n in ("", " (2)", " (3)")} == {
        b"text 0",
        b"text 1",
        b"text 2",
    }


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("a.wav", b"", "is empty"),
        ("a.m4a", encoded("ipod", "aac")[:-300], "ends early"),
        ("a.wav", wav_bytes(1.0)[:-2000], "ends early"),
        ("a.flac", encoded("flac", "flac")[:-500], "ends early"),
        ("a.png", png_header(50_000, 50_000), "100 megapixels"),
        ("a.pdf", b"%PDF-1.7", "not of a kind"),
        ("no suffix", b"hello", "not of a kind"),
        ("one/two/a.wav", wav_bytes(0.2), "2 folders deep"),
    ],
)
def test_each_bad_file_has_its_reason(
    inbox: Path, store: Store, home: Path, name: str, content: bytes, words: str
) -> None:
    path = dropped(inbox, name, content)
    assert path in scan(inbox)
    assert words in rejected(path, inbox, store, home)
    assert (home / "originals").exists() is False


def test_hostile_names_stay_inside(inbox: Path, store: Store, home: Path) -> None:
    names = [
        "a\nb.wav",
        "..wav",
        "...",
        "a\\..\\b.wav",
        "x" * 240 + ".wav",
        "\x1b]0;t.wav",
        "a:b*c?.wav",
        " .wav",
    ]
    for name in [n for n in names if not is_temporary(n)]:
        rejected(dropped(inbox, name, b"text"), inbox, store, home)
    found = files(inbox)
    assert all(name.startswith("rejected/") for name in found)
    assert all("\n" not in name and "\x1b" not in name and "\\" not in name for name in found)
    assert all("\n" not in r.name and "\n" not in r.reason for r in store.rejections())
    with pytest.raises(ValueError, match="inbox"):
        take(dropped(inbox.parent, "outside.wav"), inbox, store, home)
    with pytest.raises(ValueError, match="inbox"):
        take(inbox / ".." / "outside.wav", inbox, store, home)
    assert (inbox.parent / "outside.wav").exists()


def test_a_name_in_foreign_bytes_is_taken_in(inbox: Path, store: Store, home: Path) -> None:
    name = b"gr\xf6\xdfe.wav".decode("utf-8", "surrogateescape")
    try:
        dropped(inbox, name)
        dropped(inbox, "bad" + name, b"text")
    except OSError:
        pytest.skip("this file system takes only UTF-8 names")
    for path in scan(inbox):
        take(path, inbox, store, home)
    assert [c.original_name for c in store.captures()] == ["gr\ufffd\ufffde.wav"]
    assert files(inbox) == ["rejected/badgr__e.wav", "rejected/badgr__e.wav.why.txt"]


def test_a_link_is_rejected_and_what_it_points_to_is_left_alone(
    inbox: Path, store: Store, home: Path
) -> None:
    secret = dropped(inbox.parent, "secret.wav")
    link = inbox / "a.wav"
    link.symlink_to(secret)
    assert scan(inbox) == [link]
    assert "is a link" in rejected(link, inbox, store, home)
    assert (inbox / "rejected" / "a.wav").is_symlink()
    assert secret.exists()
    assert not (home / "originals").exists()


def test_a_linked_folder_is_not_entered(inbox: Path, store: Store, home: Path) -> None:
    dropped(inbox.parent / "elsewhere", "a.wav")
    (inbox / "417").symlink_to(inbox.parent / "elsewhere")
    assert scan(inbox) == [inbox / "417"]
    assert "is a link" in rejected(inbox / "417", inbox, store, home)
    assert (inbox.parent / "elsewhere" / "a.wav").exists()


def test_the_folder_of_rejected_files_may_not_lead_elsewhere(inbox: Path, store: Store, home: Path) -> None:
    (inbox.parent / "elsewhere").mkdir()
    (inbox / "rejected").symlink_to(inbox.parent / "elsewhere")
    path = dropped(inbox, "a.wav", b"")
    with pytest.raises(OSError, match="make it a folder"):
        take(path, inbox, store, home)
    assert path.exists()
    assert store.rejections() == []


def test_a_file_that_still_changes_is_left_for_later(
    inbox: Path, store: Store, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = dropped(inbox, "a.wav", wav_bytes(1.0)[:-1000])
    real = ingest_module.probe

    def slow(path: Path, folder: str) -> Capture:
        with path.open("ab") as file:
            file.write(bytes(10))
        return real(path, folder)

    with monkeypatch.context() as patch:
        patch.setattr(ingest_module, "probe", slow)
        with pytest.raises(ChangedError, match="changed"):
            take(path, inbox, store, home)
    assert files(inbox) == ["a.wav"]
    assert store.captures() == store.rejections() == []


def test_another_file_of_the_same_name_is_not_removed(
    inbox: Path, store: Store, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = dropped(inbox, "a.wav")
    real = store.add_capture

    def replaced(*arguments: object) -> bool:
        path.unlink()
        dropped(inbox, "a.wav", wav_bytes(0.3))
        return real(*arguments)  # type: ignore[arg-type]

    with monkeypatch.context() as patch:
        patch.setattr(store, "add_capture", replaced)
        take(path, inbox, store, home)
    assert files(inbox) == ["a.wav"]
    take(path, inbox, store, home)
    assert sorted(c.duration_s or 0 for c in store.captures()) == [0.2, 0.3]


def test_where_nothing_can_be_removed_nothing_is_noted(
    inbox: Path, store: Store, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = dropped(inbox, "a.wav")
    monkeypatch.setattr(os, "access", lambda folder, mode: folder != inbox)
    with pytest.raises(OSError, match="make that folder writable"):
        take(path, inbox, store, home)
    assert store.captures() == []
    assert path.exists()


def test_a_vanished_file_is_said(inbox: Path, store: Store, home: Path) -> None:
    with pytest.raises(FileNotFoundError):
        take(inbox / "gone.wav", inbox, store, home)


def test_the_scan_passes_over_only_what_is_unfinished_or_hidden(inbox: Path) -> None:
    for name in (
        "b.wav", "A.JPG", "417/c.m4a", "x/y/z/deep.wav", "readme.txt", "rejected/old.wav",
        "417/rejected/d.wav", "a.m4a.part", "b.crdownload", "c.TMP", "~$d.wav", "._e.wav", ".hidden.wav",
        "Thumbs.db", "desktop.ini",
        ".syncthing.f.wav.tmp", "~syncthing~g.wav", ".stversions/h.wav", "@eaDir/i.jpg", "__MACOSX/j.wav",
    ):  # fmt: skip
        dropped(inbox, name, b"x")
    os.mkfifo(inbox / "pipe.wav")
    found = [str(p.relative_to(inbox)) for p in scan(inbox)]
    assert found == ["417/c.m4a", "417/rejected/d.wav", "A.JPG", "b.wav", "readme.txt", "x/y/z/deep.wav"]


def test_a_folder_nested_without_end_ends(inbox: Path, caplog: pytest.LogCaptureFixture) -> None:
    deep = inbox
    for _ in range(40):
        deep = deep / "d"
    deep.mkdir(parents=True)
    dropped(inbox, "a.wav")
    assert [p.name for p in scan(inbox)] == ["a.wav"]
    assert "folders deep" in caplog.text


def test_an_inbox_that_is_not_there_is_said(inbox: Path) -> None:
    with pytest.raises(OSError, match="nowhere"):
        scan(inbox / "nowhere")
