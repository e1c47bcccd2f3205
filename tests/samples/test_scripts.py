"""Scripts parse, their identifiers are the vocabulary's, and each number in them is said."""

import re
from fractions import Fraction
from itertools import product
from pathlib import Path

import pytest
import yaml

import config
from samples import demo_folder
from samples.noise import NOISES
from samples.script import (
    CASES,
    DEMO,
    Expected,
    Line,
    Script,
    ScriptError,
    all_cases,
    expected,
    quantity,
    read_script,
)
from samples.speech import HELD_BACK_VOICES, VOICES

SCRIPTS = [*all_cases(), read_script(DEMO)]
# fmt: off
ONES = [
    "zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve",
    "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen",
]
# fmt: on
TENS = ["zero", "ten", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"]
PARTS = {2: "half", 4: "quarter", 8: "eighth", 16: "sixteenth", 32: "thirty second"}
AGAIN = re.compile(r"\b(same|both|as well|still)\b")


def below_hundred(n: int) -> str:
    """A whole number below one hundred, in words."""
    if n < 20:
        return ONES[n]
    return TENS[n // 10] + (f" {ONES[n % 10]}" if n % 10 else "")


def digits(text: str) -> set[str]:
    """Digits said one by one, a nought as "oh" or "zero"."""
    words = [("oh", "zero") if digit == "0" else (ONES[int(digit)],) for digit in text]
    return {" ".join(said) for said in product(*words)}


def whole(n: int) -> set[str]:
    """The ways to say a whole number."""
    if n < 100:
        return {below_hundred(n)}
    if n < 1000:
        head, rest = divmod(n, 100)
        if not rest:
            return {f"{ONES[head]} hundred"}
        short = below_hundred(rest) if rest > 9 else f"oh {ONES[rest]}"
        return {f"{ONES[head]} hundred {x}{below_hundred(rest)}" for x in ("", "and ")} | {
            f"{ONES[head]} {short}"
        }
    head, rest = divmod(n, 1000)
    tails = whole(rest) if rest else {""}
    pair = f"{below_hundred(n // 100)} {'oh ' if n % 100 < 10 else ''}{below_hundred(n % 100)}"
    long = {f"{a} thousand {x}{b}".strip() for a in whole(head) for b in tails for x in ("", "and ")}
    return long | digits(str(n)) | ({pair} if n < 10_000 else set())


def part(value: Fraction) -> set[str]:
    """The ways to say a fraction below one with a denominator that is a power of two up to 32."""
    said = set()
    for denominator, word in PARTS.items():
        count = value * denominator
        if count.denominator == 1 and 0 < count < 32:
            said |= {f"{below_hundred(int(count))} {word}", f"{below_hundred(int(count))} {word}s"}
            if count == 1:
                said |= {f"a {word}", f"an {word}", word}
    return said


def decimal(value: Fraction) -> set[str]:
    """The ways to say a value with a decimal point, with up to two noughts at its end."""
    scaled = value * 10_000
    if scaled.denominator != 1:
        return set()
    head, tail = divmod(int(scaled), 10_000)
    figures = f"{tail:04d}".rstrip("0")
    tails = {t for extra in range(3) if figures for t in digits(figures + "0" * extra)}
    if len(figures) == 2 and figures[0] != "0":
        tails.add(below_hundred(int(figures)))
    heads = whole(head) | ({""} if not head else set())
    return {f"{h} point {t}".strip() for h in heads for t in tails}


def wordings(value: Fraction) -> set[str]:
    """The ways to say a value, by itself, as thousandths or as 32nds whose unit was said before."""
    size = abs(value)
    said = decimal(size) | part(size)
    head, rest = divmod(size, 1)
    if rest == 0:
        said |= whole(int(head))
    elif head:
        said |= {f"{h} and {p}" for h in whole(int(head)) for p in part(rest)}
    for step in (1000, 32):
        count = size * step
        if count.denominator in (1, 2) and 0 < size < 1:
            said |= {w for w in (wordings(count) if count >= 1 else part(count))}
    return {way for words in said for way in (f"minus {words}", f"{words} below")} if value < 0 else said


def says(text: str, finding: Expected) -> bool:
    """Whether the words contain the finding's number, or a wish to read no play."""
    plain = f" {re.sub(r'[^a-z]+', ' ', text.lower())} "
    if finding.value == 0:
        return " no play " in plain
    assert finding.value is not None
    return any(f" {words} " in plain for words in wordings(finding.value))


def problems(script: Script) -> list[str]:
    """Numbers of a script that nobody says."""
    found: list[str] = []
    earlier: list[Expected] = []
    for line in (line for note in script.notes for line in note.lines):
        for finding in line.finds:
            if finding.value is None or says(line.say, finding):
                continue
            repeated = any(e.value == finding.value and e.component == finding.component for e in earlier)
            if not (repeated and AGAIN.search(line.say.lower())):
                found.append(f"{finding.measure} {finding.value} in '{line.say}'")
        earlier += line.finds
    return found


def photo_problems(line: Line) -> list[str]:
    """What is wrong with the photo of a line: it must show a value that stands after the line."""
    if line.photo is None:
        return []
    shown = Fraction(line.photo.text)
    last_place = Fraction(1, 10 ** len(line.photo.text.partition(".")[2]))
    fits = [f for f in line.finds if f.value is not None and abs(f.value - shown) < last_place]
    return [] if fits else [f"a photo shows {line.photo.text} during '{line.say}'"]


@pytest.mark.parametrize("script", SCRIPTS, ids=lambda s: s.name)
def test_every_expected_number_is_said(script: Script) -> None:
    assert problems(script) == []


@pytest.mark.parametrize("script", SCRIPTS, ids=lambda s: s.name)
def test_photos_show_what_is_said(script: Script) -> None:
    assert [p for note in script.notes for line in note.lines for p in photo_problems(line)] == []


def test_a_number_that_nobody_says_is_found() -> None:
    line = Line(
        say="Left front rotor, one point two five.", finds=("brake_rotor left front | thickness 1.35 in",)
    )
    base = SCRIPTS[0]
    script = base.model_copy(update={"notes": (base.notes[0].model_copy(update={"lines": (line,)}),)})
    assert problems(script) == ["thickness 27/20 in 'Left front rotor, one point two five.'"]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("0.030", "thirty thousandths"),
        ("0.0025", "two and a half thousandths"),
        ("1.360", "one point three six oh"),
        ("7/32", "seven thirty seconds"),
        ("163 5/8", "one sixty three and five eighths"),
        ("-29", "minus twenty nine"),
        ("12.05", "twelve point oh five"),
        ("208", "two hundred eight"),
    ],
)
def test_wordings(text: str, words: str) -> None:
    finding = expected(f"tire | tread_depth {text} in")
    assert says(f"It reads {words}.", finding)
    assert not says("It reads forty one.", finding)


@pytest.mark.parametrize("script", SCRIPTS, ids=lambda s: s.name)
def test_identifiers_are_the_vocabularys(script: Script) -> None:
    vocabulary = yaml.safe_load(
        (Path(config.__file__).parent / "vocabulary.yaml").read_text(encoding="utf-8")
    )
    for finding in script.findings():
        axes = vocabulary["components"][finding.component]["axes"]
        allowed = {*axes, "index"} if finding.component == "frame" else set(axes)
        assert set(finding.position.keys()) <= allowed, finding
        assert finding.measure is None or finding.measure in vocabulary["measures"], finding
        assert set(finding.conditions) <= set(vocabulary["conditions"]), finding
        assert finding.action is None or finding.action in vocabulary["actions"], finding


@pytest.mark.parametrize("script", SCRIPTS, ids=lambda s: s.name)
def test_unit_and_voice_are_known_and_the_unit_is_said(script: Script) -> None:
    opening = re.sub(r"[^a-z]+", " ", script.notes[0].lines[0].say.lower())
    assert any(words in opening for words in whole(int(script.unit)) | digits(script.unit))
    for note in script.notes:
        assert note.voice in VOICES
        assert note.noise is None or note.noise in NOISES


def test_there_are_enough_different_cases() -> None:
    cases = all_cases()
    assert len(cases) >= 14
    assert len({note.voice for script in cases for note in script.notes}) >= 4
    assert {"brakes", "steering", "suspension", "tires", "cooling", "electrical", "cab climate"} <= {
        script.topic for script in cases
    }
    assert {"frame", "driveline", "mixed"} <= {script.topic for script in cases}


def test_held_back_cases_speak_with_voices_that_nothing_is_taught_with() -> None:
    # A case that was held back once and has been looked at keeps its voice.
    held_back = [script for script in all_cases() if script.held_back]
    assert {note.voice for script in held_back for note in script.notes} <= set(HELD_BACK_VOICES)
    assert sum(script.held_back for script in all_cases()) >= 4


def test_a_correction_replaces_what_it_corrects() -> None:
    script = read_script(CASES / "front_end_play.yaml")
    right = [f for f in script.findings() if f.component == "hub_bearing" and f.position.side == "right"]
    assert [f.value for f in right] == [Fraction(9, 1000)]


def test_a_short_text_becomes_a_finding() -> None:
    finding = expected("tire left rear outside | tread_depth 7/32 in | uneven_wear | replace")
    assert finding.to_json() == {
        "component": "tire",
        "position": {"side": "left", "axle": "rear", "spot": "outside"},
        "measure": "tread_depth",
        "value": 0.21875,
        "unit": "[in_i]",
        "conditions": ["uneven_wear"],
        "action": "replace",
    }


@pytest.mark.parametrize(
    "text", ["tire sideways | ok", "tire left | pressure eighty psi", "tire | pressure 80 lbs", "tire left"]
)
def test_a_text_that_is_not_a_finding_is_refused(text: str) -> None:
    with pytest.raises(ScriptError):
        expected(text)


def test_units_are_named_in_words() -> None:
    assert quantity("163 5/8 in").value == Fraction(1309, 8)
    assert quantity("-29 F").unit == "[degF]"


def test_a_file_that_is_not_a_script_is_named(tmp_path: Path) -> None:
    path = tmp_path / "odd.yaml"
    path.write_text("- not\n- a script\n", encoding="utf-8")
    with pytest.raises(ScriptError, match=r"odd\.yaml"):
        read_script(path)


def test_demo_folder_lies_beside_its_script() -> None:
    assert demo_folder().parent == DEMO.parent
