"""Faces of gauges: five fixed ones for pictures with a purpose, and random ones for teaching."""

from typing import Any

import numpy as np
from numpy.random import Generator

from pipelines.displays.training.backgrounds import any_word
from pipelines.displays.training.face import Colour, Icon, IconKind, PanelStyle, Patch, UnitPlace
from pipelines.displays.training.glyphs import DigitShape, Joint
from pipelines.displays.training.lettering import fonts

STYLES: dict[str, PanelStyle] = {
    "caliper": PanelStyle(
        shape=DigitShape(width=0.5, thickness=0.11, slant=0.1, gap=0.012),
        case=(52, 54, 58), cells=5, unit_place="right_low", case_words=("ON/OFF", "ZERO"), minus_far=True,
        point=0.14, point_cell=0.1, ghost=0.03,
    ),
    "dial_indicator": PanelStyle(
        shape=DigitShape(width=0.58, thickness=0.13, slant=0.06, joint="hex", gap=0.02),
        ground=(158, 170, 148), case=(36, 58, 92), cells=5, unit_place="right_high", dim_units=("mm",),
        case_words=("SET", "TOL"), minus_far=True, case_margin=0.8,
        point=0.14, point_cell=0.1,
    ),
    "pressure_gauge": PanelStyle(
        shape=DigitShape(width=0.6, thickness=0.14, slant=0.0, gap=0.02, variants=frozenset("7")),
        ground=(196, 206, 190), case=(150, 60, 38), cells=4, unit_place="below", unit_height=0.36,
        case_words=("LIGHT", "PEAK"), case_margin=0.9,
        point=0.15, point_cell=0.1,
    ),
    "multimeter": PanelStyle(
        shape=DigitShape(width=0.56, thickness=0.12, slant=0.12, gap=0.015),
        ground=(182, 188, 160), case=(196, 150, 38), cells=4, unit_place="right_middle",
        window_words=("AUTO", "DC"),
        case_words=("HOLD", "RANGE", "REL"), minus_far=True, point=0.14,
        point_cell=0.08,
    ),
    "thermometer": PanelStyle(
        shape=DigitShape(width=0.55, thickness=0.15, slant=0.05, joint="butt", gap=0.0),
        ink=(255, 66, 40), ground=(22, 12, 12), case=(44, 44, 46), glow=0.5, ghost=0.03, cells=4,
        unit_place="right_high", round_point=True, point=0.15, point_cell=0.1, case_words=("SCAN",),
    ),
}  # fmt: skip

_PLACES: tuple[UnitPlace, ...] = (
    "right_low", "right_low", "right_low", "right_middle", "right_high", "right_high", "above", "below",
    "case_right", "case_below", "case_above",
)  # fmt: skip
UNIT_WORDS: dict[str, tuple[str, ...]] = {
    "mm": ("mm",),
    "cm": ("cm",),
    "[in_i]": ("in", "inch", "IN", "INCH", "in."),
    "[psi]": ("psi", "PSI"),
    "kPa": ("kPa", "KPA", "kpa"),
    "bar": ("bar", "BAR"),
    "Cel": ("°C", "℃", "° C"),
    "[degF]": ("°F", "℉", "° F"),
    "V": ("V", "v", "VDC", "VOLTS", "VOLT", "V DC"),
    "mV": ("mV",),
    "A": ("A", "AMPS", "Amp"),
    "mA": ("mA",),
    "Ohm": ("Ω", "OHM", "ohms"),
    "kOhm": ("kΩ",),
    "%": ("%", "%RH"),
    "N.m": ("N·m", "Nm", "N-m"),
    "[ft_i].[lbf_av]": ("ft-lb", "lb-ft", "ft·lb", "FT-LB"),
    "deg": ("°", "deg"),
}
OTHER_UNITS = (
    "g", "kg", "lb", "oz", "kWh", "Hz", "kHz", "W", "MPa", "MΩ", "F", "C", "GAL", "L", "min", "sec", "rpm",
    "dB", "N", "pcs", "ct", "kW", "hPa", "mmHg", "μA", "ppm", "m", "s", "km", "mph",
)  # fmt: skip


def random_shape(rng: Generator) -> DigitShape:
    """A random cut of segments, from hairline to fat."""
    width = float(np.clip(rng.normal(0.55, 0.07), 0.36, 0.8))
    thickness = float(np.clip(np.exp(rng.normal(np.log(0.115), 0.3)), 0.045, 0.24))
    joints: tuple[Joint, ...] = ("mitre", "mitre", "hex", "butt")
    forms = {digit for digit in "679" if rng.random() < 0.3}
    return DigitShape(
        width=width,
        thickness=min(thickness, width * 0.42),
        gap=float(abs(rng.normal(0, 0.02))) if rng.random() < 0.8 else float(rng.uniform(0.02, 0.045)),
        joint=joints[int(rng.integers(0, 4))],
        slant=float(np.clip(rng.normal(0.07, 0.08), -0.08, 0.36)) if rng.random() < 0.8 else 0.0,
        variants=frozenset(forms),
        parted=bool(rng.random() < 0.07),
    )


def _tint(rng: Generator, base: Colour, spread: float) -> Colour:
    r, g, b = np.clip(np.array(base) + rng.normal(0, spread, 3), 0, 255)
    return (float(r), float(g), float(b))


def random_colours(rng: Generator) -> dict[str, Any]:
    """Ink, ground, glow, strength and ghost that belong together."""
    kind = rng.random()
    if kind < 0.62:  # dark ink on a bright ground: reflecting or lit from behind in any colour
        ground = _tint(rng, (176, 184, 164), 22) if rng.random() < 0.5 else _bright(rng)
        dark = float(rng.uniform(0.05, 0.45))
        mean = sum(ground) / 3
        ink = tuple(float(v * dark * rng.uniform(0.6, 1.4)) for v in ground)
        ink = _tint(rng, (mean * dark, mean * dark, mean * dark), 14) if rng.random() < 0.6 else ink
        strength = float(rng.uniform(0.85, 1))
        if rng.random() < 0.5:
            strength = float(rng.uniform(0.14, 0.4) if rng.random() < 0.25 else rng.uniform(0.3, 1.0))
        ghost = (
            float(rng.choice([0, rng.uniform(0, 0.08), rng.uniform(0.05, 0.3)], p=[0.35, 0.4, 0.25]))
            * strength
        )
        return {
            "ink": ink,
            "ground": ground,
            "strength": strength,
            "ghost": min(ghost, strength * 0.35),
            "shadow": _shadow(rng),
        }
    ground = _tint(rng, (18, 16, 16), 12)
    if kind < 0.9:  # light of its own
        hues: tuple[Colour, ...] = (
            (255, 50, 36), (255, 40, 60), (255, 90, 70), (70, 255, 90), (170, 255, 60), (240, 248, 255),
            (255, 255, 255), (70, 140, 255), (255, 180, 50), (120, 240, 255), (255, 120, 20),
        )  # fmt: skip
        ink = _tint(rng, hues[int(rng.integers(0, len(hues)))], 14)
        ink = tuple(float(v * rng.uniform(0.75, 1)) for v in ink)
        ghost = float(rng.choice([0, rng.uniform(0, 0.06), rng.uniform(0.05, 0.22)], p=[0.4, 0.35, 0.25]))
        glow = float(rng.choice([0, rng.uniform(0.1, 0.6), rng.uniform(0.5, 1.3)], p=[0.35, 0.4, 0.25]))
        return {
            "ink": ink,
            "ground": ground,
            "strength": float(rng.uniform(0.6, 1)),
            "ghost": ghost,
            "glow": glow,
            "glow_reach": float(rng.uniform(0.05, 0.35)),
            "burnt": float(rng.uniform(0.3, 1)) if glow and rng.random() < 0.4 else 0.0,
        }
    ground = _tint(rng, (40, 44, 60), 26)  # light letters cut out of a dark liquid-crystal cell
    ink = _tint(rng, (215, 220, 225), 26)
    return {
        "ink": ink,
        "ground": ground,
        "strength": float(rng.uniform(0.4, 1)),
        "ghost": float(rng.uniform(0, 0.12)),
    }


def _shadow(rng: Generator) -> tuple[float, float, float]:
    """Where the shadow of ink falls; mostly none."""
    if rng.random() < 0.75:
        return (0.0, 0.0, 0.0)
    across, down = rng.normal(0, 0.07), rng.uniform(0, 0.14)
    return (float(across), float(down), float(rng.uniform(0.08, 0.4)))


def _shares_of_ink(rng: Generator, places: int, strength: float) -> tuple[float, ...]:
    """What each digit shows of its ink: a display lit in turns, one that ages, or one bad contact."""
    if rng.random() < 0.85:
        return ()
    least = max(0.25, min(0.09 / strength, 1))
    shares = np.ones(places)
    if rng.random() < 0.5:
        shares = rng.uniform(least, 1, places)
    else:
        place = (0, places - 1, int(rng.integers(0, places)))[int(rng.integers(0, 3))]
        shares[place] = rng.uniform(least, 0.8)
    return tuple(float(share) for share in shares)


def _bright(rng: Generator) -> Colour:
    channels = rng.uniform(60, 255, 3)
    channels[int(rng.integers(0, 3))] = rng.uniform(170, 255)
    return (float(channels[0]), float(channels[1]), float(channels[2]))


def random_unit(rng: Generator) -> str:
    """A word of a unit; now and then one that records do not use."""
    if rng.random() < 0.2:
        return str(rng.choice(OTHER_UNITS))
    codes = list(UNIT_WORDS)
    return str(rng.choice(UNIT_WORDS[codes[int(rng.integers(0, len(codes)))]]))


def random_patches(rng: Generator, strength: float) -> tuple[Patch, ...]:
    """Places where ink pales under a reflection; mostly none.

    Args:
        rng: chooses them.
        strength: opacity of the ink; what is left of it can always still be made out.
    """
    if rng.random() < 0.65:
        return ()
    return tuple(
        Patch(
            x=float(rng.uniform(-0.1, 1.1)),
            y=float(rng.uniform(-0.1, 1.1)),
            across=float(np.exp(rng.uniform(np.log(0.07), np.log(0.7)))),
            down=float(np.exp(rng.uniform(np.log(0.25), np.log(2)))),
            lost=float(min(rng.uniform(0.25, 0.93), max(0.25, 1 - 0.09 / strength))),
        )
        for _ in range(int(rng.integers(1, 4)))
    )


_ICONS: tuple[IconKind, ...] = ("ring", "disc", "arrow", "battery", "ticks", "ticks")


def random_icons(rng: Generator) -> tuple[Icon, ...]:
    """Signs round the digits: mostly none, else a few along the edges of the window."""
    if rng.random() < 0.65:
        return ()
    out = []
    for _ in range(int(rng.integers(1, 6))):
        kind = _ICONS[int(rng.integers(0, len(_ICONS)))]
        side = float(rng.uniform(0.02, 0.98)), float(rng.choice([rng.uniform(0, 0.3), rng.uniform(0.7, 1)]))
        x, y = side if kind == "ticks" or rng.random() < 0.5 else side[::-1]
        size = float(rng.uniform(0.08, 0.2) if kind == "ticks" else rng.uniform(0.12, 0.35))
        out.append(Icon(kind, x, y, size))
    return tuple(out)


def _second_line(rng: Generator) -> str:
    """The text of a line under the main one; mostly empty."""
    if rng.random() > 0.24:
        return ""
    digits = "".join(rng.choice(list("0123456789"), int(rng.integers(1, 6))))
    place = int(rng.integers(1, len(digits) + 1))
    return f"{digits[:place]}.{digits[place:]}" if rng.random() < 0.6 and place < len(digits) else digits


def random_style(rng: Generator, places: int = 4) -> PanelStyle:
    """A random face with at least ``places`` digit places."""
    shape = random_shape(rng)
    point = float(np.clip(shape.thickness * np.exp(rng.normal(0.05, 0.25)), 0.045, 0.27))
    words = tuple(any_word(rng) for _ in range(int(rng.integers(1, 4))))
    wide = float(rng.uniform(0.1, 2.5)) if rng.random() < 0.3 else 0.4
    margin = rng.uniform(0.08, 0.7, 4)
    colours = random_colours(rng)
    last_digit = float(rng.uniform(0.42, 0.85)) if rng.random() < 0.2 else 1.0
    raised = bool(rng.random() < 0.25)
    place, unit_height = _PLACES[int(rng.integers(0, len(_PLACES)))], float(rng.uniform(0.17, 0.55))
    if last_digit < 0.7 and not raised and rng.random() < 0.5:
        place, unit_height = "over_last", (1 - last_digit) * float(rng.uniform(0.5, 0.75))
    return PanelStyle(
        shape=shape,
        case=_tint(rng, (60, 60, 62), 45) if rng.random() < 0.6 else _bright(rng),
        fade=float(rng.uniform(-0.85, 0.85)) if rng.random() < 0.2 else 0.0,
        washed=random_patches(rng, colours["strength"]),
        backlight=float(rng.uniform(-0.75, 0.75)) if rng.random() < 0.2 else 0.0,
        pitch=float(np.clip(rng.normal(0.2, 0.09), 0.06, 0.55)),
        point=point,
        point_wide=float(np.exp(rng.normal(0, 0.2))) if rng.random() < 0.4 else 1.0,
        point_shift=float(np.clip(rng.normal(0, 0.6), -1, 1)) if rng.random() < 0.5 else 0.0,
        point_cell=float(rng.choice([0, 0.05, 0.15, 0.3], p=[0.6, 0.15, 0.15, 0.1])),
        round_point=bool(rng.random() < 0.4),
        cells=places + int(rng.choice([0, 1, 2, 3], p=[0.5, 0.25, 0.15, 0.1])),
        left_aligned=bool(rng.random() < 0.12),
        minus_far=bool(rng.random() < 0.5),
        uneven=_shares_of_ink(rng, places, colours["strength"]),
        weak=(str(rng.choice(list("abcdefg"))), float(rng.uniform(0.4, 0.9)))
        if rng.random() < 0.03
        else ("", 1.0),
        last_digit=last_digit,
        last_raised=raised,
        unit_place=place,
        unit_height=unit_height,
        font=str(rng.choice(fonts())),
        dim_units=tuple(random_unit(rng) for _ in range(int(rng.integers(1, 3))))
        if rng.random() < 0.15
        else (),
        icons=random_icons(rng),
        window_words=words if rng.random() < 0.3 else (),
        case_words=words if rng.random() < 0.5 else (),
        window_margin=(float(margin[0] * wide / 0.4), float(margin[1]), float(margin[2]), float(margin[3])),
        case_margin=float(rng.uniform(0.1, 1.4)),
        second=_second_line(rng),
        second_height=float(rng.uniform(0.4, 1.0)),
        second_gap=float(rng.uniform(0.1, 0.6)),
        **colours,
    )
