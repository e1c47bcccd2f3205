"""When a tire was made, by the date code that ends its identification number, and what else the number tells.

Since 1999 the code has four digits, week and year; before, three, and the decade cannot be told from them
(49 CFR 574.5 as changed by 64 FR 36807). Since the rule of 2015 (80 FR 19553) a new tire's number has 13
symbols and a retread's 7, and its first three name the plant. Numbers of other lengths are older and tell
only their date.
"""

import re
from datetime import date, timedelta
from fractions import Fraction
from typing import NamedTuple

_FOUR_DIGITS_SINCE = 1999
_NEW, _RETREAD, _PLANT = 13, 7, 3
_WEEK = timedelta(weeks=1)
_DAYS_A_YEAR = Fraction(1461, 4)  # UCUM 2.2: a is the mean Julian year of 365.25 days


class TireDateError(ValueError):
    """The code is no date code; the message says why and what to do."""


class MadeIn(NamedTuple):
    """The week in which a tire was made.

    Attributes:
        year: all four digits.
        week: 1 to 53, counted from the first of January.
    """

    year: int
    week: int

    def age_years(self, on: date) -> Fraction:
        """Years of 365.25 days from the end of that week to a day: no tire is called older than it is.

        Raises:
            TireDateError: the week lies after the day.
        """
        days = (on - (date(self.year, 1, 1) + self.week * _WEEK)).days
        if days < -7:
            raise TireDateError(
                f"Week {self.week} of {self.year} is after {on}: read the date code on the tire again."
            )
        return max(days, 0) / _DAYS_A_YEAR


def made_in(code: str) -> MadeIn:
    """The week and year of a four-digit date code.

    Args:
        code: the last digits of the tire identification number: ``2319`` is week 23 of 2019.

    Raises:
        TireDateError: it has three digits and so is older than the year 2000, has another length, or names a
            week that no year has.
    """
    if re.fullmatch(r"[0-9]{3}", code):
        raise TireDateError(
            f"Date code {code} has three digits: it was made before 2000, and the decade cannot be told."
        )
    if not re.fullmatch(r"[0-9]{4}", code):
        raise TireDateError(f"'{code}' is no date code: it must be four digits, week and year, such as 2319.")
    week, year = int(code[:2]), int(code[2:])
    if not 1 <= week <= 53:
        raise TireDateError(f"Date code {code} names week {week:02d}: read it on the tire again.")
    century = 1900 if 1900 + year >= _FOUR_DIGITS_SINCE else 2000
    return MadeIn(century + year, week)


class TireNumber(NamedTuple):
    """What the identification number of a tire tells.

    Attributes:
        symbols: letters and digits, in capitals.
        retread: its length is that of a retread; the date is then of the retreading, and the casing is older.
        plant: the code of the plant; None in a number of another length.
        made: the week of its date code.
    """

    symbols: str
    retread: bool
    plant: str | None
    made: MadeIn


def tire_number(text: str) -> TireNumber:
    """A tire's identification number, taken apart.

    Args:
        text: the number, with or without the ``DOT`` before it; blanks, hyphens and dots do not count.

    Raises:
        TireDateError: it has more symbols than any rule gives, or ends in no date code.
    """
    symbols = re.sub(r"[\s·.-]", "", text.upper())
    symbols = re.sub(r"^D[O0]T", "", symbols)
    if not re.fullmatch(r"[A-Z0-9]+", symbols):
        raise TireDateError(f"'{text}' is no tire identification number: it has letters and digits only.")
    if len(symbols) > _NEW:
        raise TireDateError(
            f"'{text}' has {len(symbols)} symbols, and no tire identification number has more than {_NEW}:"
            " read it on the tire again."
        )
    known = len(symbols) in (_NEW, _RETREAD)
    plant = symbols[:_PLANT] if known else None
    code = re.search(r"[0-9]{3,4}$", symbols)
    return TireNumber(symbols, len(symbols) == _RETREAD, plant, made_in(code[0] if code else symbols[-4:]))
