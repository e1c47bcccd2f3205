"""Drawn sentences of an inspection and the talk around it.

The names of parts, measures, conditions and actions come from the shop's vocabulary, so that another
vocabulary gives another language of the shop.
"""

from collections.abc import Callable
from functools import partial
from random import Random

from pipelines.speech.training import manners
from pipelines.speech.training.names import Names
from pipelines.speech.training.phrases import AGAIN, CORRECTIONS, LEADS, PLACES, SHORT_PLACES, STARTERS
from pipelines.speech.training.readings import (
    BY_MEASURE,
    READINGS,
    inch_fraction,
    pressure,
    temperature,
    tread,
)
from pipelines.speech.training.saying import Said, integer, join, one_by_one, plain, whole
from pipelines.speech.training.talk import talk


class Speaker(Names):
    """Draws sentences with one random generator."""

    def sentence(self) -> Said:
        """One sentence, capitalised, with its full stop."""
        rng = self.rng
        kinds: dict[Callable[[], Said], int] = {
            self._reading: 34,
            self._places: 10,
            self._condition: 16,
            self._correction: 6,
            self._numbers: 8,
            self._digits: 14,
            self._hold: 3,
            self._tread: 6,
            self._behind: 6,
            self._split: 2,
            self._lone: 9,
            self._points: 2,
            self._opening: 5,
            self._same: 3,
            self._list: 14,
            self._complaint: 3,
            self._area: 10,
            self._loose_words: 9,
            self._fine: 9,
            self._short: 4,
            self._talk: 14,
            **{partial(way, self): weight for way, weight in manners.WAYS.items()},
        }
        make = rng.choices(list(kinds), list(kinds.values()))[0]
        return _finished(make(), rng)

    def _reading(self) -> Said:
        rng = self.rng
        part, named = self.named()
        said = join(
            (named, self.value(part)),
            rng.choice((" ", " ", ", ", ", ", ". ", " is ", " at ", " reads ", " measures "))
            + rng.choice(LEADS[:6] if rng.random() < 0.6 else LEADS),
        )
        if rng.random() < 0.3:
            said = join((said, self.state()), rng.choice((", ", ". ")))
        return join((plain(rng.choice(STARTERS)), said), "")

    def _places(self) -> Said:
        """A part once, then places with their readings."""
        rng = self.rng
        part, named = self.named()
        axes = [axis for axis in part.axes if PLACES[axis]] or ["side"]
        axis = rng.choice(axes)
        draw = (
            rng.choice(BY_MEASURE[next(iter(part.measures))])
            if next(iter(part.measures), "") in BY_MEASURE
            else rng.choice(READINGS)
        )
        places = ("left front", "right front", "left rear", "right rear") if axis == "axle" else PLACES[axis]
        rows = [join((plain(place), draw(rng))) for place in rng.sample(places, 2)]
        return join((named, join(rows, rng.choice((", ", ". ")))), rng.choice((". ", ", ", " ")))

    def _list(self) -> Said:
        """Places with bare values: "left outer eight, left inner seven"."""
        rng = self.rng
        draw = rng.choice(READINGS)
        rows = [
            join((plain(place + " " + rng.choice(LEADS[:8])), draw(rng)), "")
            for place in rng.sample(SHORT_PLACES, rng.choice((1, 2, 3)))
        ]
        return join(rows, rng.choice((", ", ". ", ". ")))

    def _area(self) -> Said:
        """A heading: "Tires.", "Front brakes now.", and often the first place with its value."""
        rng = self.rng
        parts = [part.words[0] + "s" for part in self.parts]
        area = rng.choice(self.vocabulary.areas if rng.random() < 0.7 else parts)
        heading = plain(rng.choice(("", "", "front ", "rear ", "on to the ", "next, ", "now the ")) + area)
        if rng.random() < 0.5:
            return heading
        return join((heading, self._list()), ". ")

    def _fine(self) -> Said:
        """What is in order; a bare word behind a part or a place."""
        rng = self.rng
        named = self.named()[1] if rng.random() < 0.7 else plain(rng.choice(SHORT_PLACES))
        state = self.words(self.vocabulary.conditions["ok"])
        if rng.random() < 0.35:
            state = plain(rng.choice(("fine", "okay", "good", "tight", "dry", "both fine")))
        return join((named, state), rng.choice((" ", ", ", " is ")))

    def _loose_words(self) -> Said:
        """Words in no order, so that the ear is not led by what usually follows."""
        rng = self.rng
        fillers = [word for words in self.vocabulary.fillers.values() for word in words]
        cues = ("aside", "opening", "correction", "limit_talk")
        asides = [word for cue in cues for word in self.vocabulary.cues[cue]]
        names = [word for part in self.parts for word in part.words]
        pools = (fillers, fillers, asides, names, self.vocabulary.conditions["ok"], talk(rng).split())
        return plain(" ".join(rng.choice(rng.choice(pools)) for _ in range(rng.randint(2, 7))))

    def _complaint(self) -> Said:
        rng = self.rng
        state = self.words(rng.choice(list(self.vocabulary.conditions.values())))
        cue = rng.choice(self.vocabulary.cues["complaint"])
        said = join((self.part()[1], state))
        return join((said, plain(cue)) if rng.random() < 0.5 else (plain(cue), said))

    def _condition(self) -> Said:
        rng = self.rng
        _, named = self.named()
        said = join((named, self.state()), rng.choice((" is ", ", ", " ", " looks ", "'s ")))
        return join((plain(rng.choice(STARTERS)), said), "")

    def _correction(self) -> Said:
        rng = self.rng
        _, named = self.named()
        draw = rng.choice(READINGS)
        first, second = draw(rng), draw(rng)
        mended = join((plain(rng.choice(CORRECTIONS)), second))
        return join((join((named, first)), mended), rng.choice((". ", ", ")))

    def _numbers(self) -> Said:
        """Readings alone."""
        rng = self.rng
        draw = rng.choice(READINGS)
        return join([draw(rng) for _ in range(rng.choice((1, 1, 1, 2, 2, 3)))], rng.choice((", ", ". ", " ")))

    def _digits(self) -> Said:
        """Digits read singly or in pairs, as for a unit, a stock or a date code."""
        rng = self.rng
        text = "".join(rng.choice("0123456789") for _ in range(rng.choice((1, 1, 2, 3, 3, 4, 4, 5, 6, 7))))
        spoken = one_by_one(text, rng)
        if (
            len(text) in (4, 6)
            and rng.random() < 0.35
            and all(text[i] != "0" for i in range(0, len(text), 2))
        ):
            spoken = " ".join(whole(int(text[i : i + 2])) for i in range(0, len(text), 2))
        lead = rng.choice(
            ("", "", "", "unit ", "enter ", "number ", "code ", "part number ", "stock number ", "odometer ")
        )
        return Said(lead + spoken, lead + spoken, lead + text)

    def _hold(self) -> Said:
        rng = self.rng
        _, named = self.named()
        minutes = integer(rng.choice((2, 5, 10, 10, 15, 20)), rng)
        begun = plain(rng.choice((" pumped to ", " pressurized to ", " up to ")))
        held = plain(rng.choice((", after ", ". After ", ", held for ", ", waited ")))
        then = plain(" minutes" + rng.choice((" it's at ", ", dropped to ", ", down to ", ", holding at ")))
        return join((named, begun, pressure(rng), held, minutes, then, pressure(rng)), "")

    def _tread(self) -> Said:
        rng = self.rng
        place = rng.choice(
            ("left front", "right front", "left rear", "right rear", "left rear outer", "axle two right")
        )
        spots = rng.choice(
            (("outside", "middle", "inside"), ("inside", "center", "outside"), ("outer edge", "inner edge"))
        )
        depths = [tread(rng) for _ in spots]
        if rng.random() < 0.4:
            # The unit once, then bare numbers.
            depths[1:] = [integer(rng.randint(1, 20), rng) for _ in spots[1:]]
        behind = rng.random() < 0.4
        pairs = [(d, plain(s)) if behind else (plain(s), d) for s, d in zip(spots, depths, strict=True)]
        rows = join([join(pair) for pair in pairs], ", ")
        return join(
            (plain(f"{place} tire" if rng.random() < 0.7 else f"{place}"), rows),
            rng.choice((", ", ". ", " tread ")),
        )

    def _behind(self) -> Said:
        """Values before their places: "nine millimeters outer, eight inner"."""
        rng = self.rng
        places = rng.choice((("outer", "inner"), ("left", "right"), ("front", "rear"), ("upper", "lower")))
        first, second = rng.choice((places, places[::-1]))
        draw = rng.choice(READINGS)
        rows = [join((draw(rng), plain(rng.choice(("", "on the ", "at the ")) + place)))
                for place in (first, second)[: rng.choice((1, 2, 2))]]  # fmt: skip
        named = self.named()[1] if rng.random() < 0.6 else plain("")
        return join((named, join(rows, rng.choice((", ", ", ", " and ")))), ", " if named.say else "")

    def _split(self) -> Said:
        """A difference of two temperatures, told with them or alone."""
        rng = self.rng
        split = integer(rng.randint(1, 40), rng)
        told = rng.choice((("that's a", "degree split"), ("so a", "degree difference"), ("", "degree split")))
        said = join((plain(told[0]), split, plain(told[1])))
        if rng.random() < 0.5:
            return said
        return join((self.named()[1], temperature(rng), temperature(rng), said), ", ")

    def _lone(self) -> Said:
        """One number or one short word by itself."""
        rng = self.rng
        if rng.random() < 0.6:
            return integer(rng.choice((rng.randint(0, 9), rng.randint(0, 12), rng.randint(10, 99))), rng)
        words = rng.choice((talk(rng), *SHORT_PLACES, *self.vocabulary.conditions["ok"])).split()
        return plain(" ".join(words[: rng.choice((1, 1, 2))]))

    def _points(self) -> Said:
        rng = self.rng
        draw = rng.choice(BY_MEASURE["thickness"])
        points = join([draw(rng) for _ in range(rng.choice((3, 4)))], ", ")
        return join((self.named()[1], plain("at four points"), points), ", ")

    def _opening(self) -> Said:
        rng = self.rng
        number = integer(
            rng.choice((rng.randint(2, 99), rng.randint(100, 999), rng.randint(1000, 9999))), rng
        )
        if rng.random() < 0.35:
            miles = rng.randint(1000, 399999)
            odometer = Said(whole(miles), whole(miles), f"{miles:,}" if rng.random() < 0.5 else str(miles))
            reads = plain(rng.choice(("odometer", "mileage", "odometer reads", "it's got")))
            return join((reads, odometer, plain(rng.choice(("", "miles")))))
        lead = rng.choice(
            (
                "unit",
                "truck",
                "starting the inspection on unit",
                "this is unit",
                "inspection on truck",
                "end of inspection, unit",
                "work order",
            )
        )
        return join((plain(lead), number))

    def _same(self) -> Said:
        return plain(self.rng.choice(AGAIN))

    def _short(self) -> Said:
        """A single word or two, as in lists."""
        rng = self.rng
        if rng.random() < 0.4:
            return self.words(rng.choice(list(self.vocabulary.conditions.values())))
        if rng.random() < 0.5:
            return self.words(rng.choice(list(self.vocabulary.actions.values())))
        return self.named()[1]

    def _talk(self) -> Said:
        rng = self.rng
        if rng.random() < 0.12:
            said = join(
                (
                    plain(rng.choice(("photo of the", "taking a picture of the", "picture of the"))),
                    self.part()[1],
                )
            )
            return said
        if rng.random() < 0.15:
            draw = rng.choice((inch_fraction, pressure, temperature))
            return join(
                (
                    plain(rng.choice(("spec is", "minimum is", "limit's", "supposed to be", "should be"))),
                    draw(rng),
                )
            )
        return plain(talk(rng))


def _texts(said: Said) -> tuple[str, str, str]:
    return said.say, said.words, said.digits


def _finished(said: Said, rng: Random) -> Said:
    end = "." if rng.random() < 0.95 else ""
    return Said(*(_sentence(text) + end for text in _texts(said)))


def _sentence(text: str) -> str:
    """Capitals where a sentence begins, single blanks."""
    pieces = [piece.strip() for piece in " ".join(text.split()).rstrip(" ,.").split(". ")]
    return ". ".join(piece[:1].upper() + piece[1:] for piece in pieces if piece)
