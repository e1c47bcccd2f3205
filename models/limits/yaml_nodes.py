"""YAML with line numbers and exact numbers: every scalar stays the text that was written."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import yaml

_LOADER: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


class ConfigError(ValueError):
    """A file of limits, plans or rules cannot be used; the message names file, line and what to do."""


LimitsError = ConfigError


class Entry:
    """One node of a YAML file that knows where it stands.

    Attributes:
        where: file and line, for messages.
    """

    def __init__(self, node: yaml.Node, path: Path) -> None:
        self._node = node
        self._path = path
        self.where = f"{path}, line {node.start_mark.line + 1}"

    def fail(self, why: str) -> ConfigError:
        """The error to raise about this node, on one line: a name may run over several."""
        return ConfigError(f"{self.where}: {' '.join(why.split())}")

    def text(self) -> str:
        """The scalar as written.

        Raises:
            ConfigError: the node is no scalar, or an empty one.
        """
        if not isinstance(self._node, yaml.ScalarNode) or not self._node.value.strip():
            raise self.fail("a word or a number must stand here")
        return str(self._node.value.strip())

    def is_list(self) -> bool:
        """Whether the node is a list."""
        return isinstance(self._node, yaml.SequenceNode)

    def is_map(self) -> bool:
        """Whether the node holds 'name: value' pairs."""
        return isinstance(self._node, yaml.MappingNode)

    def items(self) -> Iterator["Entry"]:
        """The entries of a list; a single scalar counts as a list of one.

        Raises:
            ConfigError: the node holds 'name: value' pairs.
        """
        if self.is_map():
            raise self.fail("a list must stand here")
        nodes = self._node.value if isinstance(self._node, yaml.SequenceNode) else [self._node]
        return (Entry(node, self._path) for node in nodes)

    def fields(self) -> dict[str, "Entry"]:
        """The entries of a mapping by name.

        Raises:
            ConfigError: the node is no mapping, or names a field twice.
        """
        if not isinstance(self._node, yaml.MappingNode):
            raise self.fail("'name: value' pairs must stand here")
        found: dict[str, Entry] = {}
        for key, value in self._node.value:
            name = Entry(key, self._path).text()
            if name in found:
                raise Entry(key, self._path).fail(f"'{name}' is given twice; keep one")
            found[name] = Entry(value, self._path)
        return found

    def only(self, allowed: tuple[str, ...], needed: tuple[str, ...], what: str) -> dict[str, "Entry"]:
        """The entries of a mapping that may hold these names alone and must hold some of them.

        Args:
            allowed: names that may stand.
            needed: names that must.
            what: what the mapping is, for the message.

        Raises:
            ConfigError: the node is no mapping, or a name is strange, doubled or missing.
        """
        fields = self.fields()
        for name, field in fields.items():
            if name not in allowed:
                raise field.fail(f"'{name}' does not belong to {what}; it takes {', '.join(allowed)}")
        for name in needed:
            if name not in fields:
                raise self.fail(f"{what} needs '{name}:'; add it")
        return fields


def read_yaml(path: Path) -> Entry:
    """The root of a YAML file.

    Raises:
        ConfigError: the file cannot be read, is not YAML, or is empty.
    """
    try:
        with path.open(encoding="utf-8") as stream:
            node = yaml.compose(stream, Loader=_LOADER)
    except (OSError, UnicodeDecodeError) as error:
        raise ConfigError(f"{path} cannot be read: {error}") from None
    except yaml.YAMLError as error:
        mark = getattr(error, "problem_mark", None)
        line = f", line {mark.line + 1}" if mark is not None else ""
        problem = " ".join(str(getattr(error, "problem", None) or "it is not YAML").split())
        raise ConfigError(f"{path}{line}: the file is not YAML: {problem}") from None
    except RecursionError:
        raise ConfigError(f"{path}: its lists and maps are nested too deeply") from None
    if node is None:
        raise ConfigError(f"{path} is empty; remove it or fill it")
    return Entry(node, path)
