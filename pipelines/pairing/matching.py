"""Which photo goes with which spoken reading, and on what ground."""

from collections.abc import Callable, Sequence
from decimal import Decimal, InvalidOperation
from typing import Literal, NamedTuple

from models.record import Alternative, Reading
from pipelines.pairing.agreement import Shown, agreement, comparable, is_sure, relative_difference, slip
from pipelines.pairing.assignment import best_pairs
from pipelines.pairing.moments import PairingRules, Photo, Said, fitting, is_difference, seconds_apart

Ground = Literal["agrees", "other hearing", "other sight", "disagrees"]

# Seconds that a photo in another unit than the spoken one counts as further away: few convert in their head.
_OTHER_UNIT_S = 5.0
# Seconds that a wholly different value counts as further away than an equal one.
_OTHER_VALUE_S = 60.0

Cost = Callable[[Said, Photo], float | None]


class Match(NamedTuple):
    """One photo with the spoken finding it belongs to (both as places in their lists), and why."""

    photo: int
    said: int
    ground: Ground


def heard_otherwise(said: Said, photo: Photo) -> Alternative | None:
    """The other hearing of a spoken reading that the display shows, if there is one."""
    reading = said.spoken.reading
    if reading is None:
        return None
    for other in said.spoken.alternatives:
        heard = reading.model_copy(update={"value": other.value, "unit": other.unit})
        if comparable(heard, photo.shown.unit) and agreement(heard, photo.shown) != "differs":
            return other
    return None


def _seen_otherwise(reading: Reading, photo: Photo) -> bool:
    """Whether another reading of the same display agrees with what was said."""
    for other in photo.display.alternatives:
        try:
            shown = Shown(Decimal(other.text), photo.shown.unit)
        except InvalidOperation:
            continue
        if agreement(reading, shown) != "differs":
            return True
    return False


def _costs(rules: PairingRules) -> dict[Ground, Cost]:
    """For each ground the cost of a pair in seconds; None where the ground is not given."""

    def near(said: Said, photo: Photo, reading: Reading) -> float:
        return seconds_apart(said, photo) + (0.0 if photo.shown.unit == reading.unit else _OTHER_UNIT_S)

    def agrees(said: Said, photo: Photo) -> float | None:
        reading = fitting(said, photo, rules.window_s)
        same = reading is not None and agreement(reading, photo.shown) != "differs"
        return near(said, photo, reading) if reading is not None and same else None

    def other_hearing(said: Said, photo: Photo) -> float | None:
        reading = fitting(said, photo, rules.window_s)
        if reading is None or is_difference(reading) or heard_otherwise(said, photo) is None:
            return None
        return near(said, photo, reading)

    def other_sight(said: Said, photo: Photo) -> float | None:
        reading = fitting(said, photo, rules.window_s)
        if reading is None or is_difference(reading) or not _seen_otherwise(reading, photo):
            return None
        return near(said, photo, reading)

    def disagrees(said: Said, photo: Photo) -> float | None:
        reading = fitting(said, photo, rules.close_s)
        if reading is None or is_difference(reading):
            return None
        share = relative_difference(reading, photo.shown)
        like = photo.shown.unit is not None and share <= rules.like_size
        like = like or slip(reading, photo.shown) is not None
        if not like and seconds_apart(said, photo) > rules.at_once_s:
            return None
        return near(said, photo, reading) + _OTHER_VALUE_S * min(share, 1.0)

    return {
        "agrees": agrees,
        "other hearing": other_hearing,
        "other sight": other_sight,
        "disagrees": disagrees,
    }


def match(said: Sequence[Said], photos: Sequence[Photo], rules: PairingRules) -> list[Match]:
    """The best pairs, ground by ground: agreement first, then other hearings and sights, then contradiction.

    Within a ground as many photos as possible find a reading, nearest in sum. Each reading gets one photo;
    further photos of the same value near it are added to it afterwards.

    Args:
        said: spoken findings in time.
        photos: displays with a number in time.
        rules: how near is near.
    """
    matches: list[Match] = []
    free_photos, free_said = set(range(len(photos))), set(range(len(said)))
    costs = _costs(rules)
    for ground, cost in costs.items():
        allowed = {}
        for p in free_photos:
            for s in free_said:
                seconds = cost(said[s], photos[p])
                if seconds is not None:
                    allowed[p, s] = seconds
        for p, s in best_pairs(allowed).items():
            matches.append(Match(p, s, ground))
            free_photos.discard(p)
            free_said.discard(s)
        if ground == "agrees":
            again = _again(said, photos, free_photos, free_said, costs["agrees"])
            matches.extend(again)
            free_photos -= {m.photo for m in again}
    return sorted(matches)


def _again(
    said: Sequence[Said],
    photos: Sequence[Photo],
    free_photos: set[int],
    free_said: set[int],
    agrees: Cost,
) -> list[Match]:
    """Further photos of a value that has its photo already."""
    found = []
    for p in sorted(free_photos):
        near = [
            (c, s)
            for s in range(len(said))
            if s not in free_said and (c := agrees(said[s], photos[p])) is not None
        ]
        if near:
            found.append(Match(p, min(near)[1], "agrees"))
    return found


def passed_over(
    said: Sequence[Said], photos: Sequence[Photo], matches: Sequence[Match], rules: PairingRules
) -> list[Match]:
    """Readings said just when a photo was taken that fits a reading said long before or after instead.

    The photo may belong to the one near it, which would then be wrong.
    """
    with_photo = {m.said for m in matches}
    found = []
    for m in matches:
        if m.ground != "agrees" or seconds_apart(said[m.said], photos[m.photo]) <= rules.close_s:
            continue
        for s, one in enumerate(said):
            reading = fitting(one, photos[m.photo], rules.at_once_s)
            if s not in with_photo and reading is not None and not is_difference(reading):
                found.append(Match(m.photo, s, "disagrees"))
    return found


def trusted(photo: Photo) -> bool:
    """Whether the photo may confirm or overrule what was heard."""
    return is_sure(photo.display) and photo.shown.unit is not None
