import json
import math
import struct
import unicodedata
from datetime import UTC, datetime
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.events import ReviewEvent, reviewed
from models.record import Evidence, Finding, Inspection, Reading, Record
from models.signing import SigningError, canonical_bytes, canonical_sha256, sign, undecided, verify

AT = datetime(2026, 11, 20, 9, 30, tzinfo=UTC)


def _draft(**finding: object) -> Record:
    base = Finding(
        id="5b0cbf5e-0a57-4b53-9a0e-2f0a4f5f8c11",
        component="brake_pad",
        reading=Reading(measure="thickness", value=Decimal("4.50"), unit="mm", as_given="four point five oh"),
        confidence=0.9,
        evidence=(
            Evidence(kind="audio", capture="a" * 64, text="four point five oh", start_s=1.0, end_s=2.0),
        ),
    )
    head = Inspection(id="0d2b9a56-3a3f-4f5c-9a7c-5c7f0a1b2c3d", unit="417", started_at=AT, ended_at=AT)
    return Record(inspection=head, findings=(base.model_copy(update=finding),))


def _decided(draft: Record, kind: str = "confirm") -> Record:
    event = ReviewEvent(kind=kind, finding=draft.findings[0].id, by="A. Reviewer", at=AT, reason="seen")
    return reviewed(draft, [event])


# The number and member-order samples of RFC 8785 (section 3.2.2 and 3.2.3).
@pytest.mark.parametrize(
    ("data", "canonical"),
    [
        (
            {"numbers": [333333333.33333329, 1e30, 4.50, 2e-3, 0.000000000000000000000000001]},
            '{"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27]}',
        ),
        (
            {"literals": [None, True, False], "a": '€$\u000f\nA\'B"\\\\"/'},
            '{"a":"€$\\u000f\\nA\'B\\"\\\\\\\\\\"/","literals":[null,true,false]}',
        ),
        # sorted by UTF-16 units: U+1F600 (D83D DE00) comes before U+FB33
        (
            {"\u20ac": 1, "\r": 2, "\ufb33": 3, "1": 4, "\U0001f600": 5, "\u0080": 6, "\u00f6": 7},
            '{"\\r":2,"1":4,"\u0080":6,"\u00f6":7,"\u20ac":1,"\U0001f600":5,"\ufb33":3}',
        ),
        ({"x": 0.030, "z": -0.0, "n": 6.0}, '{"n":6,"x":0.03,"z":0}'),
    ],
)
def test_canonical_form_is_that_of_rfc_8785(data: dict, canonical: str) -> None:
    assert canonical_bytes(data).decode() == canonical


# The finite numbers of RFC 8785, Appendix B, but for the five that are written as integers beyond 2^53.
@pytest.mark.parametrize(
    ("ieee_754", "text"),
    [
        ("0000000000000000", "0"),
        ("8000000000000000", "0"),
        ("0000000000000001", "5e-324"),
        ("8000000000000001", "-5e-324"),
        ("7fefffffffffffff", "1.7976931348623157e+308"),
        ("ffefffffffffffff", "-1.7976931348623157e+308"),
        ("44b52d02c7e14af5", "9.999999999999997e+22"),
        ("44b52d02c7e14af6", "1e+23"),
        ("44b52d02c7e14af7", "1.0000000000000001e+23"),
        ("444b1ae4d6e2ef50", "1e+21"),
        ("3eb0c6f7a0b5ed8c", "9.999999999999997e-7"),
        ("3eb0c6f7a0b5ed8d", "0.000001"),
        ("41b3de4355555553", "333333333.3333332"),
        ("41b3de4355555554", "333333333.33333325"),
        ("41b3de4355555555", "333333333.3333333"),
        ("41b3de4355555556", "333333333.3333334"),
        ("41b3de4355555557", "333333333.33333343"),
        ("becbf647612f3696", "-0.0000033333333333333333"),
        ("43143ff3c1cb0959", "1424953923781206.2"),
    ],
)
def test_numbers_are_written_as_in_appendix_b(ieee_754: str, text: str) -> None:
    assert canonical_bytes({"n": _double(ieee_754)}) == b'{"n":%s}' % text.encode()


# The rest of Appendix B: no number (NaN, infinity), and what JSON readers of integers cannot take back.
@pytest.mark.parametrize(
    "ieee_754",
    [
        "7fffffffffffffff",
        "7ff0000000000000",
        "4340000000000000",
        "c340000000000000",
        "4430000000000000",
        "444b1ae4d6e2ef4e",
        "444b1ae4d6e2ef4f",
    ],
)
def test_a_number_without_an_exact_form_is_refused(ieee_754: str) -> None:
    with pytest.raises(SigningError, match="canonical"):
        canonical_bytes({"n": _double(ieee_754)})


def test_what_its_receiver_could_not_verify_is_not_signed() -> None:
    large = Reading(measure="thickness", value=Decimal("1e20"), unit="mm", as_given="ten to the twenty")
    with pytest.raises(SigningError, match="canonical"):
        sign(_decided(_draft(reading=large)), "A", AT)


def _double(ieee_754: str) -> float:
    return float(struct.unpack(">d", bytes.fromhex(ieee_754))[0])


_EXACT = 2**53 - 1
_TEXT = st.text(st.characters(exclude_categories=["Cs"]), max_size=6)
_NUMBERS = st.integers(-_EXACT, _EXACT) | st.floats(-_EXACT, _EXACT)
_VALUES = st.recursive(
    st.none() | st.booleans() | _NUMBERS | _TEXT,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(_TEXT, inner, max_size=4),
    max_leaves=12,
)
_OBJECTS = st.dictionaries(_TEXT, _VALUES, max_size=5)


def _same(one: Any, other: Any) -> bool:
    """Whether two JSON values are one: 1 is 1.0 and 0 is -0, but true is not 1."""
    if isinstance(one, dict) and isinstance(other, dict):
        return one.keys() == other.keys() and all(_same(one[k], other[k]) for k in one)
    if isinstance(one, list) and isinstance(other, list):
        return len(one) == len(other) and all(map(_same, one, other))
    return isinstance(one, bool) == isinstance(other, bool) and one == other


def _turned(value: Any) -> Any:
    """The same value with the members of every object the other way round."""
    if isinstance(value, dict):
        return {k: _turned(v) for k, v in reversed(value.items())}
    return [_turned(v) for v in value] if isinstance(value, list) else value


@given(_OBJECTS)
def test_the_canonical_form_is_one_for_a_value_however_it_was_written(data: dict[str, Any]) -> None:
    written = canonical_bytes(data)
    assert canonical_bytes(_turned(data)) == written
    read = json.loads(written)
    assert _same(read, data)
    assert canonical_bytes(read) == written
    assert canonical_bytes(json.loads(json.dumps(data, indent=3))) == written


@given(_OBJECTS, st.data())
def test_values_have_the_same_canonical_form_only_when_they_are_the_same(
    one: dict[str, Any], data: st.DataObject
) -> None:
    other = data.draw(_OBJECTS | _changed(one))
    assert (canonical_bytes(one) == canonical_bytes(other)) == _same(one, other)


def _changed(value: dict[str, Any]) -> st.SearchStrategy[dict[str, Any]]:
    """The value, or the value with one member changed, however little."""
    if not value:
        return st.just(value)
    near = st.sampled_from(sorted(value)).flatmap(
        lambda k: _near(value[k]).map(lambda changed: {**value, k: changed})
    )
    return near | st.just(_turned(value))


def _near(value: Any) -> st.SearchStrategy[Any]:
    if isinstance(value, bool):
        return st.sampled_from([not value, int(value), str(value).lower()])
    if isinstance(value, int | float):
        return st.sampled_from([float(value), math.nextafter(value, 0.0), str(value)])
    if isinstance(value, str):
        return st.sampled_from([value + " ", unicodedata.normalize("NFD", value), value.swapcase()])
    return st.sampled_from([[value], {"": value}, None, False, 0, ""])


def test_signing_freezes_and_verifies() -> None:
    signed = sign(_decided(_draft()), "  A.  Reviewer ", AT)
    assert signed.inspection.state == "signed"
    assert signed.signature is not None
    assert signed.signature.by == "A. Reviewer"
    assert signed.signature.sha256 == canonical_sha256(signed)
    assert verify(json.loads(json.dumps(signed.to_json())))


def test_the_hash_does_not_depend_on_how_the_json_was_written() -> None:
    data = sign(_decided(_draft()), "A", AT).to_json()
    assert verify(json.loads(json.dumps(data, indent=7, sort_keys=True)))
    assert verify(Record.from_json(json.loads(json.dumps(data))).to_json())


def test_any_change_breaks_the_signature() -> None:
    data = sign(_decided(_draft()), "A", AT).to_json()
    for change in (
        lambda d: d["findings"][0]["reading"].update(value=4.6),
        lambda d: d["findings"][0]["reading"].update(exact="4.5"),  # the trailing zero is signed too
        lambda d: d["findings"][0]["review"].update(by="B"),
        lambda d: d["signature"].update(by="B"),
        lambda d: d["inspection"].update(unit="418"),
        lambda d: d.update(extra=1),
        lambda d: d["signature"].update(sha256="0" * 64),
        lambda d: d["signature"].update(sha256=None),
        lambda d: d.pop("signature"),
    ):
        copy = json.loads(json.dumps(data))
        assert verify(copy)
        change(copy)
        assert not verify(copy)


def test_a_draft_does_not_verify() -> None:
    assert not verify(_draft().to_json())
    assert not verify({})


def test_what_nobody_decided_is_not_signed() -> None:
    draft = _draft()
    assert undecided(draft) == list(draft.findings)
    with pytest.raises(SigningError, match="1 of 1 findings are not decided"):
        sign(draft, "A", AT)
    with pytest.raises(SigningError, match="1 of 1"):
        sign(reviewed(draft, []), "A", AT)


def test_a_finding_without_a_part_is_signed_only_when_rejected() -> None:
    draft = _draft(component=None)
    with pytest.raises(SigningError, match="which part"):
        sign(_decided(draft), "A", AT)
    assert verify(sign(_decided(draft, "reject"), "A", AT).to_json())


def test_a_signature_needs_a_name_a_zone_and_an_unsigned_record() -> None:
    record = _decided(_draft())
    with pytest.raises(SigningError, match="name"):
        sign(record, "  ", AT)
    with pytest.raises(SigningError, match="time zone"):
        sign(record, "A", AT.replace(tzinfo=None))
    with pytest.raises(SigningError, match="already"):
        sign(sign(record, "A", AT), "A", AT)
