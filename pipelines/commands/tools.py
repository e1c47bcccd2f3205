"""What several commands need: the store, the tools, a table of findings."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING

from models.estimate_words import estimate_shown
from models.record import Finding, Record
from models.settings import Settings
from models.units import UNITS
from pipelines.commands.failure import Failure

if TYPE_CHECKING:
    from models.store import Store
    from pipelines.review.case import Reckon, Redraft, Rejudge
    from pipelines.workshop import Workshop


@contextmanager
def open_store(settings: Settings) -> Iterator["Store"]:
    """The store, closed at the end.

    Raises:
        Failure: it cannot be opened.
    """
    from models.store import Store, StoreError

    try:
        settings.home.mkdir(parents=True, exist_ok=True)
        store = Store.open(settings.store_url())
    except (StoreError, OSError) as error:
        raise Failure(f"The data in {settings.home} cannot be opened: {error}") from None
    try:
        yield store
    except StoreError as error:
        raise Failure(f"The data in {settings.home}: {error}") from None
    finally:
        store.close()


@contextmanager
def sending(store: "Store", settings: Settings) -> Iterator[None]:
    """While it lasts, signed records go to the receivers by themselves, unless the settings say no.

    Raises:
        Failure: the secret of a receiver cannot be used.
    """
    receivers = [e for e in settings.delivery.endpoints if e.enabled]
    if not receivers or not settings.delivery.automatic:
        yield
        return
    from pipelines.delivery.background import BackgroundSender
    from pipelines.delivery.webhook import SecretError

    try:
        sender = BackgroundSender(store, receivers)
    except SecretError as error:
        raise Failure(f"{error} It stands under delivery.endpoints in settings.yaml.") from None
    print(f"Signed records are sent to: {', '.join(e.name for e in receivers)}.", flush=True)
    sender.start()
    try:
        yield
    finally:
        sender.stop()


def workshop(settings: Settings) -> "Workshop":
    """The tools for the whole way.

    Raises:
        Failure: weights, vocabulary, limits or instruments cannot be used.
    """
    from models.limits import LimitsError
    from models.vocabulary import VocabularyError
    from pipelines.displays.gauges import GaugeError
    from pipelines.speech.weights import WeightsError
    from pipelines.workshop import open_workshop

    try:
        return open_workshop(settings)
    except (WeightsError, VocabularyError, LimitsError, GaugeError) as error:
        raise Failure(str(error)) from None


def rejudging(settings: Settings) -> "Rejudge":
    """Judges findings again after a reviewer changed some.

    Raises:
        Failure: the limits or rules cannot be used.
    """
    from models.limits import LimitsError
    from models.limits.facts import head_facts
    from pipelines.judging import judge
    from pipelines.workshop import shop_limits, shop_rules

    try:
        limits, rules = shop_limits(settings), shop_rules(settings)
    except LimitsError as error:
        raise Failure(str(error)) from None

    def rejudge(record: Record) -> Sequence[Finding]:
        head = record.inspection
        about = head_facts(head.unit, head.vin)
        return judge(record.findings, limits, settings.truck_of(head.unit), rules, about)

    return rejudge


def reckoning(settings: Settings) -> "Reckon":
    """Finds the estimate of a record anew after a reviewer decided something.

    Raises:
        Failure: the shop's table of repairs cannot be used.
    """
    from models.limits import LimitsError
    from pipelines.draw_up import with_estimate
    from pipelines.workshop import shop_repairs

    try:
        repairs = shop_repairs(settings)
    except LimitsError as error:
        raise Failure(str(error)) from None
    return lambda record: with_estimate(record, repairs)


def redrafting(store: "Store", settings: Settings) -> "Redraft":
    """Draws a draft up again after a capture joined it; the tools are only made ready when it is needed."""

    def redraft(inspection: str) -> object:
        from pipelines.order import redraft as draw_again

        return draw_again(store, inspection, workshop(settings))

    return redraft


@contextmanager
def watched_over(settings: Settings, store: "Store") -> Iterator[None]:
    """Answers ``/health`` and ``/metrics`` meanwhile, if the settings say where.

    Raises:
        Failure: it cannot answer there.
    """
    from pipelines.operations.listening import ListenError, listening

    try:
        with listening(settings.operations, store, settings.home) as address:
            if address:
                print(f"Health and figures: {address}/health {address}/metrics", flush=True)
            yield
    except ListenError as error:
        raise Failure(str(error)) from None


def reading_words(finding: Finding) -> str:
    """The reading of a finding as a person writes it: ``6.0 mm``."""
    if finding.reading is None:
        return ""
    return f"{finding.reading.value:f} {UNITS[finding.reading.unit].words}"


def _cells(finding: Finding, asked: str) -> tuple[str, ...]:
    marks = [*finding.conditions, *([finding.action] if finding.action else [])]
    part = finding.component or "not said"
    measure = finding.reading.measure if finding.reading else ""
    return (
        part.replace("_", " "),
        finding.position.words(),
        measure.replace("_", " "),
        reading_words(finding),
        ", ".join(mark.replace("_", " ") for mark in marks),
        finding.verdict.word if finding.verdict else "",
        asked,
    )


def print_record(record: Record) -> None:
    """A draft as a table on the terminal, and below it what a person has to look at."""
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    console = Console(highlight=False)
    table = Table(
        title=f"Draft for unit {record.inspection.unit or 'unknown'}", title_justify="left", box=None
    )
    for heading in ("Part", "Place", "Measure", "Reading", "Condition", "Verdict", "Look"):
        table.add_column(heading, overflow="fold")
    asked = [f for f in record.findings if f.attention]
    for f in record.findings:
        number = str(asked.index(f) + 1) if f.attention else ""
        table.add_row(*(Text(cell) for cell in _cells(f, number)))
    console.print(table)
    odometer = record.inspection.odometer
    if odometer is not None:
        console.print(f"Odometer {odometer.value.normalize():f} {UNITS[odometer.unit].words}")
    if asked:
        console.print(f"\nLook before accepting ({len(asked)} of {len(record.findings)}):")
    for place, f in enumerate(asked, 1):
        console.print(Text(f"{place:3} {' '.join(f.attention)}"))
    for notice in record.notices:
        console.print(Text(f"  - {notice}"))
    shown = estimate_shown(record.estimate)
    for part in shown.parts if shown is not None else ():
        console.print(Text(f"\n{part.title}, together {part.total}:"))
        for row in part.rows:
            console.print(Text(f"  {row.work}: {row.total}. {row.reason}"))
