"""The licence of every pinned package: ``python -m tests.licences`` lists them, and fails on one not allowed.

What a package says of itself is taken: ``License-Expression``, else its classifiers, else its licence field.
"""

import re
import sys
from importlib.metadata import PackageNotFoundError, metadata
from pathlib import Path
from typing import NamedTuple

CONSTRAINTS = Path(__file__).parents[1] / "config" / "constraints.txt"

# Permissive licences, and those that ask for nothing of a program that only uses the package as it is.
ALLOWED = re.compile(
    r"MIT(-0|-CMU)?( License)?|BSD(-[23]-Clause)?( License)?|Apache(-2\.0| 2\.0| Software License)?|ISC|HPND|"
    r"PSF-2\.0|Python Software Foundation License|Python-2\.0|CNRI-Python|MPL-2\.0|Unlicense|0BSD|Zlib|"
    r"CC0-1\.0|LGPL-3\.0-only|LGPL-3\.0-or-later"
)
# Only used to make samples; neither installed with the program nor shipped with it.
TOOLS = {"piper-tts": "GPL-3.0-or-later"}
# Its metadata says nothing; its repository carries the text of this licence.
SILENT = {"axe-playwright-python": "MIT"}
# What packages say in words of their own, read by a person.
READ = {
    "3-Clause BSD License": "BSD-3-Clause",
    "Apache 2": "Apache-2.0",
    "Apache License 2.0": "Apache-2.0",
    "Apache License, Version 2.0": "Apache-2.0",
    "BSD 3-Clause License": "BSD-3-Clause",
    "BSD License": "BSD-3-Clause",
    "Dual License": "BSD-3-Clause",
    "DFSG approved; MIT License": "MIT",
    "ISC License (ISCL)": "ISC",
    "GNU Lesser General Public License v3 (LGPLv3)": "LGPL-3.0-only",
    "MIT license": "MIT",
    "Mozilla Public License 2.0 (MPL 2.0)": "MPL-2.0",
    "New BSD": "BSD-3-Clause",
}


class Licence(NamedTuple):
    """Of one package: name, version, what it says, and whether that is allowed; None when not installed."""

    name: str
    version: str
    words: str
    allowed: bool | None


def allowed(words: str) -> bool:
    """Whether a licence, or one of a choice, or all of several that hold at once, is on the list."""
    choices = re.split(r"\s+OR\s+", words.strip("() "))
    return any(
        all(ALLOWED.fullmatch(part.strip("() ")) for part in re.split(r"\s+AND\s+|\s*;\s*", choice))
        for choice in choices
    )


def _said(name: str) -> tuple[str, str]:
    found = metadata(name)
    version = found["Version"]
    if expression := found.get("License-Expression"):
        return version, expression
    classifiers = [c.split(" :: ")[-1] for c in found.get_all("Classifier") or [] if c.startswith("License")]
    named = [c for c in classifiers if c != "OSI Approved"]
    first = (found.get("License") or "").strip().splitlines()
    words = "; ".join(named) or (first[0] if first else "")
    return version, READ.get(words, words) or SILENT.get(name, "")


def licences(constraints: Path = CONSTRAINTS) -> list[Licence]:
    """The licence of every package that is pinned, in order of name."""
    names = re.findall(r"^([A-Za-z0-9._-]+)==", constraints.read_text(encoding="utf-8"), re.MULTILINE)
    return [_licence(name) for name in sorted(names, key=str.lower)]


def _licence(name: str) -> Licence:
    try:
        version, words = _said(name)
    except PackageNotFoundError:
        return Licence(name, "", "not installed here", None)
    good = TOOLS[name] == words if name in TOOLS else allowed(words)
    return Licence(name, version, words or "nothing said", good)


def main() -> int:
    """Print the list; 1 when a licence is not allowed."""
    found = licences()
    for one in found:
        print(f"{'' if one.allowed is not False else 'NOT ALLOWED  '}{one.name} {one.version}: {one.words}")
    return 1 if any(one.allowed is False for one in found) else 0


if __name__ == "__main__":
    sys.exit(main())
