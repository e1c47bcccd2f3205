"""The shop's table of work: what it may hold, and what is said when it cannot be used."""

from decimal import Decimal
from pathlib import Path

import pytest

from models.limits.yaml_nodes import ConfigError
from models.places import Position
from models.repairs import RepairTable, load_repairs

PAD = "component: brake_pad, action: replace"
HEAD = """\
currency: USD
labor_rate: 118.00
source: price list of the garage
as_of: 2026-11-01
repairs:
"""
PADS = "  - {component: brake_pad, action: replace, one for: [axle], hours: 1.4, parts: 96.50}\n"
FRONT = Position(side="left", axle="front", face="inner")


def table(folder: Path, *entries: str, head: str = HEAD) -> RepairTable:
    path = folder / "repairs.yaml"
    path.write_text(head + "".join(entries), encoding="utf-8")
    found = load_repairs(path)
    assert found is not None
    return found


def test_without_a_file_there_is_no_table(tmp_path: Path) -> None:
    assert load_repairs(tmp_path / "repairs.yaml") is None


def test_numbers_stay_as_written(tmp_path: Path) -> None:
    found = table(tmp_path, PADS)
    (pads,) = found.repairs
    assert (str(found.labor_rate), str(pads.hours), str(pads.parts)) == ("118.00", "1.4", "96.50")
    assert (pads.words, pads.one_for) == ("replace brake pad", ("axle",))


def test_each_place_is_a_piece_of_work_unless_the_table_says_otherwise(tmp_path: Path) -> None:
    (rotor,) = table(tmp_path, "  - {component: brake_rotor, action: replace, hours: 1, parts: 0}\n").repairs
    assert rotor.one_for == ("side", "axle")


def test_an_entry_for_this_truck_goes_before_one_for_all(tmp_path: Path) -> None:
    some = PADS.replace("one for: [axle], hours: 1.4", 'units: ["23", "4*"], hours: 2')
    found = table(tmp_path, PADS, some)
    hours = [found.find("brake_pad", "replace", FRONT, unit) for unit in ("23", "417", "99", None)]
    assert [h.hours if h else None for h in hours] == [Decimal(2), Decimal(2), Decimal("1.4"), Decimal("1.4")]
    assert found.find("brake_pad", "clean", FRONT, "23") is None


def test_an_entry_holds_at_its_place_only(tmp_path: Path) -> None:
    found = table(
        tmp_path, "  - {component: brake_pad, action: replace, at: {axle: rear}, hours: 1, parts: 0}\n"
    )
    assert found.find("brake_pad", "replace", FRONT, None) is None
    assert found.find("brake_pad", "replace", Position(), None) is None
    assert found.find("brake_pad", "replace", Position(axle="rear"), None) is not None


@pytest.mark.parametrize(
    ("entry", "why"),
    [
        ("{component: brake_disk, action: replace, hours: 1, parts: 0}", "not a part of the vocabulary"),
        ("{component: brake_pad, action: swap, hours: 1, parts: 0}", "not an action of the vocabulary"),
        ("{<pad>, hours: 1}", "needs 'parts:'; add it"),
        ("{<pad>, hours: 1, parts: $96}", "is no amount; write it like 96.50"),
        ("{<pad>, hours: -1, parts: 0}", "is no amount"),
        ("{<pad>, hours: 1, parts: 0, price: 3}", "'price' does not belong to"),
        ("{<pad>, hours: 1, parts: 0, one for: [level]}", "not a place of a brake_pad"),
        ("{<pad>, hours: 1, parts: 0, at: {level: upper}}", "has no level"),
        ("{<pad>, hours: 1, parts: 0, at: {side: driver}}", "is no side"),
        ("{<pad>, hours: 1, parts: 0, beyond: [runout]}", "not measured on a brake_pad"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_said_with_file_and_line(tmp_path: Path, entry: str, why: str) -> None:
    with pytest.raises(ConfigError) as caught:
        table(
            tmp_path,
            PADS.replace("brake_pad", "battery").replace("one for: [axle], ", ""),
            f"  - {entry.replace('<pad>', PAD)}\n",
        )
    assert why in str(caught.value)
    assert str(caught.value).startswith(f"{tmp_path / 'repairs.yaml'}, line 7: ")


@pytest.mark.parametrize(
    ("more", "other", "clash"),
    [
        ("", "", True),
        ("at: {axle: front}, ", "at: {axle: rear}, ", False),
        ("at: {axle: front}, ", "at: {side: left}, ", True),
        ('units: ["4*"], ', 'units: ["41?"], ', True),
        ('units: ["4*"], ', 'units: ["5*"], ', False),
        ("", 'units: ["5*"], ', False),
    ],
)
def test_two_entries_for_one_piece_of_work_are_refused(
    tmp_path: Path, more: str, other: str, clash: bool
) -> None:
    entries = [f"  - {{component: tire, action: replace, {m}hours: 1, parts: 0}}\n" for m in (more, other)]
    if not clash:
        assert len(table(tmp_path, *entries).repairs) == 2
        return
    with pytest.raises(ConfigError, match=r"line 7: to replace a tire can also mean .*line 6; narrow"):
        table(tmp_path, *entries)


def test_the_head_must_be_whole(tmp_path: Path) -> None:
    with pytest.raises(ConfigError, match="needs 'labor_rate:'; add it"):
        table(tmp_path, PADS, head=HEAD.replace("labor_rate: 118.00\n", ""))
