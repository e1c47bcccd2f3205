"""`droplight doctor`: what is missing on this computer and what to do."""

import argparse
import shutil
import sys
import tempfile
from collections.abc import Callable
from datetime import UTC, datetime

from models.settings import Settings

EXAMPLE = "droplight doctor"
_LEAST_FREE = 2 * 1024**3


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The words of the command."""


def _python(settings: Settings) -> str:
    return sys.version.split()[0]


def _weights(settings: Settings) -> str:
    from pipelines.speech.weights import check_weights

    return str(check_weights(settings.speech.model))


def _tesseract(settings: Settings) -> str:
    from pipelines.displays import tesseract_version

    return str(tesseract_version())


def _displays(settings: Settings) -> str:
    from pipelines.displays import VERSION

    return f"reader version {VERSION}"


def _home(settings: Settings) -> str:
    settings.home.mkdir(parents=True, exist_ok=True)
    with tempfile.NamedTemporaryFile(dir=settings.home) as probe:
        probe.write(b"x")
    return str(settings.home)


def _disk(settings: Settings) -> str:
    where = next(p for p in (settings.home, *settings.home.parents) if p.exists())
    free = shutil.disk_usage(where).free
    if free < _LEAST_FREE:
        raise RuntimeError(f"only {free / 1e9:.1f} GB are free under {where}: make room")
    return f"{free / 1e9:.0f} GB free under {where}"


def _database(settings: Settings) -> str:
    from models.store import Store

    store = Store.open(settings.store_url())
    try:
        count = len(store.inspections())
    finally:
        store.close()
    return f"{count} inspections"


def _originals(settings: Settings) -> str:
    from capture.originals import open_originals

    return open_originals(settings.home, settings.originals_url).check()


def _work(settings: Settings) -> str:
    from models.store import Store
    from pipelines.operations.state import work_state

    store = Store.open(settings.store_url())
    try:
        return work_state(store, datetime.now(UTC))
    finally:
        store.close()


def _deliveries(settings: Settings) -> str:
    from models.store import Store
    from pipelines.operations.state import delivery_state

    store = Store.open(settings.store_url())
    try:
        return delivery_state(store)
    finally:
        store.close()


def _figures(settings: Settings) -> str:
    from pipelines.operations.state import process_state

    return process_state(settings.operations)


def _vocabulary(settings: Settings) -> str:
    from models.vocabulary import load_vocabulary

    return f"{len(load_vocabulary().components)} parts"


def _limits(settings: Settings) -> str:
    from pipelines.workshop import shop_limits

    shop_limits(settings)
    own = settings.home / "limits"
    return f"shipped limits and {own}" if own.is_dir() else "shipped limits"


def _plans(settings: Settings) -> str:
    from pipelines.workshop import shop_plans

    names = ", ".join(sorted(shop_plans(settings).by_name))
    return f"{settings.truck.plan or 'none chosen'} (there are {names})"


def _rules(settings: Settings) -> str:
    from pipelines.workshop import shop_rules

    return f"{len(shop_rules(settings))} for suggestions"


def _gauges(settings: Settings) -> str:
    from pipelines.workshop import shop_gauges

    return ", ".join(g.words[0] for g in shop_gauges(settings))


def _repairs(settings: Settings) -> str:
    from pipelines.workshop import shop_repairs

    table = shop_repairs(settings)
    return f"{len(table.repairs)} for estimates" if table is not None else "no table: no estimates"


CHECKS: dict[str, Callable[[Settings], str]] = {
    "Python": _python,
    "data folder": _home,
    "disk": _disk,
    "database": _database,
    "originals": _originals,
    "work": _work,
    "deliveries": _deliveries,
    "figures": _figures,
    "speech weights": _weights,
    "display reader": _displays,
    "Tesseract": _tesseract,
    "vocabulary": _vocabulary,
    "limits": _limits,
    "plans": _plans,
    "rules": _rules,
    "repairs": _repairs,
    "instruments": _gauges,
}


def run(args: argparse.Namespace, settings: Settings) -> int:
    """Check everything; 1 when something is wrong."""
    wrong = 0
    width = max(map(len, CHECKS))
    for name, check in CHECKS.items():
        try:
            print(f"good   {name:{width}}  {check(settings)}")
        except Exception as error:
            wrong += 1
            print(f"WRONG  {name:{width}}  {error}")
    print("Everything is in order." if not wrong else f"{wrong} thing(s) to put right.")
    return 1 if wrong else 0
