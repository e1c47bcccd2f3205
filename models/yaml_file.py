"""Reading a YAML file whatever is in it: data, or one sentence."""

from pathlib import Path
from typing import Any

import yaml
from pydantic import ValidationError

_MOST_FAULTS = 5


class YamlError(ValueError):
    """A file cannot be read as YAML; the message is one sentence, with the line where it is known."""


def read_yaml_file(path: Path) -> Any:
    """What a YAML file holds; None for an empty one.

    Raises:
        YamlError: it cannot be read, or is not YAML.
    """
    try:
        return yaml.safe_load(path.read_text(encoding="utf-8"))
    except OSError as error:
        why = error.strerror or str(error)
    except UnicodeDecodeError:
        why = "it is not UTF-8 text"
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        where = f"line {mark.line + 1}: " if mark is not None else ""
        why = f"{where}{error.problem or error.context or 'it is not YAML'}"
    except yaml.YAMLError as error:
        why = str(error)
    except RecursionError:
        why = "its lists and maps are nested too deeply"
    except (ValueError, TypeError, AttributeError, KeyError, IndexError, OverflowError):
        # What the library meets where a date, a number or a tag only looks like one.
        why = "it holds a date or a number that there is not"
    raise YamlError(f"{path} cannot be read as YAML: {' '.join(why.split())}") from None


def faults(error: ValidationError, depth: int | None = None) -> str:
    """What does not fit in a file, on one line.

    Args:
        error: says it for each place.
        depth: so many names of a place are told; all by default.
    """
    found = (
        f"{'.'.join(map(str, fault['loc'][:depth]))}: {fault['msg'].removeprefix('Value error, ')}"
        for fault in error.errors()[:_MOST_FAULTS]
    )
    return " ".join("; ".join(found).split())  # a name may run over several lines
