"""The order of work over the store: once, again, out of order, and with recognisers that fail."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from capture.ingest import ingest
from models.capture import Capture
from models.display import DisplayReading
from models.record import Record, Review
from models.signing import sign
from models.store import Store
from pipelines.order import advance, redraft, unfinished
from pipelines.workshop import Workshop, shop_plans
from tests.doubles import Display, Failing, Hanging, Scripted, workshop, write_note, write_photo

NOW = datetime(2026, 11, 20, 18, 0, tzinfo=UTC)
OPENING = "Starting inspection, unit four one seven. Left front outer pad, six millimeters."
PAD = "Left front outer pad, six millimeters."


@pytest.fixture
def home(tmp_path: Path) -> Path:
    return tmp_path / "home"


@pytest.fixture
def store(home: Path) -> Iterator[Store]:
    home.mkdir()
    opened = Store.open(f"sqlite:///{home / 'droplight.db'}")
    yield opened
    opened.close()


class Bay:
    """An inbox, and the truck's bay behind it."""

    def __init__(self, folder: Path, home: Path, store: Store) -> None:
        self.inbox, self.home, self.store = folder, home, store

    def take(self, path: Path) -> str:
        taken = ingest(path, self.inbox, self.store, self.home, NOW)
        assert isinstance(taken, Capture)
        return taken.sha256

    def note(self, name: str = "20261120T081500.wav", seconds: float = 3.0, salt: int = 0) -> str:
        return self.take(write_note(self.inbox / name, seconds, salt=salt))

    def photo(self, name: str = "20261120T081600.png", shade: int = 120) -> str:
        return self.take(write_photo(self.inbox / name, shade))

    def shop(self, listener: Scripted, display: Display | None = None) -> Workshop:
        return workshop(self.home, listener, display)

    def draft(self, inspection: str | None) -> Record:
        assert inspection is not None
        draft = self.store.draft(inspection)
        assert draft is not None
        return draft


@pytest.fixture
def bay(tmp_path: Path, home: Path, store: Store) -> Bay:
    inbox = tmp_path / "inbox"
    inbox.mkdir()
    return Bay(inbox, home, store)


def findings(record: Record) -> list[str]:
    return [f"{f.position.words()} {f.component}".strip() for f in record.findings]


def test_a_note_becomes_a_draft(bay: Bay) -> None:
    sha256 = bay.note()
    inspection = advance(bay.store, sha256, bay.shop(Scripted([OPENING])))
    record = bay.draft(inspection)
    assert record.inspection.unit == "417"
    assert findings(record) == ["left front outer brake_pad"]
    assert [c.sha256 for c in record.captures] == [sha256]
    assert record.findings[0].evidence[0].capture == sha256


def test_doing_it_again_changes_nothing_and_hears_nothing_again(bay: Bay) -> None:
    sha256 = bay.note()
    listener = Scripted([OPENING])
    inspection = advance(bay.store, sha256, bay.shop(listener))
    assert inspection is not None
    first, version = bay.draft(inspection), bay.store.inspection(inspection)
    assert advance(bay.store, sha256, bay.shop(listener)) == inspection
    assert redraft(bay.store, inspection, bay.shop(listener)) == first
    assert (bay.draft(inspection), bay.store.inspection(inspection)) == (first, version)
    assert len(listener.windows) == 1
    assert len(bay.store.inspections()) == 1


def test_an_unknown_capture_is_refused(bay: Bay) -> None:
    with pytest.raises(LookupError):
        advance(bay.store, "0" * 64, bay.shop(Scripted()))


def test_a_note_without_a_home_waits_in_the_tray(bay: Bay) -> None:
    sha256 = bay.note()
    assert advance(bay.store, sha256, bay.shop(Scripted([PAD]))) is None
    assert [c.sha256 for c in bay.store.unassigned()] == [sha256]
    assert bay.store.inspections() == []


def test_files_of_a_sub_folder_belong_together_whatever_is_said(bay: Bay) -> None:
    listener = Scripted([PAD])
    one = bay.note("417/20261120T081500.wav")
    two = bay.note("417/20261120T081800.wav", 4.0)
    other = bay.note("B-17/20261120T081700.wav", 5.0)
    homes = [advance(bay.store, sha256, bay.shop(listener)) for sha256 in (one, two, other)]
    assert homes[0] == homes[1] != homes[2]
    assert bay.draft(homes[0]).inspection.unit == "417"
    assert bay.draft(homes[2]).inspection.unit == "B-17"
    assert len(bay.draft(homes[0]).captures) == 2


def test_another_unit_said_in_the_note_of_a_folder_is_noticed(bay: Bay) -> None:
    sha256 = bay.note("B-17/20261120T081500.wav")
    record = bay.draft(advance(bay.store, sha256, bay.shop(Scripted([OPENING]))))
    assert any("417" in notice and "B-17" in notice for notice in record.notices)


def test_notes_that_name_the_same_unit_belong_together(bay: Bay) -> None:
    listener = Scripted(
        [OPENING, "Unit four one seven, second note. Right front outer pad, five millimeters."]
    )
    one, two = bay.note(), bay.note("20261120T082500.wav", 4.0)
    homes = {advance(bay.store, sha256, bay.shop(listener)) for sha256 in (one, two)}
    assert len(homes) == 1
    assert findings(bay.draft(homes.pop())) == ["left front outer brake_pad", "right front outer brake_pad"]


def test_a_note_near_in_time_joins_and_one_far_away_waits(bay: Bay) -> None:
    listener = Scripted([OPENING, PAD.replace("Left", "Right"), PAD])
    shop = bay.shop(listener)
    inspection = advance(bay.store, bay.note(), shop)
    near = bay.note("20261120T083000.wav", 4.0)
    far = bay.note("20261120T153000.wav", 5.0)
    assert advance(bay.store, near, shop) == inspection
    assert advance(bay.store, far, shop) is None


def test_a_photo_that_came_before_its_note_joins_later(bay: Bay) -> None:
    display = Display(
        lambda capture: DisplayReading(
            capture=capture, text="12.58", value="12.58", unit="V", confidence=0.99
        )
    )
    shop = bay.shop(Scripted(["Unit four one seven. Battery voltage, twelve point five eight."]), display)
    photo = bay.photo("20261120T081505.png")
    assert advance(bay.store, photo, shop) is None
    note = bay.note()
    inspection = advance(bay.store, note, shop)
    assert bay.store.inspection_of(photo) == inspection
    assert bay.store.unassigned() == []
    record = bay.draft(inspection)
    assert {c.sha256 for c in record.captures} == {photo, note}
    assert {e.kind for f in record.findings for e in f.evidence} == {"audio", "photo"}
    assert display.asked == [photo]


def test_the_order_of_arrival_makes_no_difference(bay: Bay) -> None:
    shop = bay.shop(Scripted([OPENING]))
    photos = [bay.photo(f"20261120T08160{k}.png", shade=40 * k) for k in range(3)]
    note = bay.note()
    for sha256 in (photos[1], note, photos[0], photos[2]):
        inspection = advance(bay.store, sha256, shop)
    record = bay.draft(inspection)
    assert [c.sha256 for c in record.captures] == [note, *photos]


@pytest.mark.parametrize(
    ("listener", "words"),
    [
        (Failing([OPENING]), "not enough memory"),
        (Failing([OPENING], error=RuntimeError("the decoder broke")), "the decoder broke"),
    ],
)
def test_a_stage_that_fails_becomes_a_notice_and_is_done_again(
    bay: Bay, listener: Scripted, words: str
) -> None:
    sha256 = bay.note("417/20261120T081500.wav")
    inspection = advance(bay.store, sha256, bay.shop(listener))
    record = bay.draft(inspection)
    assert record.findings == ()
    (notice,) = [n for n in record.notices if words in n]
    assert "20261120T081500.wav" in notice
    assert "\n" not in notice and "Traceback" not in notice
    again = Scripted([OPENING])
    assert advance(bay.store, sha256, bay.shop(again)) == inspection
    record = bay.draft(inspection)
    assert findings(record) == ["left front outer brake_pad"]
    assert not any(words in n for n in record.notices)


def test_a_recogniser_that_hangs_is_given_up_and_the_others_go_on(
    bay: Bay, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("pipelines.stages._LEAST_DEADLINE_S", 0.2)
    listener = Hanging([OPENING], times=2)
    shop = workshop(bay.home, listener, deadline_s=0.001)
    stuck = bay.note("417/20261120T081500.wav")
    inspection = advance(bay.store, stuck, shop)
    monkeypatch.setattr("pipelines.stages._LEAST_DEADLINE_S", 20.0)
    try:
        (notice,) = [n for n in bay.draft(inspection).notices if "did not answer" in n]
        assert "20261120T081500.wav" in notice and "kept" in notice
        assert bay.draft(inspection).captures[0].sha256 == stuck
        photo = bay.photo("417/20261120T081600.png")
        assert advance(bay.store, photo, bay.shop(Scripted([OPENING]))) == inspection
        assert findings(bay.draft(inspection)) == ["left front outer brake_pad"]
    finally:
        listener.let_go.set()


def test_unfinished_names_what_has_no_draft(bay: Bay) -> None:
    shop = bay.shop(Scripted([OPENING]))
    note = bay.note()
    photo = bay.photo("20261120T153000.png")
    assert unfinished(bay.store, shop) == [note, photo]
    advance(bay.store, note, shop)
    assert unfinished(bay.store, shop) == [photo]


def test_what_a_recogniser_could_not_do_is_unfinished(bay: Bay) -> None:
    note = bay.note("417/20261120T081500.wav")
    advance(bay.store, note, bay.shop(Failing()))
    assert unfinished(bay.store, bay.shop(Scripted())) == [note]
    advance(bay.store, note, bay.shop(Scripted([OPENING])))
    assert unfinished(bay.store, bay.shop(Scripted())) == []


def test_what_could_not_be_read_out_of_what_was_heard_is_unfinished(
    bay: Bay, monkeypatch: pytest.MonkeyPatch
) -> None:
    note, shop = bay.note("417/20261120T081500.wav"), bay.shop(Scripted([OPENING]))
    with monkeypatch.context() as broken:
        broken.setattr("pipelines.stages.read_notes", lambda *_: (_ for _ in ()).throw(MemoryError))
        advance(bay.store, note, shop)
    assert unfinished(bay.store, shop) == [note]
    advance(bay.store, note, shop)
    assert unfinished(bay.store, shop) == []


@pytest.mark.parametrize("reader", ["read_print", "read_codes"])
def test_a_photo_whose_print_could_not_be_read_is_unfinished(bay: Bay, reader: str) -> None:
    photo, shop = bay.photo("417/20261120T081600.png"), bay.shop(Scripted())
    answers: list[Exception | None] = [RuntimeError("the reader broke"), None]

    def read(pixels: object) -> list[tuple[str, float]]:
        if (error := answers.pop(0)) is not None:
            raise error
        return []

    shop = replace(shop, **{reader: read})  # type: ignore[arg-type]
    draft = bay.draft(advance(bay.store, photo, shop))
    assert "the reader broke" in " ".join(draft.notices)
    assert unfinished(bay.store, shop) == [photo]
    draft = bay.draft(advance(bay.store, photo, shop))
    assert "the reader broke" not in " ".join(draft.notices)
    assert (unfinished(bay.store, shop), answers) == ([], [])


def test_what_waits_in_the_tray_is_not_unfinished(bay: Bay) -> None:
    shop = bay.shop(Scripted([PAD]))
    advance(bay.store, bay.note(), shop)
    assert unfinished(bay.store, shop) == []


def test_a_crash_between_assigning_and_drafting_is_repaired_by_running_again(
    bay: Bay, monkeypatch: pytest.MonkeyPatch
) -> None:
    note = bay.note()
    shop = bay.shop(Scripted([OPENING]))
    with monkeypatch.context() as broken:
        broken.setattr(bay.store, "put_draft", lambda *_: (_ for _ in ()).throw(OSError("no space left")))
        with pytest.raises(OSError, match="no space"):
            advance(bay.store, note, shop)
    assert unfinished(bay.store, shop) == [note]
    assert findings(bay.draft(advance(bay.store, note, shop))) == ["left front outer brake_pad"]


def test_a_signed_inspection_is_left_alone(bay: Bay) -> None:
    shop = bay.shop(Scripted([OPENING]))
    note = bay.note()
    inspection = advance(bay.store, note, shop)
    assert inspection is not None
    row = bay.store.inspection(inspection)
    assert row is not None
    draft = bay.draft(inspection)
    confirmed = [f.model_copy(update={"review": Review(state="confirmed")}) for f in draft.findings]
    signed = sign(draft.model_copy(update={"findings": tuple(confirmed)}), "Ana Cole", NOW)
    bay.store.sign(inspection, signed, row.version)
    assert redraft(bay.store, inspection, shop) is None
    photo = bay.photo()
    assert advance(bay.store, photo, shop) is None
    assert bay.store.signed(inspection) == signed
    assert [c.sha256 for c in bay.store.unassigned()] == [photo]


def test_finding_ids_are_the_same_when_drafted_again(bay: Bay) -> None:
    said = "Unit four one seven. Left front pads, outer six, inner five millimeters. Right side same."
    note = bay.note()
    inspection = advance(bay.store, note, bay.shop(Scripted([said])))
    before = [f.id for f in bay.draft(inspection).findings]
    photo = bay.photo()
    advance(bay.store, photo, bay.shop(Scripted([said])))
    after = [f.id for f in bay.draft(inspection).findings]
    assert before == after
    assert len(set(after)) == len(after) == 4


def test_the_plan_of_the_truck_says_what_is_still_missing(bay: Bay) -> None:
    tools = bay.shop(Scripted([OPENING]))
    truck = tools.settings.truck.model_copy(update={"plan": "light_truck"})
    tools = replace(
        tools, settings=tools.settings.model_copy(update={"truck": truck}), plans=shop_plans(tools.settings)
    )
    record = bay.draft(advance(bay.store, bay.note(), tools))
    assert record.plan_name == "light_truck"
    done = [item for item in record.plan if item.state == "done"]
    assert [item.words() for item in done] == ["left front outer brake pad thickness"]
    assert len(record.call_back) == len(record.plan) - 1 > 40


def test_a_truck_is_held_against_its_earlier_signed_records(bay: Bay) -> None:
    """The third inspection of a truck sees the two before it; another truck's does not."""
    drafts = []
    said = [("9", "2026-02"), ("8", "2026-05"), ("6", "2026-08")]
    words = {"9": "nine", "8": "eight", "6": "six"}
    for number, (value, month) in enumerate(said, start=1):
        name = f"{month.replace('-', '')}10T081500.wav"
        text = f"Starting inspection, unit four one seven. Left front outer pad, {words[value]} millimeters."
        inspection = advance(bay.store, bay.note(name, salt=number), bay.shop(Scripted([text])))
        drafts.append(bay.draft(inspection))
        _sign(bay, inspection)
    assert [len(draft.wear) for draft in drafts] == [0, 1, 1]
    (worn,) = drafts[-1].wear
    assert (worn.readings, worn.rate_per) == (2, "month")
    assert worn.sentence.startswith("2 mm less than on 2026-05-10 (8 mm).")


def _sign(bay: Bay, inspection: str | None) -> None:
    draft = bay.draft(inspection)
    decided = [
        f.model_copy(update={"review": Review(state="confirmed", by="Ana", at=NOW)}) for f in draft.findings
    ]
    signed = sign(draft.model_copy(update={"findings": tuple(decided)}), "Ana", NOW)
    row = bay.store.inspection(draft.inspection.id)
    assert row is not None
    bay.store.sign(row.id, signed, row.version)
