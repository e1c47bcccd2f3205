"""What was seen on a gauge's display."""

from decimal import Decimal

from models.frozen import Frozen

Box = tuple[int, int, int, int]


class DisplayAlternative(Frozen):
    """Another reading of the same display, or what another line or display shows, with its share (0 to 1)."""

    text: str
    weight: float


class DisplayReading(Frozen):
    """The reading of one photo, or why there is none.

    Attributes:
        capture: sha256 of the photo.
        text: the characters shown (digits, one ``.``, ``-``), or an overload mark such as ``OL``; None when
            there is no reading.
        value: the number shown, with exactly the decimals shown; None for overload marks and no reading.
        unit: UCUM code of the unit that is lit or printed beside the digits; None when it was not seen.
        box: x, y, width, height of the digits in pixels of the upright photo.
        digit_confidence: 0 to 1 for each character of ``text``.
        confidence: 0 to 1, the chance that text and decimal point are all right.
        alternatives: other readings, best first.
        reason: what keeps this from being a sure reading, in words the technician can act on
            ("glare over the second digit: shade it and take it again"); always set when ``text`` is None.
        display_seen: False when the photo shows no display at all, lit or not: a part, a plate, a wall.
    """

    capture: str
    text: str | None = None
    value: Decimal | None = None
    unit: str | None = None
    box: Box | None = None
    digit_confidence: tuple[float, ...] = ()
    confidence: float = 0.0
    alternatives: tuple[DisplayAlternative, ...] = ()
    reason: str | None = None
    display_seen: bool = True
