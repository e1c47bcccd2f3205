"""A camera whose clock is off: learnt from values that agree, and only from proof."""

import pytest

READINGS = [("9.25", 10), ("8.75", 40), ("6.5", 70), ("3.25", 100), ("7.75", 130)]


@pytest.fixture
def walk(said, shown, paired):
    """Five readings, and their photos two seconds after the words by a clock that is off."""

    def run(off_s, readings=READINGS, photos=None):
        spoken = [said(v, "mm", at, face="outer") for v, at in readings]
        taken = [shown(v, "mm", at + 4 + off_s) for v, at in (photos or readings)]
        return paired(spoken, taken)

    return run


def photos_of(result):
    return [sum(e.kind == "photo" for e in f.evidence) for f in result.findings]


@pytest.mark.parametrize("off_s", [3600, -7200, 95, 400.5, -31_536_000])
def test_photos_find_their_readings_whatever_the_clock_says(walk, off_s):
    result = walk(off_s)
    assert photos_of(result) == [1] * 5
    assert all(not f.attention for f in result.findings)
    (notice,) = [n for n in result.notices if "clock" in n]
    assert "5 photos show what was said" in notice
    assert ("ahead of" if off_s > 0 else "behind") in notice


def test_the_notice_names_the_difference(walk):
    (notice,) = [n for n in walk(3725).notices if "clock" in n]
    assert "1 h 2 min 7 s ahead of" in notice


@pytest.mark.parametrize("off_s", [0, 5, -8, 25])
def test_clocks_that_agree_are_left_alone(walk, off_s):
    result = walk(off_s)
    assert photos_of(result) == [1] * 5
    assert not [n for n in result.notices if "clock" in n]


def test_two_photos_prove_nothing(walk):
    result = walk(3600, READINGS[:2])
    assert photos_of(result)[:2] == [0, 0]
    assert [n for n in result.notices if "compare the clocks" in n]


def test_three_photos_of_one_value_prove_nothing(walk):
    same = [("9.0", at) for at in (10, 40, 70)]
    assert all("seems to be" not in n for n in walk(3600, same).notices)


def test_photos_that_mostly_show_something_else_prove_nothing(walk):
    strange = [(f"4{n}.5", 200 + 30 * n) for n in range(3)]
    assert all("seems to be" not in n for n in walk(3600, READINGS[:3], READINGS[:3] + strange).notices)


def test_another_difference_that_explains_as_much_makes_both_worthless(walk):
    twice = READINGS[:3] + [(v, at + 600) for v, at in READINGS[:3]]
    result = walk(3600, twice, READINGS[:3])
    assert all("seems to be" not in n for n in result.notices)


def test_photos_in_time_speak_against_a_difference(walk):
    taken = [*((v, at + 3600) for v, at in READINGS[:3]), *READINGS[3:]]
    assert all("seems to be" not in n for n in walk(0, READINGS, taken).notices)


def test_a_photo_that_contradicts_is_found_at_the_learnt_time(walk):
    taken = [*READINGS[:4], ("1.75", 130)]
    result = walk(3600, READINGS, taken)
    assert photos_of(result) == [1] * 5
    assert (
        "7.75 mm was heard, but the photo IMG_4.jpg taken at the same time shows 1.75 mm"
        in result.findings[4].attention[0]
    )


def test_photos_that_nobody_spoke_of_are_in_their_place_in_time(said, shown, paired):
    spoken = [said(v, "mm", at, face="outer") for v, at in READINGS]
    taken = [shown(v, "mm", at + 3604) for v, at in READINGS] + [shown("12.6", "V", 3600 + 90)]
    result = paired(spoken, taken)
    assert [f.component for f in result.findings] == ["brake_pad"] * 3 + [None] + ["brake_pad"] * 2
