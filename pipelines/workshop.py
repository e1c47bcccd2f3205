"""The tools that the order of work uses: loaded once, handed to every step."""

import logging
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Protocol

import numpy as np
import numpy.typing as npt

from capture.originals import Originals, open_originals
from models.display import DisplayReading
from models.labels import SeenText
from models.limits import Limits
from models.plans import Plans
from models.repairs import RepairTable
from models.rules import Rules
from models.settings import Settings
from models.vocabulary import Vocabulary
from pipelines.deadline import Patience
from pipelines.displays.gauges import Gauge, load_gauges
from pipelines.speech.listener import Listener

Pixels = npt.NDArray[np.uint8]
ReadDisplay = Callable[[Pixels, str], DisplayReading]
ReadPrint = Callable[[Pixels], list[tuple[str, float]]]
ReadCodes = Callable[[Pixels], list[SeenText]]

_log = logging.getLogger("droplight.workshop")

_JOBS = "pipelines.recogniser_jobs"
# Address space, of which the libraries reserve far more than they use.
_MEMORY = 8 << 30
_LEFT_ALONE_S = 60.0


class Artefacts(Protocol):
    """Where a stage's product is kept under a unique key."""

    def artefact(self, owner: str, stage: str, version: str) -> str | None:
        """The product as JSON, or None."""
        ...

    def put_artefact(self, owner: str, stage: str, version: str, payload: str) -> None:
        """Keep it; does nothing when the key is there already."""
        ...


def _nothing() -> None:
    return


@dataclass(frozen=True)
class Workshop:
    """Everything a step needs.

    Attributes:
        settings: as loaded, with the data folder.
        vocabulary: the shop's language.
        limits: what readings are held against.
        listener: hears speech.
        read_display: reads a photo.
        read_print: reads printed text of a photo without a display; None leaves that out.
        read_codes: reads bar codes; None leaves that out.
        plans: what must be measured on which truck.
        rules: what several findings together suggest.
        repairs: the shop's table of hours and prices; None: no estimates.
        gauges: the shop's instruments; readings that none of them can show are questioned.
        patience: remembers which files a recogniser failed on.
        ready: loads the listener's models, so that the first note need not wait for them.
        stop_listener: ends the listener's work in hand.
        stop_reader: ends the photo reader's work in hand.
        deadline_s: how long the recogniser may take for one second of sound before it is given up.
    """

    settings: Settings
    vocabulary: Vocabulary
    limits: Limits
    listener: Listener
    read_display: ReadDisplay
    deadline_s: float = 20.0
    read_print: ReadPrint | None = None
    read_codes: ReadCodes | None = None
    plans: Plans = field(default_factory=Plans)
    rules: Rules = ()
    repairs: RepairTable | None = None
    gauges: tuple[Gauge, ...] = ()
    patience: Patience = field(default_factory=Patience)
    ready: Callable[[], None] = _nothing
    stop_listener: Callable[[], None] = _nothing
    stop_reader: Callable[[], None] = _nothing

    def make_ready(self) -> None:
        """Load the listener's models, if they can be loaded now; else the first note tries again."""
        try:
            self.ready()
        except Exception:
            _log.debug("The speech model could not be loaded yet.", exc_info=True)

    @cached_property
    def vocabulary_json(self) -> str:
        """The vocabulary as text, by which products that rest on it are told apart."""
        return self.vocabulary.model_dump_json()

    @property
    def home(self) -> Path:
        """The data folder."""
        return self.settings.home

    @property
    def originals(self) -> Originals:
        """Where originals are kept."""
        return open_originals(self.settings.home, self.settings.originals_url)


def open_workshop(settings: Settings) -> Workshop:
    """The real tools. Weights are looked for now, so that what is missing is said before any work.

    Raises:
        WeightsError: the speech weights are missing or damaged.
        VocabularyError: the vocabulary cannot be used.
        LimitsError: a file of limits, plans or rules cannot be used.
        GaugeError: the file of instruments cannot be used.
    """
    from capture.apart import Helper
    from models.vocabulary import load_vocabulary
    from pipelines.recognisers import FarListener, FarReader, Recogniser
    from pipelines.speech.weights import model_folder

    speech = settings.speech
    told = ("speech", str(model_folder(speech.model)), str(speech.threads), speech.language)
    hears = Recogniser(Helper(_JOBS, told, _MEMORY))
    reads = Recogniser(Helper(_JOBS, ("displays",), _MEMORY))
    listener, reader = FarListener(hears), FarReader(reads)
    return Workshop(
        settings=settings,
        vocabulary=load_vocabulary(),
        limits=shop_limits(settings),
        listener=listener,
        read_display=reader.read_display,
        read_print=reader.read_print,
        read_codes=reader.read_codes,
        plans=shop_plans(settings),
        rules=shop_rules(settings),
        repairs=shop_repairs(settings),
        gauges=shop_gauges(settings),
        patience=Patience(first_s=_LEFT_ALONE_S),
        ready=listener.ready,
        stop_listener=hears.stop,
        stop_reader=reads.stop,
    )


def shop_limits(settings: Settings) -> Limits:
    """The shipped limits and the shop's own, from the folder ``limits`` of the data folder.

    Raises:
        LimitsError: a limits file cannot be used.
    """
    from models.limits import load_limits

    own = settings.home / "limits"
    return load_limits(own=own) if own.is_dir() else load_limits()


def shop_plans(settings: Settings) -> Plans:
    """The shipped plans and the shop's own, from the folder ``plans`` of the data folder.

    Raises:
        ConfigError: a plan cannot be used, or the settings choose one that does not exist.
    """
    from models.plans import load_plans

    plans = [truck.plan for truck in (settings.truck, *settings.trucks) if truck.plan is not None]
    return load_plans(own=settings.home / "plans", chosen=plans)


def shop_rules(settings: Settings) -> Rules:
    """The shipped rules with the shop's own over them, from ``rules.yaml`` of the data folder.

    Raises:
        ConfigError: a rule cannot be used.
    """
    from models.rules import load_rules

    return load_rules(own=settings.home / "rules.yaml")


def shop_gauges(settings: Settings) -> tuple[Gauge, ...]:
    """The shop's instruments: ``gauges.yaml`` of the data folder, else the shipped ones.

    Raises:
        GaugeError: the file cannot be used.
    """
    own = settings.home / "gauges.yaml"
    return load_gauges(own if own.exists() else None)


def shop_repairs(settings: Settings) -> RepairTable | None:
    """The shop's table of hours and prices, from ``repairs.yaml`` of the data folder; None without one.

    Raises:
        ConfigError: the table cannot be used.
    """
    from models.repairs import load_repairs

    return load_repairs(settings.home / "repairs.yaml")
