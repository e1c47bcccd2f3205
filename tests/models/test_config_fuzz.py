"""A configuration file, whatever is in it, is used or refused with one sentence that names it."""

import os
import shutil
import tempfile
from collections.abc import Callable
from importlib.resources import files
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from models.limits import load_limits
from models.plans import load_plans
from models.rules import load_rules
from models.settings import load_settings
from models.vocabulary import load_vocabulary
from pipelines.delivery.mapping import load_mapping
from pipelines.displays.gauges import load_gauges

EXAMPLES = int(os.environ.get("DROPLIGHT_FUZZ", "12"))
pytestmark = pytest.mark.timeout(300 + EXAMPLES)  # many examples on a busy computer are no hang
CONFIG = Path(str(files("config")))
# Whatever YAML or its readers may stumble over.
CRUMBS = (
    "[", "]", "{", "}", ": ", "- ", "? ", "&a ", "*a", "!!binary x", "!!timestamp x", "!!python/name:os",
    "<<: ", "2001-13-45", "0x", "1:99", ".inf", ".nan", "1e400", "null", "true", "~", "'", '"', "\t", "\n",
    "|", ">", "---\n", "...", "%YAML 9.9\n", "#", "\0", "é", "\ud7ff", "9" * 60, "-1", "[" * 400, "a: " * 50,
)  # fmt: skip


def _limits(path: Path) -> object:
    folder = path.parent / "own"
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir()
    shutil.copy(path, folder / "shop.yaml")
    return load_limits(own=folder)


def _plans(path: Path) -> object:
    folder = path.parent / "plans"
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir()
    shutil.copy(path, folder / "own.yaml")
    return load_plans(own=folder)


def _settings(path: Path) -> object:
    shutil.copy(path, path.parent / "settings.yaml")
    return load_settings(path.parent)


def _mapping(path: Path) -> object:
    (path.parent / "delivery").mkdir(exist_ok=True)
    shutil.copy(path, path.parent / "delivery" / "own.yaml")
    return load_mapping("own", path.parent)


READERS: dict[str, tuple[str, Callable[[Path], object]]] = {
    "settings": ("settings.yaml", _settings),
    "limits": ("limits/common_practice.yaml", _limits),
    "plans": ("plans/light_truck.yaml", _plans),
    "rules": ("rules.yaml", lambda path: load_rules(own=path)),
    "gauges": ("gauges.yaml", load_gauges),
    "table": ("delivery/work_orders.yaml", _mapping),
    "vocabulary": ("vocabulary.yaml", lambda path: load_vocabulary.__wrapped__(path)),
}


def used_or_refused(read: Callable[[Path], object], content: bytes) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "file.yaml"
        path.write_bytes(content)
        try:
            read(path)
        except ValueError as error:
            assert type(error) is not ValueError and not isinstance(error, UnicodeError), repr(error)
            sentence = str(error)
            assert folder in sentence, sentence
            assert "\n" not in sentence, sentence


@st.composite
def broken(draw: st.DrawFn, text: str) -> bytes:
    """The shipped file, shortened, with crumbs put into it and pieces cut out."""
    start = draw(st.integers(0, len(text)))
    text = text[start : start + 3000]
    for _ in range(draw(st.integers(1, 4))):
        at = draw(st.integers(0, len(text)))
        text = text[:at] + draw(st.sampled_from(CRUMBS)) + text[at + draw(st.integers(0, 12)) :]
    return text.encode("utf-8", "surrogatepass")


@pytest.mark.parametrize("kind", READERS)
def test_a_damaged_file_is_used_or_refused(kind: str) -> None:
    shipped, read = READERS[kind]
    text = (CONFIG / shipped).read_text(encoding="utf-8")
    used_or_refused(read, text.encode())

    @settings(max_examples=EXAMPLES, deadline=None)
    @given(broken(text))
    def check(content: bytes) -> None:
        used_or_refused(read, content)

    check()


@pytest.mark.parametrize("kind", READERS)
def test_an_invented_file_is_used_or_refused(kind: str) -> None:
    _, read = READERS[kind]

    @settings(max_examples=EXAMPLES, deadline=None)
    @given(st.lists(st.sampled_from(CRUMBS) | st.sampled_from(["watch", "id", "\n  ", " "]), max_size=12))
    @example(["2001-13-45"])
    @example(["!!timestamp x"])
    @example(["[" * 400])
    @example(["a: &a [*a]"])
    @example(["? ", "watch", "\n  ", "\n  ", "["])
    def check(pieces: list[str]) -> None:
        used_or_refused(read, "".join(pieces).encode("utf-8", "surrogatepass"))

    check()
