"""Reads one hypothesis: a walk over its items that keeps the context and states claims."""

import re
from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

from models.places import Position
from models.vocabulary import Vocabulary
from pipelines.notes import context, repeats
from pipelines.notes.binding import choose
from pipelines.notes.claims import Claim, Heading
from pipelines.notes.frame import Frame, Places, places_of
from pipelines.notes.heading import read_heading
from pipelines.notes.items import Item, items
from pipelines.notes.lexicon import Lexicon
from pipelines.notes.numbers import NumberSpan

# A name that sounds less alike than this is asked about.
SURE_NAME = 0.86
# The weight of a reading that its part cannot have.
IMPOSSIBLE = 0.1
PLAYS = ("play", "axial_play", "radial_play", "end_play", "free_play")
_TOWARDS = re.compile(r"\b(?:at|from|on|around|by|in|off|of|behind)\s+(?:the|that|this|its|a)?\s*$", re.I)
_NO_PLAY = re.compile(r"\b(?:no|zero|without)\b.*\b(?:play|movement|slop)\b", re.I)
_INCH = "[in_i]"
# Without a header for so many parts, a side that was not said is asked for.
_OLD_HEADER = 3


class Reader:
    """Reads one text; make a new one for each."""

    def __init__(
        self,
        text: str,
        frame: Frame,
        lexicon: Lexicon,
        vocabulary: Vocabulary,
        pauses: Sequence[int] = (),
    ) -> None:
        """Start reading `text` in the context of `frame`, which is not changed.

        Args:
            text: as heard.
            frame: the context so far.
            lexicon: finds names.
            vocabulary: what can be said of what.
            pauses: offsets at which the speaker paused.
        """
        self.text, self.vocabulary = text, vocabulary
        self.frame = frame.copy()
        self.row = items(text, lexicon, pauses)
        self.claims: list[Claim] = []
        self.pending: list[Item] = []  # place words whose part has not come yet
        self.taken: set[int] = set()  # items that the heading or a cue used up
        self.measure_here = False  # the measure was named in this sentence
        self.muted = ""  # up to where nothing counts: an aside, a complaint, talk about a limit
        self.named_here = False  # the part was named in this sentence
        self.sentence_start = 0
        self.heading = Heading()

    def read(self) -> tuple[list[Claim], Frame, Heading]:
        """The claims in order, the context behind the text, and what was said of the inspection itself."""
        self.heading, self.taken = read_heading(self.text, self.row)
        self.frame.unit_name = self.frame.unit_name or self.heading.unit or ""
        i = 0
        while i < len(self.row):
            if i in self.taken:
                i += 1
                continue
            i = self._step(i)
        return self.claims, self.frame, self.heading

    # -- the walk

    def _step(self, i: int) -> int:
        item = self.row[i]
        if item.is_break:
            self._break(item)
        elif mutes := self._mutes(i):
            self.muted = mutes
        elif self.muted:
            pass
        elif item.number is not None:
            self._number(i)
        elif item.named("place"):
            return self._place_run(i)
        elif item.named("component"):
            self._component(i)
        else:
            self._word(i)
        return i + 1

    def _word(self, i: int) -> None:
        item = self.row[i]
        if item.named("area"):
            self.frame.note_header(places_of(self.pending, None))
            self.pending = []
        elif item.named("measure"):
            self._measure(i)
        elif item.named("condition"):
            self._condition(i)
        elif item.named("action"):
            self._statement(i, "action")
        elif item.named("cue"):
            self._cue(i)

    def _break(self, item: Item) -> None:
        if item.strong or self.muted != "sentence" or self._part_follows(item):
            self.muted = ""
        if item.strong:
            self.named_here = self.measure_here = False
            self.sentence_start = item.end
            if self.frame.content:
                self.frame.both = None

    def _part_follows(self, comma: Item) -> bool:
        """Whether the segment behind a comma names a part: an aside does not go on there."""
        for item in self.row[self.row.index(comma) + 1 :]:
            if item.is_break:
                return False
            if item.named("component"):
                return True
        return False

    def _mutes(self, i: int) -> str:
        """How far nothing counts from here: an aside to the end of its sentence, talk about a limit to a comma."""
        item = self.row[i]
        if item.cue("aside") and self._starts_segment(i) or item.cue("ending"):
            return "sentence"
        if item.cue("limit_talk") and not item.named("measure") or item.cue("complaint"):
            return "segment"
        return ""

    def _starts_segment(self, i: int) -> bool:
        start = self.row[i - 1].end if i else 0
        return (i == 0 or self.row[i - 1].is_break) and len(self.text[start : self.row[i].start].split()) <= 2

    def _near(self, i: int, step: int) -> Item | None:
        j = i + step
        while 0 <= j < len(self.row):
            if j not in self.taken and not self.row[j].cue("hedge"):
                return self.row[j]
            j += step
        return None

    # -- names

    def _component(self, i: int) -> None:
        item = self.row[i]
        label = item.named("component")
        assert label is not None
        frame, part = self.frame, self.vocabulary.components[label.name]
        places = places_of(self.pending, part)
        self.pending = []
        self.named_here = True
        if item.weight < 1:
            self.frame.named_as = self.text[item.start : item.end]
        frame.note_header(places)
        if self._moves_last_condition(item, label.name, places):
            return
        if frame.component == label.name and not frame.content and not places:
            if not self.measure_here:
                frame.measure = None
        else:
            if frame.content:
                frame.both = None
            measure = frame.measure if self.measure_here else None
            frame.start(label.name, places, item.weight)
            frame.measure = measure if measure in part.measures else None
        measure = item.named("measure")
        if measure is not None and measure.name in part.measures:
            frame.measure = measure.name

    def _moves_last_condition(self, item: Item, component: str, places: Places) -> bool:
        """ "leak at the water pump": the condition said just before belongs to this part."""
        last = self.claims[-1] if self.claims else None
        if last is None or last.kind != "condition":
            return False
        between = self.text[last.end : item.start]
        if re.search(r"[.?!,;]", between) or not _TOWARDS.search(re.sub(r"\b(?:left|right|front|rear|upper|lower|inner|outer)\b", "", between, flags=re.I).rstrip() + " "):
            return False
        self.frame.start(component, places, item.weight)
        part = self.vocabulary.components[component]
        self.claims[-1] = replace(
            last, component=component, position=self.frame.position(part), group=self.frame.group
        )
        self.frame.content = True
        return True

    def _place_run(self, i: int) -> int:
        """Place words in a row: they belong to what is before or behind them."""
        j = i
        while j < len(self.row) and self.row[j].named("place"):
            j += 1
        run = self.row[i:j]
        before = self.row[i - 1] if i else None
        after = self.row[j] if j < len(self.row) else None
        behind = after is not None and after.is_break and self.row[j + 1] if j + 1 < len(self.row) else None
        opens = before is None or before.is_break
        if after is not None and (after.named("component") or after.named("area")):
            self.pending = run
        elif after is not None and (after.cue("same") or after.cue("both")):
            self.pending = run
        elif before is not None and before.cue("same"):
            repeats.same(self, places_of(run, self.frame.part(self.vocabulary)), run[-1].end)
        elif self.frame.correcting:
            self._correct_place(run)
        elif opens and after is not None and after.is_break and behind and behind.named("component") and after.strong:
            self.frame.note_header(places_of(run, None))
            self.pending = run
        else:
            self._attach(run, before, after, opens)
        return j

    def _attach(self, run: list[Item], before: Item | None, after: Item | None, opens: bool) -> None:
        frame = self.frame
        part = frame.part(self.vocabulary)
        places = places_of(run, part)
        if part is not None and "index" in part.axes:
            self._diagonal(places)
            return
        frame.note_header(places)
        if part is None or not any(axis in part.axes for axis in places):
            if opens:
                self.pending = run if part is None else []
            return
        to_number = after is not None and after.number is not None
        clashes = any(axis in frame.explicit() for axis in places)
        follows_number = before is not None and before.number is not None
        if not frame.content:
            frame.places.update(places)
        elif (follows_number or not opens) and not clashes and (frame.number_first or not to_number):
            frame.places.update(places)
            self._place_last(places, part.axes)
        else:
            frame.again(places)

    def _place_last(self, places: Places, axes: tuple[str, ...]) -> None:
        """Give a place to what was just said."""
        fitting = {axis: value for axis, value in places.items() if axis in axes}
        for k in range(len(self.claims) - 1, -1, -1):
            if self.claims[k].group != self.frame.group:
                break
            self.claims[k] = replace(self.claims[k], position=self.claims[k].position.with_keys(**fitting))
        if self.frame.number_first and self.frame.last is not None and self.claims:
            self.frame.last = self.claims[-1]
        if self.frame.number_first:
            # The next number of the list is about another place.
            self.frame.group += 1
            for axis in ("face", "spot"):
                self.frame.places.pop(axis, None)
            self.frame.content = False

    def _diagonal(self, places: Places) -> None:
        """Corner to corner: 1 is left-front to right-rear, 2 the other."""
        side, axle = places.get("side"), places.get("axle")
        if "index" in self.frame.places and not self.frame.content:
            return
        if side is None or axle is None:
            return
        index = 1 if (side == "left") == (axle == "front") else 2
        if self.frame.content:
            self.frame.again({})
        self.frame.places = {"index": index}

    # -- measures and numbers

    def _measure(self, i: int) -> None:
        frame = self.frame
        labels = [label for label in self.row[i].labels if label.kind == "measure"]
        part = frame.part(self.vocabulary)
        fitting = next((m.name for m in labels if part and m.name in part.measures), None)
        if fitting is None:
            self._implied(labels[0].name, i)
            return
        last = self.claims[-1] if self.claims else None
        before, after = self._near(i, -1), self._near(i, 1)
        closes = before is not None and before.number is not None and (after is None or after.number is None)
        if closes and last is not None and last.kind == "reading" and last.group == frame.group:
            assert part is not None
            if last.unit in part.measures[fitting] or last.measure in PLAYS and fitting in PLAYS:
                self.claims[-1] = replace(last, measure=fitting)
                frame.last = self.claims[-1]
            return
        frame.measure = fitting
        self.measure_here = True

    def _implied(self, measure: str, i: int) -> None:
        """A measure that the part at hand has not: it names another part, if only one has it."""
        owners = [name for name, part in self.vocabulary.components.items() if measure in part.measures]
        before = self._near(i, -1)
        if len(owners) != 1:
            return
        self.frame.start(owners[0], places_of(self.pending, self.vocabulary.components[owners[0]]), 0.9)
        self.pending = []
        self.frame.measure = measure
        last = self.claims[-1] if self.claims else None
        if before is not None and before.number is not None and last is not None and last.end == before.end:
            # "four degree split": the number came first
            gone = self.claims.pop()
            self.frame.read.discard(f"{gone.component}/{gone.position.words()}/{gone.measure}")
            self._take(before)

    def _number(self, i: int) -> None:
        item = self.row[i]
        before = self._near(i, -1)
        if not self.frame.content and not self.frame.correcting:
            self.frame.number_first = before is None or not before.named("place")
        hedged = i > 0 and self.row[i - 1].cue("hedge")
        ahead = self.row[i + 1] if i + 1 < len(self.row) else None
        beyond = self.row[i + 2] if i + 2 < len(self.row) else None
        measure = ahead.named("measure") if ahead is not None else None
        if beyond is not None and beyond.number is not None:
            measure = None  # "12.45 cold cranking 610": the measure is the next number's
        self._take(item, measure.name if measure else None, hedged)

    def _take(self, item: Item, ahead: str | None = None, hedged: bool = False) -> None:
        """State a number about the part at hand."""
        frame, span = self.frame, item.number
        part = frame.part(self.vocabulary)
        assert span is not None
        if not span.readings:
            self._doubt_last("A part of an inch was said here that could not be read.")
            return
        if self._is_unit_name(span):
            return
        if part is None or frame.component is None:
            self._orphan(item)
            return
        hint = self._hint(ahead, part.measures.keys(), item)
        choice = choose(span, part, hint, frame.scale, frame.units.get(f"{frame.component}/{hint}"))
        if (choice is None or choice.weight <= IMPOSSIBLE) and self._back_to_previous(span):
            self._take(item, ahead, hedged)
            return
        if choice is None:
            self._orphan(item)
            return
        diagonal = self._which_diagonal(part.axes)
        claim = Claim(
            kind="reading", component=frame.component, position=frame.position(part), group=frame.group,
            start=item.start, end=item.end, measure=choice.measure, value=choice.value, unit=choice.unit,
            options=choice.options,
            doubts=choice.doubts + diagonal + self._place_doubts() + self._context_doubts(item, choice.value),
            weight=choice.weight * frame.name_weight, hedged=hedged,
        )  # fmt: skip
        if span.readings[0].unit is not None:
            for key in (choice.measure, frame.measure):
                frame.units[f"{frame.component}/{key}"] = choice.unit
        key = f"{claim.component}/{claim.position.words()}/{claim.measure}"
        if context.unlikely(claim.doubts, again=key in frame.read) and not frame.correcting:
            self._orphan(item)
            return
        frame.read.add(key)
        if choice.measure == "hold_time":
            frame.held = True
        frame.scale = choice.scale
        self._state(claim)

    def _back_to_previous(self, span: NumberSpan) -> bool:
        """Go back to the part named before this one, if the number fits that and not this."""
        previous = self.frame.previous
        part = self.vocabulary.components.get(previous) if previous else None
        choice = choose(span, part, None, None) if part is not None else None
        if previous is None or choice is None or choice.weight <= IMPOSSIBLE:
            return False
        self.frame.start(previous, {}, 0.8)
        self.frame.named_as = previous.replace("_", " ")
        return True

    def _which_diagonal(self, axes: tuple[str, ...]) -> tuple[str, ...]:
        if "index" not in axes or "index" in self.frame.explicit():
            return ()
        self.frame.places["index"] = 1
        return ("Which diagonal this is was not heard: taken as left front to right rear.",)

    def _context_doubts(self, item: Item, value: Decimal) -> tuple[str, ...]:
        """Doubts from the words round a number that nothing explains."""
        doubts = []
        if 0 < self.frame.name_weight < SURE_NAME:
            doubts.append(f"The part was taken from “{self.frame.named_as}”, which only sounds like it.")
        if not self.named_here:
            strange = context.strange_words(self.text, self.sentence_start, item.start, self.row)
            if strange:
                doubts.append(f"“{strange}” was not understood: was another part named?")
        beyond = context.counted_thing(self.text, item, self.row)
        if beyond:
            doubts.append(f"“{item.number.text.strip()} {beyond}” may not be a reading.")  # type: ignore[union-attr]
        if context.swallowed_two(self.text, item, value):
            doubts.append(f"“{item.number.text.strip()} to” may be {value + 2:f}.")  # type: ignore[union-attr]
        return tuple(doubts)

    def _hint(self, ahead: str | None, measures: object, item: Item) -> str | None:
        frame = self.frame
        if ahead is not None and ahead in measures:  # type: ignore[operator]
            return ahead
        if frame.held and "pressure_after_hold" in measures:  # type: ignore[operator]
            return "pressure_after_hold"
        return frame.measure

    def _orphan(self, item: Item) -> None:
        """Something that was heard, but not of which part: said in the record, never guessed at."""
        assert item.number is not None
        reading = item.number.readings[0]
        before = self.row[self.row.index(item) - 1] if self.row.index(item) else None
        if before is not None and before.number is not None:
            self._doubt_last(f"“{item.number.text.strip()}” was said right behind it.")
        if reading.unit is None and reading.kind is None and not item.number.text[0].isdigit():
            return  # "one" and "two" are said all the time
        self.claims.append(
            Claim(
                "orphan", "", Position(), self.frame.group, item.start, item.end,
                value=reading.value, unit=reading.unit or "",
            )  # fmt: skip
        )

    def _is_unit_name(self, span: NumberSpan) -> bool:
        name = self.frame.unit_name
        bare = span.readings[0].unit is None and span.readings[0].kind in (None, "pair")
        return bare and bool(name) and any(f"{r.value:f}".replace(".", "") == name for r in span.readings)

    def _place_doubts(self) -> tuple[str, ...]:
        frame, part = self.frame, self.frame.part(self.vocabulary)
        assert part is not None
        said = frame.explicit()
        if "side" not in part.axes or "side" in said or frame.both:
            return ()
        if "side" not in frame.header:
            return ("Nobody said which side this is.",)
        if frame.header_age > _OLD_HEADER:
            return (f"No side was said here; {frame.header['side']} was said well before.",)
        return ()

    def _state(self, claim: Claim) -> None:
        """Add a reading, put it in the place of a corrected one, or state it for both sides."""
        frame = self.frame
        if frame.correcting:
            claim = self._replacing(claim)
            frame.correcting = False
        self.claims.append(claim)
        frame.last, frame.content = claim, True
        if frame.both:
            repeats.spread(self, frame.both)

    def _doubt_last(self, doubt: str) -> None:
        if self.claims and self.claims[-1].kind == "reading":
            last = self.claims[-1]
            self.claims[-1] = replace(last, doubts=(*last.doubts, doubt), weight=last.weight * 0.3)

    # -- conditions, actions, cues

    def _condition(self, i: int) -> None:
        item = self.row[i]
        text = self.text[item.start : item.end]
        if _NO_PLAY.search(text):
            self._no_play(item)
        self._statement(i, "condition")

    def _no_play(self, item: Item) -> None:
        part = self.frame.part(self.vocabulary)
        plays = [m for m in part.measures if m in PLAYS] if part else []
        if part is None or self.frame.component is None or not plays:
            return
        measure = self.frame.measure if self.frame.measure in plays else plays[0]
        self._state(
            Claim(
                kind="reading", component=self.frame.component, position=self.frame.position(part),
                group=self.frame.group, start=item.start, end=item.end, measure=measure, value=Decimal(0),
                unit=_INCH, doubts=self._place_doubts(), weight=self.frame.name_weight,
            )  # fmt: skip
        )

    def _statement(self, i: int, kind: str) -> None:
        item, frame = self.row[i], self.frame
        part = frame.part(self.vocabulary)
        label = item.named(kind)
        assert label is not None
        if part is None or frame.component is None:
            return
        subject = "" if self.named_here else context.unknown_subject(
            self.text, self.sentence_start, item.start, self.row
        )
        if subject:
            self.claims.append(
                Claim("orphan", "", Position(), frame.group, item.start, item.end, name=label.name)
            )
            return
        name = label.name
        if kind == "condition" and name != "ok" and self._negated(i):
            name = "ok"
        base = Claim(
            kind="condition" if kind == "condition" else "action", component=frame.component,
            position=frame.position(part), group=frame.group, start=item.start, end=item.end, name=name,
            doubts=() if frame.content else self._place_doubts(), weight=item.weight * frame.name_weight,
        )  # fmt: skip
        self.claims.append(base)
        frame.content = True
        if frame.both:
            repeats.spread(self, frame.both)

    def _negated(self, i: int) -> bool:
        before = self.row[i - 1] if i else None
        gap = self.text[before.end : self.row[i].start].split() if before is not None else []
        return before is not None and before.cue("negation") and len(gap) <= 2

    def _cue(self, i: int) -> None:
        item = self.row[i]
        if item.cue("correction") or item.cue("drop"):
            self._correction(i)
        elif item.cue("same"):
            following = self._near(i, 1)
            if self.pending or following is None or not following.named("place"):
                part = self.frame.part(self.vocabulary)
                places, self.pending = places_of(self.pending, part), []
                repeats.same(self, places, item.end)
        elif (item.cue("both") or item.cue("all_round")) and not (i and self.row[i - 1].cue("same")):
            which = "sides" if item.cue("both") else "all"
            before = self._near(i, -1)
            if before is not None and before.number is not None or self.frame.content:
                repeats.spread(self, which)
            else:
                self.frame.both = which
        elif item.cue("other_way"):
            index = self.frame.places.get("index", 1)
            self.frame.again({})
            self.frame.places = {"index": 2 if index == 1 else 1}

    def _correction(self, i: int) -> None:
        """The next number, place or part replaces the last reading; "scratch that" alone drops it."""
        frame = self.frame
        if frame.last is None or frame.correcting:
            return
        within = self.row[i + 1 : i + 4]
        goes_on = any(item.number is not None or item.named("place") for item in within)
        drops = self.row[i].cue("drop") or "scratch" in self.text[self.row[i].start : self.row[i].end].lower()
        if goes_on and (drops or len(self._words_until_number(i)) <= 4):
            frame.correcting = True
        elif drops:
            self._remove_last()

    def _words_until_number(self, i: int) -> list[str]:
        for item in self.row[i + 1 :]:
            if item.number is not None or item.named("place"):
                return self.text[self.row[i].end : item.start].split()
        return ["far"] * 9

    def _replacing(self, claim: Claim) -> Claim:
        """The corrected reading: same part and place as the one it replaces, unless said anew."""
        last = self.frame.last
        assert last is not None
        self._remove_last()
        return replace(
            claim, component=last.component, position=last.position, group=last.group,
            measure=last.measure if last.component == claim.component else claim.measure,
        )  # fmt: skip

    def _correct_place(self, run: list[Item]) -> None:
        frame, last = self.frame, self.frame.last
        assert last is not None
        part = self.vocabulary.components[last.component]
        places = {a: v for a, v in places_of(run, part).items() if a in part.axes}
        self._remove_last()
        claim = replace(last, position=last.position.with_keys(**places))
        frame.places.update(places)
        frame.note_header(places)
        self.claims.append(claim)
        frame.last = claim
        following = self._near(self.row.index(run[-1]), 1)
        frame.correcting = following is not None and following.number is not None

    def _remove_last(self) -> None:
        """Take back the last reading; one of an earlier window is taken back by a claim that says so."""
        last = self.frame.last
        assert last is not None
        for k in range(len(self.claims) - 1, -1, -1):
            if self.claims[k].kind == "reading":
                del self.claims[k]
                return
        self.claims.append(replace(last, kind="drop", start=0, end=0))
