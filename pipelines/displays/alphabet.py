"""What the recognising network can say, and how its inputs are cut. Shared by the reader and its training."""

# Class 0 is CTC's blank; ``?`` stands for every letter that is not part of an overload mark.
CHARACTERS = "0123456789.-:LEr?"

# The strip the digits are read from: height and greatest width in pixels, and the height of a digit in it.
STRIP_HEIGHT = 48
STRIP_WIDTH = 384
STRIP_DIGIT = 30.0

# The sheet round the digits in which the unit is looked for.
SHEET_SIZE = (208, 512)
SHEET_DIGIT = 48.0
SHEET_LEFT = 96.0
SHEET_TEXT = 240.0

# The piece in which a word is recognised as a unit, and the height of its ink in it.
WORD_SIZE = (32, 128)
WORD_INK = 20.0
WORD_WIDEST = 108.0

# UCUM codes in the order of the unit classes, from class 2 on. Class 0 is nothing (a word that is no unit),
# class 1 is a unit that records do not use.
UNIT_CODES = (
    "mm",
    "cm",
    "[in_i]",
    "[psi]",
    "kPa",
    "bar",
    "Cel",
    "[degF]",
    "V",
    "mV",
    "A",
    "mA",
    "Ohm",
    "kOhm",
    "%",
    "N.m",
    "[ft_i].[lbf_av]",
    "deg",
)
