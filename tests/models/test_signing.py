import json
from datetime import UTC, datetime
from decimal import Decimal

import pytest

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


def test_a_number_without_an_exact_form_is_refused() -> None:
    with pytest.raises(SigningError, match="canonical"):
        canonical_bytes({"n": float("nan")})


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
