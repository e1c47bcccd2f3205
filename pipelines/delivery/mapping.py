"""A shop's own table: their columns from our fields. See config/delivery/work_orders.yaml."""

import csv
import io
from importlib.resources import files
from pathlib import Path
from typing import Literal

from pydantic import ValidationError, field_validator

from models.frozen import Frozen
from models.record import Record
from models.vocabulary import load_vocabulary
from models.yaml_file import YamlError, faults, read_yaml_file
from pipelines.delivery.table import COLUMNS, harmless, rows

_DELIMITERS = {",": ",", ";": ";", "tab": "\t"}


class MappingError(ValueError):
    """A mapping file cannot be used; the message says which, where and why."""


class Fixed(Frozen):
    """The same text in every row."""

    text: str


class Mapping(Frozen):
    """A table of a shop's own.

    Attributes:
        delimiter: between columns.
        only: rows with one of these actions; empty for all.
        columns: their heading -> our column, several joined by a blank, or a fixed text.
    """

    delimiter: Literal[",", ";", "tab"] = ","
    only: tuple[str, ...] = ()
    columns: dict[str, str | tuple[str, ...] | Fixed]

    @field_validator("columns")
    @classmethod
    def _known(
        cls, columns: dict[str, str | tuple[str, ...] | Fixed]
    ) -> dict[str, str | tuple[str, ...] | Fixed]:
        if not columns:
            raise ValueError("name at least one column")
        for heading, source in columns.items():
            names = (source,) if isinstance(source, str) else source if isinstance(source, tuple) else ()
            for name in names:
                if name not in COLUMNS:
                    raise ValueError(f"{heading}: '{name}' is no column; known: {', '.join(COLUMNS)}")
        return columns

    @field_validator("only")
    @classmethod
    def _actions(cls, only: tuple[str, ...]) -> tuple[str, ...]:
        actions = load_vocabulary().actions
        for action in only:
            if action not in actions:
                raise ValueError(f"'{action}' is no action; known: {', '.join(actions)}")
        return only


def load_mapping(name: str, home: Path) -> Mapping:
    """The mapping of this name: the shop's own file in ``home/delivery``, else a shipped one.

    Raises:
        MappingError: there is none, or it names a column or action that does not exist.
    """
    own = home / "delivery" / f"{name}.yaml"
    path = own if own.exists() else Path(str(files("config") / "delivery" / f"{name}.yaml"))
    if Path(name).name != name or not path.exists():
        raise MappingError(f"There is no table '{name}': put {name}.yaml into {home / 'delivery'}.")
    try:
        return Mapping.model_validate(read_yaml_file(path))
    except ValidationError as error:
        raise MappingError(f"{path}: {faults(error, depth=2)}") from None
    except YamlError as error:
        raise MappingError(str(error)) from None


def _cell(source: str | tuple[str, ...] | Fixed, row: dict[str, str]) -> str:
    if isinstance(source, Fixed):
        return harmless(source.text)
    names = (source,) if isinstance(source, str) else source
    return " ".join(row[name] for name in names if row[name])


def mapped_table(record: Record, mapping: Mapping) -> str:
    """The record as the CSV that a mapping asks for."""
    out = io.StringIO()
    writer = csv.writer(out, delimiter=_DELIMITERS[mapping.delimiter], lineterminator="\r\n")
    writer.writerow([harmless(heading) for heading in mapping.columns])
    for row in rows(record):
        if not mapping.only or row["action"] in mapping.only:
            writer.writerow([_cell(source, row) for source in mapping.columns.values()])
    return out.getvalue()
