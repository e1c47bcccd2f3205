"""The state of one walk over one hypothesis."""

from collections.abc import Sequence

from models.places import Position
from models.vocabulary import Vocabulary
from pipelines.notes.claims import Claim, Heading
from pipelines.notes.frame import Frame
from pipelines.notes.items import Item, items
from pipelines.notes.lexicon import Lexicon


class Walk:
    """What is known while a text is read from left to right.

    Attributes:
        text: as heard.
        vocabulary: what can be said of what.
        frame: what the speaker is talking about.
        row: the items of the text.
        claims: what was stated so far.
        pending: place words whose part has not come yet.
        also: another part, and its place, that the next statement holds for as well.
        taken: indexes of items that the heading used up.
        named_here: the part was named in this sentence.
        measures_ahead: measures named in this sentence that the part at hand has not: the part may come yet.
        both_ahead: the part that comes next is meant on both sides, or all round.
        both_named: it was meant of a part named in this sentence, and ends with it.
        unknown: this sentence is about a part that no name of the vocabulary fits.
        value_first: the part named last in this sentence stood behind its number.
        measure_here: the measure was named in this sentence.
        measure_behind: it was named behind its number, and holds to the sentence's end.
        corrected_from: offset behind the cue of the correction at hand.
        muted: up to where nothing counts: ``sentence``, ``segment`` or empty.
        sentence_start: offset of the sentence.
        plain: words that may stand round a reading without naming a part.
        known: these, and other words that name no part.
        heading: what was said of the inspection itself.
    """

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
        self.row: list[Item] = items(text, lexicon, pauses)
        self.claims: list[Claim] = []
        first = self.row[0] if self.row else None
        opens_with_part = first is not None and first.named("component") is not None
        self.pending: list[Item] = self.frame.trailing if opens_with_part else []
        self.frame.trailing = []
        self.also: tuple[str, Position] | None = None
        self.taken: set[int] = set()
        self.named_here = False
        self.value_first = False
        self.unknown = False
        self.measure_here = False
        self.measure_behind = ""
        self.both_ahead: str | None = None
        self.both_named = False
        self.measures_ahead: tuple[str, ...] = ()
        self.corrected_from = 0
        self.muted = ""
        self.sentence_start = 0
        self.heading = Heading()
        self.plain = frozenset(vocabulary.fillers["plain"] + vocabulary.fillers["pieces"])
        self.known = self.plain | frozenset(vocabulary.fillers["common"] + vocabulary.fillers["sources"])

    def near(self, i: int, step: int) -> Item | None:
        """The next item before (-1) or behind (1) item `i` that says something of its own."""
        j = i + step
        while 0 <= j < len(self.row):
            if j not in self.taken and not self.row[j].cue("hedge"):
                return self.row[j]
            j += step
        return None
