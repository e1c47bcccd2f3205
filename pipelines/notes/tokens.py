"""Text cut into words, numerals and marks, each with its offsets; the text itself is never altered."""

import re
from typing import Literal, NamedTuple

_TOKEN = re.compile(
    r"(?P<num>(?<![\d.,])\.\d+|\d+(?:[.,:]\d+)*)"
    r"|(?P<vulgar>[½¼¾⅛⅜⅝⅞])"
    r"|(?P<word>'s\b|[^\W\d_]+(?:'[^\W\d_]+)*)"
    r"|(?P<mark>[^\s\w]|_)"
)


class Token(NamedTuple):
    """One token.

    Attributes:
        text: lower case, typographic apostrophes made plain.
        kind: numeral, vulgar fraction, word or mark.
        start: offset of its first character.
        end: offset behind its last character.
        glued: no blank stands before it.
    """

    text: str
    kind: Literal["num", "vulgar", "word", "mark"]
    start: int
    end: int
    glued: bool


def tokens(text: str) -> list[Token]:
    """The tokens of a text; ``text[t.start:t.end]`` is what each was read from."""
    found: list[Token] = []
    # One character for one, so that offsets stay those of the original text.
    for match in _TOKEN.finditer(text.replace("’", "'")):
        glued = bool(found) and found[-1].end == match.start()
        kind = match.lastgroup
        assert kind is not None
        found.append(Token(match.group().lower(), kind, match.start(), match.end(), glued))  # type: ignore[arg-type]
    return found
