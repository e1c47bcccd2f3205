"""Clocks of camera and recorder that differ: learnt from readings and photos that agree in value."""

from bisect import bisect_right
from collections.abc import Sequence
from datetime import timedelta
from typing import NamedTuple

from pipelines.pairing.agreement import agreement, comparable
from pipelines.pairing.matching import trusted
from pipelines.pairing.moments import PairingRules, Photo, Said, is_difference

# So many photos of different values must agree at one difference of the clocks.
LEAST_PHOTOS = 3
# Between the words and the photo of one reading the time differs by no more than this from pair to pair.
SPREAD_S = 30.0


class Pair(NamedTuple):
    """A photo and a spoken reading of the same value, however far apart in time.

    Attributes:
        late_s: seconds by which the photo's clock shows a later time than the end of the words.
        photo: its place in the list.
        said: its place in the list.
    """

    late_s: float
    photo: int
    said: int


class Skew(NamedTuple):
    """How much a camera's clock is ahead of the recorder's.

    Attributes:
        ahead_s: seconds; negative when it is behind.
        photos: how many photos show it.
    """

    ahead_s: float
    photos: int


def learn_skew(said: Sequence[Said], photos: Sequence[Photo], rules: PairingRules) -> Skew | None:
    """The difference of the clocks; None when nothing proves one.

    It takes three photos of different values, each of which agrees with its own reading, all at the same
    difference; these must be most of the photos that were read surely. Another difference that explains half
    as many makes both worthless, and so do photos that fit without any.

    Args:
        said: spoken findings in time.
        photos: displays with a number in time.
        rules: how near is near.
    """
    sure = [place for place, photo in enumerate(photos) if trusted(photo)]
    if len(sure) < LEAST_PHOTOS:
        return None
    pairs = sorted(_agreeing(said, photos, sure))
    best = max(_windows(pairs), key=lambda window: _worth(window, photos), default=[])
    count, values = _worth(best, photos)
    if min(count, values) < LEAST_PHOTOS or 2 * count <= len(sure):
        return None
    middle = sorted(pair.late_s for pair in best)[len(best) // 2]
    if abs(middle) <= rules.close_s:
        return None
    others = [p for p in pairs if abs(p.late_s - middle) > SPREAD_S]
    rival = max((_worth(w, photos)[0] for w in _windows(others)), default=0)
    in_time = len({p.photo for p in others if abs(p.late_s) <= rules.close_s})
    if 2 * max(rival, in_time) >= count:
        return None
    return Skew(middle, count)


def _agreeing(said: Sequence[Said], photos: Sequence[Photo], sure: Sequence[int]) -> list[Pair]:
    pairs = []
    for s, one in enumerate(said):
        reading = one.spoken.reading
        if reading is None or is_difference(reading):
            continue
        for p in sure:
            shown = photos[p].shown
            if comparable(reading, shown.unit) and agreement(reading, shown) != "differs":
                pairs.append(Pair((photos[p].at - one.end).total_seconds(), p, s))
    return pairs


def _windows(pairs: Sequence[Pair]) -> list[Sequence[Pair]]:
    """The pairs of nearly one difference, starting from each."""
    times = [pair.late_s for pair in pairs]
    return [pairs[i : bisect_right(times, times[i] + SPREAD_S)] for i in range(len(pairs))]


def _worth(window: Sequence[Pair], photos: Sequence[Photo]) -> tuple[int, int]:
    """How many photos have a reading of their own, and how many different values these show."""
    shown = {pair.photo for pair in window}
    count = min(len(shown), len({pair.said for pair in window}))
    return count, len({photos[p].shown for p in shown})


def set_right(photos: Sequence[Photo], skew: Skew | None) -> list[Photo]:
    """The photos at the recorder's time."""
    if skew is None:
        return list(photos)
    return [photo._replace(at=photo.at - timedelta(seconds=skew.ahead_s)) for photo in photos]


def skew_notice(skew: Skew) -> str:
    """What was found about the clocks, for a person to check."""
    minutes, seconds = divmod(round(abs(skew.ahead_s)), 60)
    hours, minutes = divmod(minutes, 60)
    parts = [f"{n} {name}" for n, name in ((hours, "h"), (minutes, "min"), (seconds, "s")) if n]
    way = "ahead of" if skew.ahead_s > 0 else "behind"
    return (
        f"The camera's clock seems to be {' '.join(parts)} {way} the recorder's: at that difference"
        f" {skew.photos} photos show what was said, and all photos were paired by it. Set the clocks."
    )
