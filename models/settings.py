"""What a shop may set: config/settings.yaml, overridden by a file in the data folder."""

import os
from importlib.resources import files
from ipaddress import ip_network
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import Field, ValidationError, field_validator, model_validator

from models.frozen import Frozen
from models.patterns import matches
from models.vin import VinError, check_digit, normalized
from models.yaml_file import YamlError, faults, read_yaml_file


class SettingsError(ValueError):
    """A settings file cannot be used; the message says which file, which line of it, and why."""


class WatchSettings(Frozen):
    """How the inbox is watched.

    Attributes:
        settle_s: a file is taken when its size and time have stood still this long (seconds).
        closed_s: or this long, where the system tells that whoever wrote it has closed it (seconds).
        rescan_s: the folder is scanned at least this often (seconds).
        mode: auto, native (events of the operating system) or polling.
    """

    settle_s: float = Field(default=5.0, ge=0, le=86400)
    closed_s: float = Field(default=1.0, ge=0, le=86400)
    rescan_s: float = Field(default=30.0, gt=0, le=86400)
    mode: Literal["auto", "native", "polling"] = "auto"


class SpeechSettings(Frozen):
    """How speech is decoded.

    Attributes:
        model: ``base`` for the installed weights, else the path of a folder with a CTranslate2 model.
        threads: processor threads.
        language: two-letter code of the spoken language.
    """

    model: str = "base"
    threads: int = Field(default=2, ge=1)
    language: str = "en"


class ReviewSettings(Frozen):
    """Where the review pages answer.

    Attributes:
        host: address to listen on; any but this computer's own needs accounts.
        port: 0 takes a free one.
        names: under which names or addresses other computers' browsers call this one.
        inbox: the folder that is watched, for files that phones send; None: phones cannot send.
        trusted_proxies: addresses or networks of proxies in front of the pages. What they say of a request
            (``X-Forwarded-For``: who asks, ``X-Forwarded-Proto``: over https or not) is believed, what others
            say is not. Every program on a computer that is named here is believed likewise.
    """

    host: str = "127.0.0.1"
    port: int = Field(default=8417, ge=0, le=65535)
    names: tuple[Annotated[str, Field(pattern=r"^[A-Za-z0-9.:\-\[\]]+$")], ...] = ()
    inbox: Path | None = None
    trusted_proxies: tuple[str, ...] = ()

    @field_validator("trusted_proxies")
    @classmethod
    def _addresses(cls, proxies: tuple[str, ...]) -> tuple[str, ...]:
        for proxy in proxies:
            try:
                network = ip_network(proxy)
            except ValueError:
                raise ValueError(f"{proxy} is no address (127.0.0.1) and no network (10.1.0.0/24)") from None
            if network.prefixlen == 0:
                raise ValueError(f"{proxy} is everybody: name the proxy's own address")
        return proxies

    @field_validator("inbox")
    @classmethod
    def _whole(cls, inbox: Path | None) -> Path | None:
        found = Path(os.path.expanduser(inbox)) if inbox else None  # noqa: PTH111, which raises
        if found is not None and not found.is_absolute():
            raise ValueError("write the whole path of the folder, from / on")
        return found


_VIN_ADVICE = (
    "Copy it from the truck's plate: 17 letters and digits, never I, O or Q, which are read for 1 and 0."
)
_NORTH_AMERICA = ("1", "2", "3", "4", "5")  # ISO 3780; numbers from elsewhere need no check digit


def _checked_vin(text: str) -> str:
    """A VIN in capitals; it chooses the maker's limits, so one with a mistake is refused."""
    try:
        vin, asked = normalized(text), check_digit(text)
    except VinError as error:
        raise ValueError(f"{error} {_VIN_ADVICE}") from None
    if vin.startswith(_NORTH_AMERICA) and vin[8] != asked:
        raise ValueError(
            f"The check digit of {vin}, its ninth character, is {vin[8]} where the other characters ask for "
            f"{asked}. {_VIN_ADVICE}"
        )
    return vin


class TruckSettings(Frozen):
    """What limits need to know and nobody says aloud; under ``truck`` for every truck of the shop.

    Attributes:
        commercial: the federal motor carrier safety rules (49 CFR 390 to 396) hold for the trucks.
        gross_weight_lb: gross vehicle weight rating in pounds.
        brakes: hydraulic, air or electric.
        shoe_lining: a brake shoe carries one strip of lining, or two pads.
        lining_held_by: linings are bonded or riveted.
        steering: power or manual.
        steering_wheel_in: diameter of the steering wheel in inches.
        rim_in: diameter of the rims at the bead in inches.
        hub_bearings: sealed units, or adjustable tapered rollers.
        engine: diesel or gasoline.
        design_low_degF: the coldest weather to be expected, which coolant must stand (degrees Fahrenheit).
        listed_toe_deg: toe of one wheel as the maker lists it (degrees, toe-in or toe-out).
        rated_stroke_steering_in: stroke marked on brake actuators of the steering axle (inches), for types
            that the tables of Appendix A to 49 CFR Part 396 do not list.
        rated_stroke_other_in: the same on the other axles.
        plan: name of the plan (config/plans) that says what must be measured, unless a plan names the unit.
        vin: the truck's; under ``trucks`` only, where it is that of one unit.
    """

    commercial: bool | None = None
    gross_weight_lb: int | None = None
    brakes: Literal["hydraulic", "air", "electric"] | None = None
    shoe_lining: Literal["strip", "pads"] | None = None
    lining_held_by: Literal["bonding", "rivets"] | None = None
    steering: Literal["power", "manual"] | None = None
    steering_wheel_in: float | None = None
    rim_in: float | None = None
    hub_bearings: Literal["sealed", "adjustable"] | None = None
    engine: Literal["diesel", "gasoline"] | None = None
    design_low_degF: float | None = Field(default=None, ge=-130, le=60, allow_inf_nan=False)
    listed_toe_deg: float | None = Field(default=None, ge=-5, le=5, allow_inf_nan=False)
    rated_stroke_steering_in: float | None = Field(default=None, gt=0, le=6, allow_inf_nan=False)
    rated_stroke_other_in: float | None = Field(default=None, gt=0, le=6, allow_inf_nan=False)
    plan: str | None = None
    vin: str | None = None

    @field_validator("vin", mode="before")
    @classmethod
    def _readable(cls, vin: object) -> object:
        return vin if vin is None or isinstance(vin, bool) else _checked_vin(str(vin))


class SomeTrucksSettings(TruckSettings):
    """What is known of some trucks; what is not given here is as for every truck.

    Attributes:
        units: patterns of what the shop calls them (``*`` stands for any characters).
    """

    units: tuple[str, ...] = Field(min_length=1)


class EndpointSettings(Frozen):
    """A receiver of signed records over HTTP.

    Attributes:
        name: letters, digits and hyphens; what was delivered is remembered under it.
        url: where records are posted to; only this host is ever spoken to.
        secret: ``whsec_`` and base64 of 24 to 64 bytes, which the receiver knows too.
        enabled: False keeps it without delivering.
        timeout_s: seconds until an answer must be there.
    """

    name: str = Field(pattern=r"^[A-Za-z0-9-]{1,40}$")
    url: str = Field(pattern=r"^https?://[^\s/@]+(/\S*)?$")
    secret: str = Field(pattern=r"^whsec_[A-Za-z0-9+/]{32,88}={0,2}$", repr=False)
    enabled: bool = True
    timeout_s: float = Field(default=15.0, gt=0, le=300)


class DeliverySettings(Frozen):
    """Where signed records go.

    Attributes:
        tables: names of the shop's own tables: files in ``delivery`` of the data folder, or shipped ones.
        endpoints: receivers over HTTP.
        automatic: ``droplight watch`` and ``droplight review`` send by themselves what is due.
    """

    tables: tuple[str, ...] = ()
    endpoints: tuple[EndpointSettings, ...] = ()
    automatic: bool = True

    @field_validator("endpoints")
    @classmethod
    def _once(cls, endpoints: tuple[EndpointSettings, ...]) -> tuple[EndpointSettings, ...]:
        names = [endpoint.name for endpoint in endpoints]
        if len(set(names)) < len(names):
            raise ValueError("two endpoints have the same name")
        return endpoints


LEGAL_MONTHS = 14
"""The report of a periodic inspection is kept this long from its date: 49 CFR 396.21(b)."""


class KeepingSettings(Frozen):
    """How long things are kept (calendar months from signing); None keeps them for ever.

    Attributes:
        media_months: sound and pictures of signed records.
        records_months: signed records, with all that belongs to them.
        copies_gb: room for copies of originals on this computer, where they are kept in a store of objects.
    """

    media_months: int | None = Field(default=None, ge=1)
    records_months: int | None = Field(default=None, ge=1)
    copies_gb: float = Field(default=20.0, ge=0)


class LogSettings(Frozen):
    """What is logged.

    Attributes:
        format: plain sentences, or one JSON object a line.
        level: what is less grave is left out.
    """

    format: Literal["plain", "json"] = "plain"
    level: Literal["debug", "info", "warning", "error"] = "warning"


class OperationsSettings(Frozen):
    """Where ``watch`` and ``worker`` answer ``/health`` and ``/metrics``.

    Attributes:
        host: address; any but this computer's own asks for the token of a system account.
        port: None answers nowhere, 0 takes a free one.
    """

    host: str = "127.0.0.1"
    port: int | None = Field(default=None, ge=0, le=65535)


class WorkerSettings(Frozen):
    """How workers on a PostgreSQL database keep time, in seconds.

    Attributes:
        heartbeat_s: a worker says this often that it lives; one that was silent for three times as long is
            dead, and what it had in hand is taken over.
        poll_s: it asks for jobs this often even when no notice of a new one came.
        retry_s: a job that failed is tried again after this long, then after four times as long, and so on.
        reconnect_s: it tries this often to reach a database that does not answer.
    """

    heartbeat_s: float = Field(default=10.0, gt=0)
    poll_s: float = Field(default=5.0, gt=0)
    retry_s: float = Field(default=15.0, ge=0)
    reconnect_s: float = Field(default=5.0, gt=0)

    @property
    def dead_after_s(self) -> float:
        """Silence after which a worker counts as dead."""
        return 3 * self.heartbeat_s


class Settings(Frozen):
    """Everything that may be set.

    Attributes:
        home: the data folder: database, originals, joined weights.
        database_url: SQLAlchemy URL; empty for an SQLite file in ``home``.
        originals_url: where originals are kept: empty for ``home``, a folder that hosts share, or a store of
            objects such as ``s3://bucket/folder``.
        shop: the shop's name on reports.
        truck: what is known of every truck.
        trucks: what is known of some, by unit.
    """

    home: Path = Path("~/.local/share/droplight")
    database_url: str = ""
    originals_url: str = ""
    shop: str = ""
    watch: WatchSettings = WatchSettings()
    speech: SpeechSettings = SpeechSettings()
    review: ReviewSettings = ReviewSettings()
    truck: TruckSettings = TruckSettings()
    trucks: tuple[SomeTrucksSettings, ...] = ()
    delivery: DeliverySettings = DeliverySettings()
    worker: WorkerSettings = WorkerSettings()
    keeping: KeepingSettings = KeepingSettings()
    logs: LogSettings = LogSettings()
    operations: OperationsSettings = OperationsSettings()

    @model_validator(mode="after")
    def _long_enough(self) -> "Settings":
        if self.truck.commercial is not False or any(some.commercial for some in self.trucks):
            for name in ("media_months", "records_months"):
                months = getattr(self.keeping, name)
                if months is not None and months < LEGAL_MONTHS:
                    raise ValueError(
                        f"keeping.{name} is less than the {LEGAL_MONTHS} months of 49 CFR 396.21(b); "
                        "it may be where truck.commercial is false"
                    )
        return self

    def truck_of(self, unit: str | None) -> TruckSettings:
        """What is known of a truck: the first entry of ``trucks`` that names its unit, over ``truck``."""
        for some in self.trucks:
            if unit is not None and any(matches(unit, pattern) for pattern in some.units):
                own = {name: getattr(some, name) for name in some.model_fields_set if name != "units"}
                return self.truck.model_copy(update=own)
        return self.truck

    def store_url(self) -> str:
        """The database to use."""
        return self.database_url or f"sqlite:///{self.home / 'droplight.db'}"


def _merge(base: dict[str, Any], over: dict[str, Any]) -> dict[str, Any]:
    merged = dict(base)
    for key, value in over.items():
        old = merged.get(key)
        merged[key] = _merge(old, value) if isinstance(old, dict) and isinstance(value, dict) else value
    return merged


def _read(path: Path) -> dict[str, Any]:
    try:
        data = read_yaml_file(path)
    except YamlError as error:
        raise SettingsError(str(error)) from None
    if data is None:
        return {}
    if not isinstance(data, dict):
        raise SettingsError(f"{path} must hold 'name: value' lines")
    return data


def load_settings(home: Path | None = None) -> Settings:
    """Settings as shipped, overridden by ``settings.yaml`` in the data folder.

    Args:
        home: the data folder; by default ``$DROPLIGHT_HOME``, else the one that the shipped settings name.

    Raises:
        SettingsError: a file is not YAML, or names a setting that does not exist, or one has a wrong value.
    """
    shipped = Path(str(files("config") / "settings.yaml"))
    data = _read(shipped)
    chosen = home or Path(os.environ.get("DROPLIGHT_HOME") or data.get("home", Settings().home))
    chosen = chosen.expanduser().absolute()
    own = chosen / "settings.yaml"
    if own.exists():
        data = _merge(data, _read(own))
    if url := os.environ.get("DATABASE_URL"):
        data["database_url"] = url
    try:
        return Settings.model_validate({**data, "home": chosen})
    except ValidationError as error:
        raise SettingsError(f"{own if own.exists() else shipped}: {faults(error)}") from None
