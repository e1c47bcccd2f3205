"""Whole numbers as they are said, written for the tests alone and from the other end than the grammar."""

_SMALL = """
zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen
seventeen eighteen nineteen
"""
_UNDER_TWENTY = _SMALL.split()
_ROUND = "_ _ twenty thirty forty fifty sixty seventy eighty ninety"
_TENS = _ROUND.split()


def words(number: int, *, hyphen: str = "-", joint: str = "") -> str:
    """A whole number from 0 to 999,999 in words.

    Args:
        number: the number.
        hyphen: what stands in "twenty-one".
        joint: what stands behind "hundred": empty or "and".
    """
    if number < 20:
        return _UNDER_TWENTY[number]
    if number < 100:
        unit = number % 10
        return _TENS[number // 10] + (hyphen + _UNDER_TWENTY[unit] if unit else "")
    size, name = (100, "hundred") if number < 1000 else (1000, "thousand")
    head, rest = divmod(number, size)
    parts = [words(head, hyphen=hyphen, joint=joint), name]
    if rest:
        parts += [joint] if joint and size == 100 else []
        parts.append(words(rest, hyphen=hyphen, joint=joint))
    return " ".join(parts)
