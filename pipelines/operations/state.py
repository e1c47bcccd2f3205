"""How the work stands, in words; what needs a person is raised."""

import urllib.error
import urllib.request
from datetime import datetime
from typing import TYPE_CHECKING

from models.settings import OperationsSettings

if TYPE_CHECKING:
    from models.store import Store

LONG_S = 3600.0
"""A capture that waits this long is not being worked on."""
_DRAFTS_READ = 200


def lasted(seconds: float) -> str:
    """A time span as people say it."""
    for size, name in ((86400, "days"), (3600, "hours"), (60, "minutes")):
        if seconds >= 2 * size:
            return f"{seconds / size:.0f} {name}"
    return f"{seconds:.0f} seconds"


def work_state(store: "Store", now: datetime) -> str:
    """What waits to be worked on, and how much of the drafts asks for a look.

    Args:
        store: the state.
        now: the time.

    Raises:
        RuntimeError: captures wait for too long, or were given up.
    """
    found = store.figures()
    parts = [f"{found.captures} captures", f"{found.open} inspections to sign"]
    if found.tray:
        parts.append(f"{found.tray} in the tray")
    parts.append(_looks(store))
    if store.jobs is not None:
        jobs = store.jobs.counts()
        if jobs.failed:
            raise RuntimeError(
                f"{jobs.failed} captures were given up after several tries: droplight worker --retry"
            )
        if found.waiting and not jobs.workers:
            raise RuntimeError(
                f"{found.waiting} captures wait and no worker is running: start droplight worker"
            )
        parts.append(f"{jobs.workers} workers")
    age = found.queue_age_s(now)
    if age > LONG_S:
        raise RuntimeError(
            f"{found.waiting} captures wait, the first for {lasted(age)}: is droplight watch running, "
            "and what does it say?"
        )
    parts.append(f"{found.waiting} wait, the first for {lasted(age)}" if found.waiting else "nothing waits")
    return ", ".join(parts)


def _looks(store: "Store") -> str:
    rows = [row for row in store.inspections() if row.state == "open"][:_DRAFTS_READ]
    drafts = [draft for row in rows if (draft := store.draft(row.id)) is not None]
    findings = [finding for draft in drafts for finding in draft.findings]
    flagged = sum(1 for finding in findings if finding.attention)
    return f"{flagged} of {len(findings)} findings to look at"


def delivery_state(store: "Store") -> str:
    """What is on its way to receivers.

    Raises:
        RuntimeError: deliveries were given up, or a receiver is closed.
    """
    found = store.figures()
    if found.deliveries_dead:
        dead = store.deliveries.all("dead")[-1]
        raise RuntimeError(
            f"{found.deliveries_dead} deliveries were given up, the last to {dead.endpoint} ({dead.problem})"
            ": droplight deliver --resend"
        )
    if closed := store.deliveries.closed():
        name, why = next(iter(closed.items()))
        raise RuntimeError(f"{name} is closed ({why}): droplight deliver --resend")
    return f"{found.deliveries_waiting} waiting" if found.deliveries_waiting else "none waiting"


def process_state(settings: OperationsSettings) -> str:
    """What the program that answers at the port of the settings has done since it began.

    Raises:
        RuntimeError: nothing answers there.
    """
    if not settings.port:
        return "not shown (set operations.port to see what watch or worker does)"
    url = f"http://{settings.host}:{settings.port}/metrics"
    try:
        with urllib.request.urlopen(url, timeout=5) as answer:
            text = answer.read().decode()
    except (OSError, urllib.error.URLError) as error:
        raise RuntimeError(
            f"nothing answers at {url} ({error}): is droplight watch or worker running?"
        ) from None
    return in_words(text)


def in_words(text: str) -> str:
    """The counters of a process in a sentence.

    Args:
        text: in Prometheus' format.
    """
    from prometheus_client.parser import text_string_to_metric_families

    values: dict[tuple[str, str], float] = {}
    for family in text_string_to_metric_families(text):
        for sample in family.samples:
            values[(sample.name, sample.labels.get("stage", ""))] = sample.value
    parts = []
    for stage in sorted({s for name, s in values if name == "droplight_stage_seconds_count" and s}):
        count = values[("droplight_stage_seconds_count", stage)]
        mean = values[("droplight_stage_seconds_sum", stage)] / count if count else 0.0
        parts.append(f"{stage} {count:.0f} times, {mean:.2f} s each")
    hearing = values.get(("droplight_stage_seconds_sum", "transcript"), 0.0)
    sound = values.get(("droplight_sound_seconds_total", ""), 0.0)
    if hearing and sound:
        parts.append(f"{sound / hearing:.1f} seconds of sound a second")
    findings = values.get(("droplight_findings_total", ""), 0.0)
    if findings:
        flagged = values.get(("droplight_findings_flagged_total", ""), 0.0)
        parts.append(f"{flagged:.0f} of {findings:.0f} findings to look at")
    return "; ".join(parts) or "nothing done yet"
