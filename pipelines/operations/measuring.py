"""What a process counts while it works, in Prometheus' form.

Counters are of this process since it began; what waits is counted in the database when somebody asks.
"""

import logging
import time
from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Protocol

from prometheus_client import CollectorRegistry, Counter, Histogram, generate_latest
from prometheus_client.core import GaugeMetricFamily
from prometheus_client.registry import Collector

from models.capture import Capture
from models.record import Record
from models.store import Store
from models.trace import trace_of

REGISTRY = CollectorRegistry()
STAGE_SECONDS = Histogram(
    "droplight_stage_seconds",
    "How long a stage took for one capture (seconds)",
    ["stage"],
    buckets=(0.01, 0.03, 0.1, 0.3, 1, 3, 10, 30, 100, 300, 1000),
    registry=REGISTRY,
)
SOUND_SECONDS = Counter("droplight_sound_seconds", "Sound transcribed (seconds)", registry=REGISTRY)
STAGES_FAILED = Counter("droplight_stages_failed", "Stages that could not be done", registry=REGISTRY)
FINDINGS = Counter("droplight_findings", "Findings drafted from captures", registry=REGISTRY)
FLAGGED = Counter("droplight_findings_flagged", "Those that ask for a person's look", registry=REGISTRY)

_log = logging.getLogger("droplight.stages")


class _Kept(Protocol):
    def artefact(self, owner: str, stage: str, version: str) -> str | None: ...
    def put_artefact(self, owner: str, stage: str, version: str, payload: str) -> None: ...


class Measured:
    """Keeps what stages make and notes how long each took: from being asked for to being kept."""

    def __init__(self, kept: _Kept, capture: Capture) -> None:
        self._kept = kept
        self._capture = capture
        self._began: dict[str, float] = {}

    def artefact(self, owner: str, stage: str, version: str) -> str | None:
        """The product as JSON, or None."""
        found = self._kept.artefact(owner, stage, version)
        if found is None:
            self._began[stage] = time.perf_counter()
        return found

    def put_artefact(self, owner: str, stage: str, version: str, payload: str) -> None:
        """Keep it; does nothing when the key is there already."""
        self._kept.put_artefact(owner, stage, version, payload)
        began = self._began.pop(stage, None)
        if began is None:
            return
        seconds = time.perf_counter() - began
        STAGE_SECONDS.labels(stage).observe(seconds)
        sound_s = self._capture.duration_s or 0.0
        if stage == "transcript":
            SOUND_SECONDS.inc(sound_s)
        extra = {"stage": stage, "seconds": round(seconds, 3), "sound_s": sound_s, "file": owner[:16]}
        name = self._capture.original_name
        _log.info("%s of %s made in %.2f s.", stage, name, seconds, extra=extra | {"trace": trace_of(owner)})


def count_findings(record: Record | None, sha256: str) -> None:
    """Count what one capture brought into a draft, once it was worked on."""
    if record is None:
        return
    own = [f for f in record.findings if any(e.capture == sha256 for e in f.evidence)]
    flagged = sum(1 for f in own if f.attention)
    FINDINGS.inc(len(own))
    FLAGGED.inc(flagged)
    extra = {
        "inspection": record.inspection.id,
        "captures": [trace_of(c.sha256) for c in record.captures],
        "findings": len(own),
        "flagged": flagged,
    }
    _log.info("Draft of unit %s drawn up.", record.inspection.unit or "unknown", extra=extra)


class _Waiting(Collector):
    def __init__(self, store: Store) -> None:
        self._store = store

    def collect(self) -> Iterator[GaugeMetricFamily]:
        now, found = datetime.now(UTC), self._store.figures()
        numbers = {
            "droplight_captures": ("Captures taken in", found.captures),
            "droplight_queue_captures": ("Captures that no recogniser has been through", found.waiting),
            "droplight_queue_age_seconds": ("For how long the first of them waits", found.queue_age_s(now)),
            "droplight_tray_captures": ("Captures that belong to no inspection", found.tray),
            "droplight_inspections_open": ("Inspections that are not signed", found.open),
            "droplight_inspections_signed": ("Signed inspections", found.signed),
            "droplight_files_rejected": ("Files that could not be taken in", found.rejected),
            "droplight_deliveries_waiting": ("Records a receiver does not have", found.deliveries_waiting),
            "droplight_deliveries_dead": ("Deliveries that were given up", found.deliveries_dead),
        }
        if self._store.jobs is not None:
            jobs = self._store.jobs.counts()
            numbers["droplight_jobs_failed"] = ("Jobs that were given up", jobs.failed)
            numbers["droplight_jobs_running"] = ("Jobs in hand", jobs.running)
            numbers["droplight_workers"] = ("Workers that are alive", jobs.workers)
        for name, (words, value) in numbers.items():
            yield GaugeMetricFamily(name, words, value)


def exposition(store: Store) -> bytes:
    """Everything that is counted, as text in Prometheus' format."""
    waiting = CollectorRegistry()
    waiting.register(_Waiting(store))
    return generate_latest(REGISTRY) + generate_latest(waiting)
