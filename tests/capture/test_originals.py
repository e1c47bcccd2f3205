"""Originals in a folder, a shared one, stores of objects: kept whole, found anywhere, gone once removed."""

import os
import time
from collections.abc import Iterator
from hashlib import sha256
from pathlib import Path
from uuid import uuid4

import pytest

from capture.identity import ChangedError
from capture.originals import Bucket, Folder, Originals, OriginalsError, open_originals
from models.store import Store
from tests.doubles import Scripted, workshop, write_note

CONTENT = b"a recording, or so" * 1000
NAME = sha256(CONTENT).hexdigest()


@pytest.fixture(scope="session")
def s3() -> Iterator[str]:
    """A store of objects of the S3 kind on this computer; its address is told by the environment."""
    pytest.importorskip("s3fs")
    server = pytest.importorskip("moto.server").ThreadedMotoServer(ip_address="127.0.0.1", port=0)
    server.start()
    host, port = server.get_host_and_port()
    told = {
        "AWS_ENDPOINT_URL": f"http://{host}:{port}",
        "AWS_ACCESS_KEY_ID": "nobody",
        "AWS_SECRET_ACCESS_KEY": "nothing",
        "AWS_DEFAULT_REGION": "us-east-1",
    }
    before = {name: os.environ.get(name) for name in told}
    os.environ.update(told)
    import s3fs

    files = s3fs.S3FileSystem()
    files.mkdir("originals")
    yield "s3://originals"
    for name, value in before.items():
        os.environ.pop(name) if value is None else os.environ.__setitem__(name, value)
    server.stop()


@pytest.fixture(params=["folder", "shared", "memory", "s3"])
def url(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    if request.param == "s3":
        return f"{request.getfixturevalue('s3')}/{uuid4()}"
    kinds = {"folder": "", "shared": f"file://{tmp_path / 'shared'}", "memory": f"memory://{uuid4()}"}
    return kinds[request.param]


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "Note.WAV"
    path.write_bytes(CONTENT)
    return path


def host(tmp_path: Path, url: str, name: str = "one") -> Originals:
    """The originals as a host sees them that has a data folder of its own."""
    return open_originals(tmp_path / name, url)


def test_what_is_kept_comes_back_byte_for_byte(url: str, tmp_path: Path, file: Path) -> None:
    originals = host(tmp_path, url)
    originals.keep(file, NAME)
    originals.keep(file, NAME)
    found = originals.path(NAME)
    assert found.read_bytes() == CONTENT
    assert found.suffix == ".wav"
    assert file.exists()
    assert originals.check()


def test_another_host_finds_it_where_it_is_shared(url: str, tmp_path: Path, file: Path) -> None:
    host(tmp_path, url).keep(file, NAME)
    other = host(tmp_path, url, "two")
    if not url:
        with pytest.raises(FileNotFoundError):
            other.path(NAME)
        return
    assert other.path(NAME).read_bytes() == CONTENT
    assert other.path(NAME) == other.path(NAME)


def test_what_is_not_kept_is_said(url: str, tmp_path: Path) -> None:
    for name in (NAME, "f" * 64, "../etc", ""):
        with pytest.raises(FileNotFoundError):
            host(tmp_path, url).path(name)


def test_what_is_removed_is_gone_everywhere(url: str, tmp_path: Path, file: Path) -> None:
    originals = host(tmp_path, url)
    originals.keep(file, NAME)
    assert originals.remove(NAME)
    assert not originals.remove(NAME)
    for name in ("one", "two"):
        with pytest.raises(FileNotFoundError):
            host(tmp_path, url, name).path(NAME)
    originals.keep(file, NAME)
    assert originals.path(NAME).read_bytes() == CONTENT


def test_other_bytes_than_those_looked_at_are_refused(url: str, tmp_path: Path, file: Path) -> None:
    originals = host(tmp_path, url)
    file.write_bytes(CONTENT + b"more")
    with pytest.raises(ChangedError):
        originals.keep(file, NAME)
    with pytest.raises(FileNotFoundError):
        originals.path(NAME)


def bucket(tmp_path: Path, name: str = "one", url: str = "") -> Bucket:
    found = host(tmp_path, url or f"memory://{uuid4()}", name)
    assert isinstance(found, Bucket)
    return found


def test_an_object_that_is_damaged_is_not_taken_for_the_original(tmp_path: Path, file: Path) -> None:
    url = f"memory://{uuid4()}"
    one = bucket(tmp_path, "one", url)
    one.keep(file, NAME)
    found = one._find(NAME)
    assert found is not None
    one._fs.pipe_file(found, CONTENT[:-1] + b"x")
    with pytest.raises(OSError, match="damaged"):
        bucket(tmp_path, "two", url).path(NAME)
    assert list((tmp_path / "two").rglob("*.wav")) == []
    one._fs.pipe_file(found, CONTENT[:5])  # half an object is mended by keeping it again
    one.keep(file, NAME)
    assert bucket(tmp_path, "two", url).path(NAME).read_bytes() == CONTENT


def test_a_store_that_does_not_answer_is_an_error_that_can_be_tried_again(
    tmp_path: Path, file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    one = bucket(tmp_path)

    def fail(*args: object, **kwargs: object) -> None:
        raise RuntimeError("no route to host")

    monkeypatch.setattr(one._fs, "put_file", fail)
    with pytest.raises(OSError, match="does not answer: no route to host"):
        one.keep(file, NAME)
    assert file.exists()


def test_copies_are_trimmed_those_used_last_stay(tmp_path: Path) -> None:
    one = bucket(tmp_path)
    names = []
    for number in range(4):
        path = tmp_path / f"{number}.wav"
        path.write_bytes(bytes([number]) * 1000)
        names.append(sha256(path.read_bytes()).hexdigest())
        one.keep(path, names[-1])
        at = time.time() - 10_000 + number
        os.utime(one._copies.path(names[-1]), (at, at))
    one._fs.rm_file(one._find(names[3]))  # removed by another host
    assert one.trim(2000) == 2
    left = {p.stem for p in (tmp_path / "one" / "originals").glob("??/??/*")}
    assert left == {names[1], names[2]}
    assert one.path(names[0]).read_bytes() == bytes([0]) * 1000  # had again from the store
    assert one.trim(0) == 2  # the one just used is left alone for a while


@pytest.mark.parametrize("url", ["nosuch://bucket/x", "shared/originals"])
def test_an_address_that_cannot_be_used_is_said(url: str, tmp_path: Path) -> None:
    with pytest.raises(OriginalsError, match="originals_url"):
        open_originals(tmp_path, url)


def test_a_note_taken_in_on_one_host_is_drafted_on_another(url: str, tmp_path: Path) -> None:
    from datetime import UTC, datetime

    from capture.ingest import ingest
    from pipelines.order import advance

    if not url:
        pytest.skip("not shared")
    store = Store.open(f"sqlite:///{tmp_path / 'state' / 'droplight.db'}")
    note = write_note(tmp_path / "inbox" / "417" / "20261120T081500.wav", 1.5)
    taken = ingest(note, tmp_path / "inbox", store, tmp_path / "one", datetime.now(UTC), host(tmp_path, url))
    worker = workshop(tmp_path / "two", Scripted(["Left front outer pad, six millimeters."]))
    settings = worker.settings.model_copy(update={"originals_url": url})
    object.__setattr__(worker, "settings", settings)
    inspection = advance(store, taken.sha256, worker)  # type: ignore[union-attr]
    assert inspection is not None
    draft = store.draft(inspection)
    assert draft is not None
    assert (len(draft.findings), draft.notices) == (1, ())
    store.close()


def test_a_folder_is_the_same_as_before(tmp_path: Path, file: Path) -> None:
    Folder(tmp_path / "originals").keep(file, NAME)
    expected = tmp_path / "originals" / NAME[:2] / NAME[2:4] / f"{NAME}.wav"
    assert expected.read_bytes() == CONTENT
