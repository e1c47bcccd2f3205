"""One finding as the page shows it, worked out before any markup."""

from collections.abc import Mapping

from models.capture import Capture
from models.frozen import Frozen
from models.places import Position
from models.record import Evidence, Finding, Suggestion, Verdict
from models.signing import DECIDED
from pipelines.review import words as w
from pipelines.review.case import shown
from pipelines.review.scale import Pointer

LEAD_S = 1.0
"""Sound starts this long before the words: times of words are good to about a second."""
TAIL_S = 0.7


class Sound(Frozen):
    """Words heard, with the sound they come from.

    Attributes:
        capture: sha256 of the recording.
        before: text in front of the words that give the value.
        marked: those words, exactly as heard; empty when they are not in the text letter by letter.
        behind: text behind them.
        start_s: where to start listening (seconds).
        end_s: where to stop.
    """

    capture: str
    before: str
    marked: str
    behind: str
    start_s: float
    end_s: float


class Picture(Frozen):
    """A photo and where on it the digits are.

    Attributes:
        capture: sha256 of the photo.
        name: the file's name.
        text: characters seen; empty for none.
        box: x, y, width, height of the digits in pixels; None when no place is known.
        crop: x, y, width, height of what is shown round the box.
    """

    capture: str
    name: str
    text: str
    box: tuple[int, int, int, int] | None = None
    crop: tuple[int, int, int, int] | None = None


class Choice(Frozen):
    """Another value, offered as one click."""

    value: str
    unit: str
    words: str
    weight: str


class FindingView(Frozen):
    """One finding as the page shows it.

    Attributes:
        id: of the finding.
        number: place in the walk-round, from 1.
        part: words for the part, with the spot on it.
        place: words for the place; empty when not known.
        measure: words for what was measured; empty without a number.
        value: number and unit.
        as_given: how it was said or shown.
        conditions: in words.
        action: in words, or empty.
        confidence: in words; empty where a person gave the value.
        attention: reasons to look.
        verdict: as judged.
        suggestions: what rules suggest in view of it.
        wear: what has become of it since earlier inspections, in sentences.
        scale: where it stands on a drawn axis, if there is something to draw.
        sounds: words heard.
        pictures: photos.
        choices: other values, best first.
        state: proposed, confirmed, corrected, rejected or added.
        state_words: the same in words.
        decided: who and when, in words; empty when nobody.
        reason: the reviewer's.
        seen: digest of what is shown.
        nameless: nobody has said which part this is.
    """

    id: str
    number: int
    part: str
    place: str
    measure: str
    value: str
    as_given: str
    conditions: tuple[str, ...]
    action: str
    confidence: str
    attention: tuple[str, ...]
    verdict: Verdict | None
    suggestions: tuple[Suggestion, ...]
    wear: tuple[str, ...]
    scale: Pointer | None
    sounds: tuple[Sound, ...]
    pictures: tuple[Picture, ...]
    choices: tuple[Choice, ...]
    state: str
    state_words: str
    decided: str
    reason: str
    seen: str
    nameless: bool

    @property
    def ref(self) -> str:
        """The end of the id, by which forms and links of the page name it."""
        return w.ref_of(self.id)

    @property
    def anchor(self) -> str:
        """Its place on the page."""
        return w.anchor(self.id)

    @property
    def given(self) -> str:
        """How it was said or shown, unless the words are marked or the digits told right beside it."""
        beside = any(s.marked for s in self.sounds) or self.as_given in {p.text for p in self.pictures}
        return "" if beside else self.as_given

    @property
    def open(self) -> bool:
        """Nobody has decided yet."""
        return self.state not in DECIDED


def _crop(box: tuple[int, int, int, int], photo: Capture | None) -> tuple[int, int, int, int]:
    x, y, width, height = box
    margin = max(height, 40)
    left, top = max(x - margin, 0), max(y - margin, 0)
    right, bottom = x + width + margin, y + height + margin
    if photo is not None and photo.width and photo.height:
        right, bottom = min(right, photo.width), min(bottom, photo.height)
    return left, top, max(right - left, 1), max(bottom - top, 1)


def _sound(evidence: Evidence, words: str) -> Sound:
    before, marked, behind = w.marked(evidence.text, words)
    start, end = evidence.start_s or 0.0, evidence.end_s or 0.0
    return Sound(
        capture=evidence.capture,
        before=before,
        marked=marked,
        behind=behind,
        start_s=round(max(start - LEAD_S, 0), 2),
        end_s=round(max(end, start) + TAIL_S, 2),
    )


def _picture(evidence: Evidence, photo: Capture | None) -> Picture:
    return Picture(
        capture=evidence.capture,
        name=photo.original_name if photo else "photo",
        text=evidence.text,
        box=evidence.box,
        crop=_crop(evidence.box, photo) if evidence.box else None,
    )


def _choices(finding: Finding) -> tuple[Choice, ...]:
    if finding.reading is None:
        return ()
    measure = finding.reading.measure
    now = (finding.reading.value, finding.reading.unit)
    others = [a for a in finding.alternatives if (a.value, a.unit) != now][:3]
    return tuple(
        Choice(
            value=f"{a.value:f}",
            unit=a.unit,
            words=w.value_words(a.value, a.unit, measure),
            weight=f"{a.weight:.0%}",
        )
        for a in others
    )


def finding_view(
    finding: Finding,
    number: int,
    captures: Mapping[str, Capture],
    scale: Pointer | None = None,
    wear: tuple[str, ...] = (),
) -> FindingView:
    """One finding, ready to be shown.

    Args:
        finding: with its review.
        number: its place in the walk-round, from 1.
        captures: sha256 -> capture, for names and sizes of photos.
        scale: where it stands on a drawn axis.
        wear: sentences about it.
    """
    review, reading = finding.review, finding.reading
    state = review.state if review else "proposed"
    given = reading.as_given if reading else ""
    decided = f"{review.by}, {w.time_words(review.at)}" if review and review.by and review.at else ""
    return FindingView(
        id=finding.id,
        number=number,
        part=Position(spot=finding.position.spot).of(w.part_words(finding)),
        place=finding.position.with_keys(spot=None).words(),
        measure=w.words_of(reading.measure) if reading else "",
        value=w.reading_words(reading) if reading else "",
        as_given=given,
        conditions=tuple(w.words_of(c) for c in finding.conditions),
        action=w.words_of(finding.action) if finding.action else "",
        confidence="" if state in {"corrected", "added"} else w.confidence_words(finding.confidence),
        attention=finding.attention,
        verdict=finding.verdict,
        suggestions=finding.suggestions,
        wear=wear,
        scale=scale,
        sounds=tuple(_sound(e, given) for e in finding.evidence if e.kind == "audio"),
        pictures=tuple(_picture(e, captures.get(e.capture)) for e in finding.evidence if e.kind == "photo"),
        choices=_choices(finding),
        state=state,
        state_words=w.state_words(state),
        decided=decided,
        reason=(review.reason or "") if review else "",
        seen=shown(finding),
        nameless=finding.component is None,
    )
