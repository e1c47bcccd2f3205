"""What a photo does to a finding: it confirms, contradicts, or stands alone and asks."""

from collections.abc import Sequence
from decimal import Decimal, InvalidOperation

from models.display import DisplayReading
from models.measures import GENERAL
from models.notes import Remark
from models.places import Position
from models.record import Alternative, Evidence, Finding, Reading
from models.units import unit
from pipelines.pairing.agreement import is_sure, slip
from pipelines.pairing.matching import Match, heard_otherwise, trusted
from pipelines.pairing.moments import Photo, Said, ago, in_words, seconds_apart
from pipelines.pairing.naming import Names
from pipelines.pairing.tire_age import age

# What a person is asked to check is never nearly sure.
_ASKED = 0.85


def _number(text: str) -> Decimal | None:
    try:
        value = Decimal(text)
    except InvalidOperation:
        return None
    return value if value.is_finite() else None


def _heard(said: Said) -> tuple[Evidence, ...]:
    """The words of the finding, then the sentences that go with it."""
    spoken = said.spoken
    words = Remark(text=spoken.text, start_s=spoken.start_s, end_s=spoken.end_s)
    return tuple(
        Evidence(kind="audio", capture=said.capture, text=one.text, start_s=one.start_s, end_s=one.end_s)
        for one in (words, *spoken.remarks)
    )


def _seen(display: DisplayReading) -> Evidence:
    return Evidence(kind="photo", capture=display.capture, text=display.text or "", box=display.box)


def from_words(said: Said, names: Names) -> Finding:
    """The finding as it was said, before any photo."""
    spoken = said.spoken
    measure = spoken.reading.measure if spoken.reading is not None else ""
    reading, doubts = spoken.reading, spoken.attention
    if spoken.date_code is not None:
        reading, doubt = age(spoken.date_code, said.start.date())
        doubts = (*doubts, doubt) if doubt else doubts
    return Finding(
        id=names.give(said.capture, "audio", spoken.start_s, (spoken.component, spoken.position, measure)),
        component=spoken.component,
        position=spoken.position,
        reading=reading,
        conditions=spoken.conditions,
        action=spoken.action,
        confidence=spoken.confidence,
        alternatives=spoken.alternatives,
        attention=doubts,
        evidence=_heard(said),
    )


def _shows(photo: Photo) -> str:
    """What the photo shows, said as surely as it was read."""
    value = in_words(photo.display.text, photo.shown.unit)
    if is_sure(photo.display):
        return f"shows {value}"
    why = f": {photo.display.reason}" if photo.display.reason else ""
    return f"seems to show {value} (not read with certainty{why})"


def _agreeing(finding: Finding, photo: Photo, first: bool) -> Finding:
    """A photo of the same value: evidence, and half of the doubt gone; it cannot vouch for the place."""
    confidence = finding.confidence
    if first and trusted(photo):
        confidence += (1 - confidence) * photo.display.confidence / 2
    update = {"evidence": (*finding.evidence, _seen(photo.display)), "confidence": confidence}
    return finding.model_copy(update=update)


def _doubted(finding: Finding, photo: Photo, sentence: str) -> Finding:
    """A photo that shows something else: both values stay, and a person decides."""
    reading = finding.reading
    code = photo.shown.unit or (reading.unit if reading is not None else "")
    other = Alternative(value=photo.shown.value, unit=code, weight=photo.display.confidence)
    return finding.model_copy(
        update={
            "evidence": (*finding.evidence, _seen(photo.display)),
            "confidence": finding.confidence * (1 - photo.display.confidence / 2),
            "alternatives": (other, *finding.alternatives),
            "attention": (*finding.attention, sentence),
        }
    )


def _disagreeing(finding: Finding, said: Said, photo: Photo) -> Finding:
    reading = finding.reading
    if reading is None:
        return finding
    kind = slip(reading, photo.shown)
    why = f"; {kind}" if kind else ""
    sentence = (
        f"{in_words(reading.value, reading.unit)} was heard, but the photo {photo.name} taken"
        f" {ago(said, photo)} {_shows(photo)}{why}: check which is right."
    )
    return _doubted(finding, photo, sentence)


def _otherwise_heard(finding: Finding, said: Said, photo: Photo) -> Finding:
    """The display shows another hearing of the same words: it decides, and says so."""
    other, reading = heard_otherwise(said, photo), finding.reading
    if other is None or reading is None:
        return finding
    if not trusted(photo):
        return _disagreeing(finding, said, photo)
    before = Alternative(value=reading.value, unit=reading.unit, weight=finding.confidence)
    rest = tuple(a for a in finding.alternatives if a != other)
    sentence = (
        f"Heard as {in_words(reading.value, reading.unit)} or {in_words(other.value, other.unit)}; the photo"
        f" {photo.name} taken {ago(said, photo)} {_shows(photo)}, so that value is taken: check it."
    )
    shown = in_words(photo.display.text, photo.shown.unit)
    return finding.model_copy(
        update={
            "reading": reading.model_copy(
                update={"value": other.value, "unit": other.unit, "as_given": shown}
            ),
            "evidence": (*finding.evidence, _seen(photo.display)),
            "confidence": min(_ASKED, (finding.confidence + other.weight) * photo.display.confidence),
            "alternatives": (before, *rest),
            "attention": (*finding.attention, sentence),
        }
    )


def _otherwise_seen(finding: Finding, said: Said, photo: Photo) -> Finding:
    reading = finding.reading
    if reading is None:
        return finding
    sentence = (
        f"The photo {photo.name} taken {ago(said, photo)} {_shows(photo)}; it can also be read as the"
        f" {in_words(reading.value, reading.unit)} that was heard: look at the photo."
    )
    return _doubted(finding, photo, sentence)


def put_in_doubt(finding: Finding, said: Said, photo: Photo, fits: Said) -> Finding:
    """A finding said just when a photo was taken that was given to another, distant one."""
    reading = finding.reading
    if reading is None:
        return finding
    apart = round(seconds_apart(fits, photo))
    sentence = (
        f"{in_words(reading.value, reading.unit)} was heard, and the photo {photo.name} taken"
        f" {ago(said, photo)} {_shows(photo)}, which fits what was said {apart} s away from it: check which"
        " reading it belongs to."
    )
    return finding.model_copy(update={"attention": (*finding.attention, sentence)})


def with_photo(finding: Finding, said: Said, photo: Photo, found: Match) -> Finding:
    """The finding after its photo was looked at.

    Args:
        finding: as it was said, or after an earlier photo.
        said: its words.
        photo: the photo that goes with it.
        found: on what ground.
    """
    if found.ground == "agrees":
        first = all(e.kind == "audio" for e in finding.evidence)
        return _agreeing(finding, photo, first)
    if found.ground == "other hearing":
        return _otherwise_heard(finding, said, photo)
    if found.ground == "other sight":
        return _otherwise_seen(finding, said, photo)
    return _disagreeing(finding, said, photo)


def _nearest(photo: Photo, said: Sequence[Said]) -> str:
    """What was said nearest in time that has a number, to help a person place the photo."""
    with_number = [s for s in said if s.spoken.reading is not None]
    if not with_number:
        return ""
    one = min(with_number, key=lambda s: seconds_apart(s, photo))
    place = one.spoken.position.words()
    part = f"{place} {one.spoken.component.replace('_', ' ')}".strip()
    return f" Nearest in time, the {part} was spoken of; the photo was taken {ago(one, photo)}."


def without_words(photo: Photo, said: Sequence[Said], names: Names) -> Finding | None:
    """A finding that asks for its place; None when not even the kind of quantity is known."""
    code = photo.shown.unit
    measure = GENERAL.get(unit(code).dimension) if code is not None else None
    if code is None or measure is None:
        return None
    sentence = f"Nobody said what this photo shows: {photo.name} {_shows(photo)}.{_nearest(photo, said)}"
    others = tuple(
        Alternative(value=value, unit=code, weight=a.weight)
        for a in photo.display.alternatives
        if (value := _number(a.text)) is not None
    )
    return Finding(
        id=names.give(photo.display.capture, "photo", 0.0, ("", Position(), measure)),
        component=None,
        reading=Reading(
            measure=measure, value=photo.shown.value, unit=code, as_given=in_words(photo.display.text, code)
        ),
        # The chance that component, place and value are all right: nobody named the component.
        confidence=0.0,
        alternatives=others,
        attention=(sentence,),
        evidence=(_seen(photo.display),),
    )
