"""How long it takes to judge: ``python -m tests.benchmarks.judging [FINDINGS] [LIMITS]``."""

import random
import resource
import sys
import tempfile
import time
from decimal import Decimal
from pathlib import Path

from models.limits import Limits, load_limits
from models.measures import DIMENSIONS
from models.places import Position
from models.record import Finding, Reading
from models.settings import TruckSettings
from models.units import UNITS
from models.vocabulary import load_vocabulary
from pipelines.judging import judge

MAKES = 20  # as many makers' numbers for each part; a truck has one maker
VIN = "1M8GDM9AXKP042788"
HEAD = """\
kind: maker
source: made up
seen: secondary source
jurisdiction: none
as_of: now
near: 10 %
limits:
"""


def made_up_limits(count: int, seed: int = 1) -> Limits:
    """The shipped limits and made-up ones of different sources, each for one make, `count` in all."""
    dice = random.Random(seed)
    codes = {"length": "mm", "pressure": "kPa", "voltage": "V"}
    measured = [
        (name, measure)
        for name, part in sorted(load_vocabulary().components.items())
        for measure in part.measures
        if DIMENSIONS[measure] in codes
    ]
    lines = []
    for n in range(count - len(load_limits().rules)):
        component, measure = dice.choice(measured)
        when = dice.choice(["axle: steering, ", "brakes: air, ", "gross_weight_lb: {more than: 14000}, ", ""])
        vin = f"1M{n % MAKES:02d}".replace("1M00", "1M8G")
        lines.append(
            f"  - {{id: m{n}, source: manual {n}, component: {component}, measure: {measure},"
            f" subject: part, unit: {codes[DIMENSIONS[measure]]}, at least: {dice.randrange(1, 90)}.5,"
            f' when: {{{when}vin: "{vin}*"}}}}'
        )
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "made_up.yaml").write_text(HEAD + "\n".join(lines), encoding="utf-8")
        return load_limits(own=Path(folder))


def made_up_findings(count: int, limits: Limits, seed: int = 2) -> list[Finding]:
    """Readings of parts and measures that have limits, in any unit that fits."""
    dice = random.Random(seed)
    found = []
    for n in range(count):
        rule = dice.choice(limits.rules)
        kind = UNITS["mm" if rule.rim_angle else rule.unit].dimension
        code = dice.choice([c for c, u in UNITS.items() if u.dimension == kind])
        value = Decimal(dice.randrange(1, 100_000)).scaleb(-3)
        place = Position(
            side=dice.choice(["left", "right"]), axle=dice.choice(["front", "rear", "axle_3", None])
        )
        reading = Reading(measure=rule.measure, value=value, unit=code, as_given=str(value))
        found.append(
            Finding(id=str(n), component=rule.component, position=place, reading=reading, confidence=0.9)
        )
    return found


def main() -> None:
    """Prints the times for a truck of which everything is known and one of which nothing is."""
    findings, count = (int(a) for a in (*sys.argv[1:3], "100000", "2000")[:2])
    start = time.perf_counter()
    limits = made_up_limits(count)
    print(f"{len(limits.rules)} limits read in {time.perf_counter() - start:.2f} s")
    readings = made_up_findings(findings, limits)
    known = TruckSettings(
        commercial=True, gross_weight_lb=33_000, brakes="air", steering="power", steering_wheel_in=20, vin=VIN
    )
    for name, truck in (("known", known), ("unknown", TruckSettings())):
        start, wall = time.process_time(), time.perf_counter()
        judged = judge(readings, limits, truck)
        took, wall = time.process_time() - start, time.perf_counter() - wall
        words = sorted({f.verdict.word for f in judged if f.verdict})
        print(f"{findings} findings, truck {name}: {took:.2f} s of one core ({wall:.2f} s by clock); {words}")
        del judged
    values = len({f.reading.value for f in readings if f.reading})
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"{values} different values; {peak:.0f} MB at the most, findings and limits included")


if __name__ == "__main__":
    main()
