"""When a tire was made, by the date code that ends its identification number.

Since 1999 the code has four digits, week and year; before, three, and the decade cannot be told from them
(49 CFR 574.5 as changed by 64 FR 36807).
"""

import re
from datetime import date, timedelta
from fractions import Fraction
from typing import NamedTuple

_FOUR_DIGITS_SINCE = 1999
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
