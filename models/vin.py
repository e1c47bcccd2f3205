"""Vehicle identification numbers: check digit and model year.

The check digit is that of 49 CFR 565.15(c): each character has a value, each position a weight, and the sum
modulo 11 stands in position 9, with ``X`` for ten. A wrong digit is reported, never corrected: any of the
seventeen characters may be the wrong one, and some mistakes do not change the sum at all.
"""

from models.frozen import Frozen

_LETTERS = "ABCDEFGHJKLMNPRSTUVWXYZ"  # I, O and Q are not used
_LETTER_VALUES = (1, 2, 3, 4, 5, 6, 7, 8, 1, 2, 3, 4, 5, 7, 9, 2, 3, 4, 5, 6, 7, 8, 9)
_VALUES = dict(zip(_LETTERS, _LETTER_VALUES, strict=True)) | {str(n): n for n in range(10)}
_WEIGHTS = (8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2)
_YEAR_CODES = "ABCDEFGHJKLMNPRSTVWXY123456789"  # 1980 to 2009, then again
_FIRST_YEAR = 1980
_CYCLE = len(_YEAR_CODES)
_LIGHT_LB = 10_000


class VinError(ValueError):
    """The text cannot be a vehicle identification number; the message says why."""


class VinReport(Frozen):
    """What can be told from a vehicle identification number alone.

    Attributes:
        vin: the seventeen characters in capitals.
        check_digit_fits: the character in position 9 is the one that the others ask for.
        expected_check_digit: the one they ask for.
        model_years: the years it can stand for, oldest first; empty when position 10 is no year code.
        blind_spots: position (1 to 17) and the other characters there that would pass the same check.
        problems: plain sentences, empty when nothing speaks against the number.
    """

    vin: str
    check_digit_fits: bool
    expected_check_digit: str
    model_years: tuple[int, ...]
    blind_spots: tuple[tuple[int, str], ...]
    problems: tuple[str, ...]


def normalized(text: str) -> str:
    """The characters of a VIN in capitals, without blanks and hyphens.

    Raises:
        VinError: not seventeen characters, or a character that no VIN holds.
    """
    vin = "".join(text.split()).replace("-", "").upper()
    if len(vin) != 17:
        raise VinError(f"A vehicle identification number has 17 characters; '{text}' has {len(vin)}.")
    strange = sorted({c for c in vin if c not in _VALUES})
    if strange:
        raise VinError(f"'{text}' holds {', '.join(strange)}, which no vehicle identification number has.")
    return vin


def check_digit(text: str) -> str:
    """The check digit that the sixteen other characters ask for (49 CFR 565.15(c)).

    Raises:
        VinError: the text cannot be a VIN.
    """
    total = sum(_VALUES[c] * w for c, w in zip(normalized(text), _WEIGHTS, strict=True))
    remainder = total % 11
    return "X" if remainder == 10 else str(remainder)


def model_years(text: str, gross_weight_lb: int | None = None) -> tuple[int, ...]:
    """The years that position 10 can stand for between 1980 and 2039, oldest first.

    The code repeats after thirty years. Up to 10,000 lb gross weight rating position 7 decides: a letter
    since 2010 (49 CFR 565.15(b)), a digit before (565.25(b)). Heavier trucks have no such rule, and where
    the rating is not known both years stay possible.

    Raises:
        VinError: the text cannot be a VIN.
    """
    vin = normalized(text)
    place = _YEAR_CODES.find(vin[9])
    if place < 0:
        return ()
    early, late = _FIRST_YEAR + place, _FIRST_YEAR + place + _CYCLE
    if gross_weight_lb is None or gross_weight_lb > _LIGHT_LB:
        return (early, late)
    return (late,) if vin[6].isalpha() else (early,)


def same_value(character: str) -> str:
    """The other characters that count alike in the check, so that a mix-up cannot be noticed by it.

    ``C`` gives ``3LT``: said aloud, C and T rhyme, and so do G and P or E and V, which count alike as well.
    """
    value = _VALUES[character]
    return "".join(c for c in sorted(_VALUES) if _VALUES[c] == value and c != character)


def report(text: str, gross_weight_lb: int | None = None) -> VinReport:
    """Everything the number itself can tell, with its doubts in plain sentences.

    Args:
        text: as said, typed or read from a plate; blanks and hyphens do not count.
        gross_weight_lb: gross vehicle weight rating in pounds, which the model year needs.

    Raises:
        VinError: the text cannot be a VIN.
    """
    vin = normalized(text)
    expected = check_digit(vin)
    fits = vin[8] == expected
    years = model_years(vin, gross_weight_lb)
    problems = []
    if not fits:
        problems.append(
            f"The check digit of {vin} is {vin[8]} where the other characters ask for {expected}: read the"
            " plate again. Only numbers given for North America must carry one."
        )
    if not years:
        problems.append(f"Position 10 of {vin} is {vin[9]}, which stands for no model year.")
    elif len(years) > 1:
        problems.append(
            f"Position 10 of {vin} stands for {years[0]} or {years[1]}: confirm the model year on the truck."
        )
    blind = tuple((i + 1, same_value(c)) for i, c in enumerate(vin) if i != 8)
    return VinReport(
        vin=vin,
        check_digit_fits=fits,
        expected_check_digit=expected,
        model_years=years,
        blind_spots=blind,
        problems=tuple(problems),
    )
