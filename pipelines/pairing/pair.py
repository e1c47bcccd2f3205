"""Spoken findings and display readings, brought together as findings of the record."""

from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta

from models.capture import Capture
from models.display import DisplayReading
from models.frozen import Frozen
from models.notes import SpokenNotes
from models.record import Finding, Odometer, Reading
from models.units import unit
from pipelines.pairing.agreement import agreement, comparable
from pipelines.pairing.clocks import Skew, learn_skew, set_right, skew_notice
from pipelines.pairing.cues import unfulfilled
from pipelines.pairing.findings import from_words, put_in_doubt, with_photo, without_words
from pipelines.pairing.matching import match, passed_over
from pipelines.pairing.moments import (
    PairingRules,
    Photo,
    Said,
    in_words,
    photos_in_time,
    said_in_time,
    seconds_apart,
)
from pipelines.pairing.naming import Names
from pipelines.pairing.tire_age import codes_in_time, with_codes


class Paired(Frozen):
    """The outcome of pairing.

    Attributes:
        findings: in order of time.
        notices: plain sentences about photos that became no finding, and about clocks.
    """

    findings: tuple[Finding, ...]
    notices: tuple[str, ...] = ()


def _odometer_notice(photo: Photo, odometer: Odometer) -> str | None:
    """What a photo says about the odometer that was said; None when it shows no distance."""
    code = photo.shown.unit
    said = Reading(measure="odometer", value=odometer.value, unit=odometer.unit, as_given="")
    if code is None or unit(code).dimension != "distance" or not comparable(said, code):
        return None
    shown, heard = in_words(photo.display.text, code), in_words(odometer.value, odometer.unit)
    if agreement(said, photo.shown) != "differs":
        return f"{photo.name} shows the odometer as it was said: {shown}."
    return f"The odometer was heard as {heard}, but {photo.name} shows {shown}: check which is right."


def _clock_notice(photos: Sequence[Photo], said: Sequence[Said], window_s: float) -> list[str]:
    if not photos or not said:
        return []
    if any(seconds_apart(s, p) <= window_s for p in photos for s in said):
        return []
    near = f"No photo was taken within {window_s:.0f} s of anything said"
    return [f"{near}: compare the clocks of camera and recorder."]


def _taken(captures: Sequence[Capture], skew: Skew | None) -> list[datetime]:
    """When each photo was taken, by the recorder's clock, read or not."""
    ahead = timedelta(seconds=skew.ahead_s if skew is not None else 0.0)
    return [c.captured_at - ahead for c in captures if c.kind == "photo"]


def pair(
    captures: Sequence[Capture],
    notes: Sequence[SpokenNotes],
    displays: Sequence[DisplayReading],
    rules: PairingRules | None = None,
    prints: Mapping[str, Sequence[str]] | None = None,
) -> Paired:
    """Findings from what was said and what was photographed.

    A photo belongs to the spoken reading near in time whose unit and value fit. Where one value is a rounding
    of the other the spoken one stays and its confidence rises. Where it contradicts a reading near in time
    both values stay and the finding says so. Where it shows another hearing of the same words, that hearing
    is taken, and the finding says so. A photo that belongs to nothing said becomes a finding that asks for
    its place.

    Args:
        captures: every file of the inspection.
        notes: of its audio files; their captures must be among ``captures``.
        displays: of its photos; likewise.
        rules: how near in time is near.
        prints: printed lines of photos without a display, by sha256: a tire's number ends with its date code.
    """
    rules = rules or PairingRules()
    by_hash = {c.sha256: c for c in captures}
    said, photos = said_in_time(by_hash, notes, rules), photos_in_time(by_hash, displays)
    skew = learn_skew(said, photos, rules)
    photos = set_right(photos, skew)
    names = Names()
    findings = [from_words(one, names) for one in said]
    matches = match(said, photos, rules)
    for found in matches:
        findings[found.said] = with_photo(findings[found.said], said[found.said], photos[found.photo], found)
    belongs = {m.photo: m.said for m in matches}
    for doubt in passed_over(said, photos, matches, rules):
        fits = said[belongs[doubt.photo]]
        findings[doubt.said] = put_in_doubt(findings[doubt.said], said[doubt.said], photos[doubt.photo], fits)
    timed: list[tuple[datetime, Finding]] = [(s.start, f) for s, f in zip(said, findings, strict=True)]
    notices = [
        f"{by_hash[d.capture].original_name} shows {d.text}, which is no number."
        for d in displays
        if d.text is not None and d.value is None
    ]
    odometer = next((n.odometer for n in notes if n.odometer is not None), None)
    for place, photo in enumerate(photos):
        if place in belongs:
            continue
        about = _odometer_notice(photo, odometer) if odometer is not None else None
        alone = without_words(photo, said, names) if about is None else None
        if alone is not None:
            timed.append((photo.at, alone))
        else:
            shown = in_words(photo.display.text, photo.shown.unit)
            notices.append(
                about or f"{photo.name} shows {shown}, and nothing said near it fits: say what it is."
            )
    codes = codes_in_time(by_hash, prints or {})
    timed = with_codes(timed, codes, names)
    timed.sort(key=lambda item: item[0])
    notices += _clock_notice(photos, said, rules.window_s)
    notices += [skew_notice(skew)] if skew is not None else []
    notices += unfulfilled(by_hash, notes, _taken(captures, skew), rules)
    return Paired(findings=tuple(f for _, f in timed), notices=tuple(notices))
