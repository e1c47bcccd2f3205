"""Drawn readings: what a gauge on a truck can show, said the way it is usually said."""

from collections.abc import Callable
from random import Random

from pipelines.speech.training.saying import (
    Said,
    decimal,
    integer,
    join,
    mixed,
    negative,
    plain,
    thousandths,
    with_unit,
)

Draw = Callable[[Random], Said]


def lining_mm(rng: Random) -> Said:
    """Pads and linings in millimeters."""
    n = rng.randint(0, 16)
    half = mixed(max(n, 1), 1, 2, rng)
    half = Said(half.say, half.words, f"{max(n, 1)}.5")
    number = rng.choice((integer(n, rng), half, decimal(f"{n}.{rng.randint(1, 9)}", rng)))
    return with_unit(number, "mm", rng, 0.75)


def rotor_mm(rng: Random) -> Said:
    """Rotors in millimeters."""
    return with_unit(decimal(f"{rng.randint(8, 45)}.{rng.randint(0, 9)}", rng), "mm", rng, 0.7)


def thickness_in(rng: Random) -> Said:
    """Rotors and drums in inches, decimals."""
    head = rng.choice((0, 1, 1, 1, 2, rng.randint(8, 16)))
    return with_unit(
        decimal(f"{head}.{rng.randint(10, 999):03d}"[: rng.choice((4, 5, 5)) + (head > 9)], rng),
        "in",
        rng,
        0.4,
    )


def inch_fraction(rng: Random) -> Said:
    """Fractions of an inch."""
    bottom = rng.choice((2, 4, 8, 8, 16, 16, 32, 64))
    top = rng.randrange(1, bottom, 2) if bottom > 2 else 1
    return with_unit(mixed(rng.choice((0, 0, 0, 1, 2, 3)), top, bottom, rng), "in", rng, 0.45)


def tread(rng: Random) -> Said:
    """Tread in thirty-seconds, not reduced."""
    return mixed(0, rng.randint(1, 24), 32, rng)


def small_play(rng: Random) -> Said:
    """Play and runout in thousandths."""
    n = rng.choice((rng.randint(1, 9), rng.randint(11, 60), rng.randint(11, 99), rng.randint(100, 250)))
    return with_unit(thousandths(n, rng), "in", rng, 0.15)


def tenths_of_thousandths(rng: Random) -> Said:
    """A half of a thousandth, a thousandth and a half, ten-thousandths, four decimals."""
    if rng.random() < 0.6:
        return decimal(f"0.0{rng.randint(0, 9)}{rng.randint(0, 9)}{rng.randint(1, 9)}", rng)
    return plain(
        rng.choice(("half a thousandth", "a thousandth and a half", "half a thou", "a thou and a half"))
    )


def pressure(rng: Random) -> Said:
    """Pressures in psi, kPa and bar."""
    unit = rng.choice(("psi",) * 8 + ("kPa", "bar"))
    if unit == "bar":
        return with_unit(decimal(f"{rng.randint(0, 15)}.{rng.randint(0, 9)}", rng), unit, rng)
    number = integer(rng.choice((rng.randint(4, 30), rng.randint(20, 130), rng.randint(90, 420))), rng)
    if rng.random() < 0.2:
        n = rng.randint(4, 40)
        number = rng.choice((mixed(n, 1, 2, rng), decimal(f"{n}.{rng.randint(1, 9)}", rng)))
    return with_unit(number, unit, rng, 0.7)


def temperature(rng: Random) -> Said:
    """Temperatures, below zero too."""
    number = integer(rng.choice((rng.randint(20, 99), rng.randint(100, 260), rng.randint(100, 1200))), rng)
    if rng.random() < 0.15:
        number = negative(integer(rng.randint(1, 60), rng), rng)
    return with_unit(number, rng.choice(("degF", "degF", "degF", "degC")), rng, 0.6)


def volts(rng: Random) -> Said:
    """Battery and charging voltages, "twelve six" for 12.6 too."""
    head, tail = rng.choice((9, 10, 11, 12, 12, 12, 13, 13, 14, 14, 24, 27, 28)), rng.randint(0, 99)
    text = f"{head}.{tail:02d}" if rng.random() < 0.4 else f"{head}.{tail // 10}"
    number = decimal(text, rng)
    if rng.random() < 0.3:
        short = number.say.replace(" point ", " ")
        number = Said(short, short, text)
    return with_unit(number, "V", rng, 0.75)


def amps(rng: Random) -> Said:
    """Currents: draws, outputs, cold cranking."""
    n = rng.choice((rng.randint(2, 40), rng.randint(50, 400), 5 * rng.randint(60, 220)))
    if n < 40 and rng.random() < 0.4:
        return with_unit(decimal(f"{n}.{rng.randint(1, 9)}", rng), "A", rng, 0.8)
    return with_unit(integer(n, rng), rng.choice(("A", "A", "cca")) if n > 250 else "A", rng, 0.8)


def torque(rng: Random) -> Said:
    """Torques."""
    n = rng.choice((rng.randint(10, 99), 5 * rng.randint(10, 110)))
    return with_unit(integer(n, rng), rng.choice(("ft-lb", "ft-lb", "Nm")), rng, 0.9)


def angle(rng: Random) -> Said:
    """Camber, toe, caster."""
    text = f"{rng.choice((0, 0, 0, 1, 2, 3, 5))}.{rng.choice((rng.randint(1, 9), rng.randint(1, 99)))}"
    number = decimal(text, rng)
    return with_unit(negative(number, rng) if rng.random() < 0.4 else number, "deg", rng, 0.7)


def long_inches(rng: Random) -> Said:
    """Frame diagonals."""
    head = rng.randint(30, 320)
    bottom = rng.choice((2, 4, 8, 16))
    number = rng.choice((integer(head, rng), mixed(head, rng.randrange(1, bottom, 2), bottom, rng)))
    return with_unit(number, "in", rng, 0.6)


def other(rng: Random) -> Said:
    """Percent, ohms, millivolts, minutes."""
    kind = rng.choice(("%", "ohm", "mV", "min", "s"))
    n = rng.choice((rng.randint(1, 20), rng.randint(20, 99), rng.randint(100, 400)))
    number = decimal(f"{n % 10}.{rng.randint(1, 9)}", rng) if rng.random() < 0.3 else integer(n, rng)
    return with_unit(number, kind, rng)


def span(rng: Random) -> Said:
    """From this to that."""
    low = rng.randint(2, 90)
    high = low + rng.choice((1, 2, 5, 10))
    return join((integer(low, rng), plain("to"), integer(high, rng)))


READINGS: tuple[Draw, ...] = (
    *(lining_mm, lining_mm, rotor_mm, thickness_in, thickness_in, inch_fraction, inch_fraction),
    *(tread, tread, tread, small_play, small_play, small_play, tenths_of_thousandths),
    *(pressure, pressure, pressure, temperature, temperature, volts, volts, amps, amps),
    *(torque, angle, long_inches, other, span),
)

# What is said with which measure of the vocabulary.
BY_MEASURE: dict[str, tuple[Draw, ...]] = {
    "thickness": (lining_mm, rotor_mm, thickness_in, inch_fraction),
    "thickness_variation": (small_play, tenths_of_thousandths),
    "runout": (small_play, small_play, tenths_of_thousandths, inch_fraction),
    "axial_play": (small_play,),
    "radial_play": (small_play,),
    "end_play": (small_play, tenths_of_thousandths),
    "play": (small_play, inch_fraction),
    "free_play": (inch_fraction, thickness_in),
    "tread_depth": (tread,),
    "length": (long_inches,),
    "diagonal": (long_inches,),
    "inside_diameter": (thickness_in, inch_fraction),
    "camber": (angle,),
    "toe": (angle,),
    "caster": (angle,),
    "pressure": (pressure,),
    "pressure_after_hold": (pressure,),
    "hold_time": (other,),
    "temperature": (temperature,),
    "temperature_split": (temperature,),
    "freeze_point": (temperature,),
    "boiling_point": (temperature,),
    "moisture": (other,),
    "voltage": (volts,),
    "charging_voltage": (volts,),
    "voltage_drop": (volts, other),
    "current": (amps,),
    "cold_cranking_current": (amps,),
    "resistance": (other,),
    "torque": (torque,),
}
