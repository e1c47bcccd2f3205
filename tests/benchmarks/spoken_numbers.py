"""Numbers as technicians say them, read by the grammar and by general parsers, in one run.

    python -m tests.benchmarks.spoken_numbers          (peers: the `peers` extra)

The phrases are ways to say readings that trade handbooks and forums show: thousandths, spoken "oh", 32nds,
pairs. A parser is right when the numbers it gives are the value alone, or alone the number that was said in
front of its unit word ("30 thou"); a unit word that a peer drops is not held against it. It is silently wrong
when it gives another number and no question.
Exit status 1 when the grammar is wrong or slower than the slower peer.
"""

import re
import sys
import time
import warnings
from collections.abc import Callable
from decimal import Decimal
from typing import NamedTuple

from pipelines.notes.numbers import find_numbers


class Phrase(NamedTuple):
    """What is said, the value meant, and the number in front of the unit word where it is another."""

    said: str
    value: Decimal
    count: Decimal | None = None


class Answer(NamedTuple):
    """The numbers that a parser gives, and whether it asks."""

    numbers: tuple[Decimal, ...]
    asks: bool = False


Parser = Callable[[str], Answer]

# Conventions: 1/1000 in is a thou; "a hundred thousandths" is 0.100 in; tread in 32nds of an inch;
# "twelve six" on a battery is 12.6 V, "one ninety five" is 195 (common practice).
PHRASES = tuple(
    Phrase(said, Decimal(value), Decimal(count) if count else None)
    for said, value, count in (
        ("thirty thousandths", "0.030", "30"),
        ("thirty thou", "0.030", "30"),
        ("half a thou", "0.0005", "0.5"),
        ("point oh three oh", "0.030", ""),
        ("oh point oh oh three", "0.003", ""),
        ("point zero three zero", "0.030", ""),
        ("one point one two five inches", "1.125", ""),
        ("six thirty-seconds", "0.1875", "6"),
        ("thirty second hold", "30", ""),
        ("five and three quarter inches", "5.75", ""),
        ("two and five eighths", "2.625", ""),
        ("sixteen pounds", "16", ""),
        ("fifteen p s i", "15", ""),
        ("one ninety five degrees", "195", ""),
        ("twelve six", "12.6", ""),
        ("twelve point oh five", "12.05", ""),
        ("minus two degrees", "-2", ""),
        ("a hundred and five foot pounds", "105", ""),
        ("hundred thousandths", "0.100", "100"),
    )
)
_WRITTEN = re.compile(r"-?\d+(?:\.\d+)?")


def grammar(text: str) -> Answer:
    """The program's own: the most usual reading of each number."""
    best = [span.readings[0] for span in find_numbers(text) if span.readings]
    return Answer(tuple(r.value for r in best), any(r.doubt for r in best))


def text2num() -> Parser:
    """text2num: a text with digits in place of number words."""
    from text_to_num import alpha2digit

    return lambda text: Answer(tuple(Decimal(n) for n in _WRITTEN.findall(alpha2digit(text, "en"))))


def quantulum3() -> Parser:
    """quantulum3: quantities with units."""
    warnings.simplefilter("ignore")
    from quantulum3 import parser

    return lambda text: Answer(tuple(Decimal(str(q.value)) for q in parser.parse(text)))


def verdict(phrase: Phrase, answer: Answer) -> str:
    """One of: right, asks, nothing, WRONG."""
    if answer.numbers in ((phrase.value,), (phrase.count,)):
        return "right"
    if answer.asks:
        return "asks"
    return "WRONG" if answer.numbers else "nothing"


def main() -> int:
    """Print one line a phrase and one of sums; see above for the exit status."""
    parsers: dict[str, Parser] = {"grammar": grammar}
    for name, make in (("text2num", text2num), ("quantulum3", quantulum3)):
        try:
            parsers[name] = make()
        except ImportError:
            print(f"{name} is not installed: install the extra named peers to see it beside the grammar")
    print(f"{'phrase':32}" + "".join(f"{name:>28}" for name in parsers))
    right, seconds = dict.fromkeys(parsers, 0), dict.fromkeys(parsers, 0.0)
    for phrase in PHRASES:
        cells = []
        for name, parse in parsers.items():
            parse(phrase.said)  # what is loaded at the first use costs once
            began = time.process_time()
            answer = parse(phrase.said)
            seconds[name] += time.process_time() - began
            told = verdict(phrase, answer)
            right[name] += told == "right"
            cells.append(f"{told} {' '.join(str(n) for n in answer.numbers)}")
        print(f"{phrase.said:32}" + "".join(f"{cell:>28}" for cell in cells))
    print(f"{'right of ' + str(len(PHRASES)):32}" + "".join(f"{right[name]:>28}" for name in parsers))
    each = {name: s / len(PHRASES) * 1e6 for name, s in seconds.items()}
    print(f"{'microseconds of processor':32}" + "".join(f"{each[name]:>28.0f}" for name in parsers))
    slowest = max((t for name, t in each.items() if name != "grammar"), default=float("inf"))
    return 0 if right["grammar"] == len(PHRASES) and each["grammar"] <= slowest else 1


if __name__ == "__main__":
    sys.exit(main())
