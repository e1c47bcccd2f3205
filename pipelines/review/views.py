"""What the pages of a whole record and of the list show, worked out before any markup."""

from collections.abc import Mapping

from models.frozen import Frozen
from models.record import Finding, LimitUsed, Record
from models.signing import DECIDED
from models.store import Store
from models.store.store import AMENDMENT
from pipelines.review import words as w
from pipelines.review.case import Case, Rejudge, load_case, shown_record
from pipelines.review.one_finding import FindingView, finding_view
from pipelines.review.scale import Pointer


class Tally(Frozen):
    """How far a record is: findings, those decided, those still open that need a look, and plain ones."""

    findings: int = 0
    decided: int = 0
    attention: int = 0
    plain: int = 0


class ListLine(Frozen):
    """One inspection on the list; an amendment takes in no files."""

    id: str
    unit: str
    dates: str
    state: str
    files: int
    tally: Tally
    amendment: bool


def is_open(finding: Finding) -> bool:
    """Nobody has decided yet."""
    return finding.review is None or finding.review.state not in DECIDED


def is_plain(finding: Finding) -> bool:
    """Open, without a doubt, and about a part that was named: may be confirmed together with others."""
    return is_open(finding) and not finding.attention and finding.component is not None


def tally(record: Record | None) -> Tally:
    """How far a record is."""
    findings = record.findings if record else ()
    waiting = [f for f in findings if is_open(f)]
    return Tally(
        findings=len(findings),
        decided=len(findings) - len(waiting),
        attention=sum(1 for f in waiting if f.attention),
        plain=sum(1 for f in waiting if is_plain(f)),
    )


def finding_views(
    case: Case, pointers: Mapping[str, Pointer], attention_first: bool = False
) -> tuple[FindingView, ...]:
    """Every finding of an inspection, in walk-round order; those that came with a doubt first if wished.

    Args:
        case: the inspection.
        pointers: finding id -> where it stands on a drawn axis.
        attention_first: those with a doubt first.
    """
    if case.record is None:
        return ()
    captures = {c.sha256: c for c in case.record.captures}
    numbers = {f.id: n for n, f in enumerate(case.record.findings, 1)}
    findings = ordered(case.record.findings, attention_first)
    wear: dict[str, tuple[str, ...]] = {}
    for worn in case.record.wear:
        wear[worn.finding] = (*wear.get(worn.finding, ()), worn.sentence)
    return tuple(
        finding_view(f, numbers[f.id], captures, pointers.get(f.id), wear.get(f.id, ())) for f in findings
    )


def ordered(findings: tuple[Finding, ...], attention_first: bool) -> list[Finding]:
    """Findings in the order of the page.

    By doubt alone, decided or not: a finding must not jump away under the reviewer's eyes.
    """
    return sorted(findings, key=lambda f: attention_first and not f.attention)


def limits_of(record: Record | None) -> tuple[LimitUsed, ...]:
    """Every limit that a verdict names without quoting it, once: the page tells them at its end."""
    named: dict[tuple[str, ...], LimitUsed] = {}
    for verdict in (f.verdict for f in (record.findings if record else ()) if f.verdict is not None):
        quoted = verdict.limit is None or verdict.limit.source in verdict.sentence
        for limit in (*(() if quoted or verdict.limit is None else (verdict.limit,)), *verdict.others):
            named.setdefault(w.limit_key(limit), limit)
    return tuple(named.values())


def _dates(start: str, end: str) -> str:
    if start == end:
        return start
    return f"{start} to {end[11:]}" if start[:10] == end[:10] else f"{start} to {end}"


def dates_of(case: Case) -> str:
    """From the first to the last capture, in words."""
    return _dates(w.time_words(case.row.started_at), w.time_words(case.row.ended_at))


def list_lines(store: Store, first: int, count: int, rejudge: Rejudge | None = None) -> list[ListLine]:
    """Inspections for the list, newest first.

    Args:
        store: where they are kept.
        first: how many to leave out at the top.
        count: how many to give at most.
        rejudge: as for :func:`load_case`.
    """
    lines = []
    for row in store.inspections()[first : first + count]:
        case = load_case(store, row.id, rejudge)
        if case is None:
            continue
        lines.append(
            ListLine(
                id=row.id,
                unit=unit_of(case),
                dates=dates_of(case),
                state="signed" if case.signed else "drafted" if case.record else "being drafted",
                files=len(store.captures(row.id)),
                tally=tally(case.record),
                amendment=bool(amends(case)),
            )
        )
    return lines


def unit_of(case: Case) -> str:
    """What the shop calls the truck, or that nobody has said."""
    named = (case.record.inspection.unit if case.record else None) or case.row.unit
    return f"Unit {named}" if named else "Unit not named"


def odometer_of(case: Case) -> str:
    """The distance counter in words; empty when not given."""
    odometer = case.record.inspection.odometer if case.record else None
    return w.value_words(odometer.value, odometer.unit) if odometer else ""


def page_print(case: Case) -> str:
    """Digest of everything on the page of an inspection; empty without a record."""
    return shown_record(case.record) if case.record else ""


def amends(case: Case) -> str:
    """The id of the signed inspection that this one puts right; empty when it is an inspection of its own."""
    folder = case.row.folder
    return folder.removeprefix(AMENDMENT) if folder.startswith(AMENDMENT) else ""


def amended_by(store: Store, case: Case) -> list[str]:
    """The ids of signed amendments of a signed inspection."""
    if not case.signed:
        return []
    rows = store.inspections(signed_unit="")
    return [row.id for row in rows if row.folder == f"{AMENDMENT}{case.row.id}"]
