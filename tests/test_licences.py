"""No pinned package has a licence that nobody has agreed to."""

from pathlib import Path

import pytest

from tests.licences import allowed, licences


def test_every_installed_package_has_a_licence_on_the_list() -> None:
    found = licences()
    wrong = [f"{one.name}: {one.words}" for one in found if one.allowed is False]
    assert wrong == []
    assert sum(one.allowed is True for one in found) > 80


@pytest.mark.parametrize(
    ("words", "good"),
    [
        ("MIT", True),
        ("Apache-2.0 OR GPL-2.0-only", True),
        ("MIT AND PSF-2.0", True),
        ("MIT AND GPL-3.0-only", False),
        ("MPL-2.0 AND (MIT)", True),
        ("GPL-3.0-or-later", False),
        ("AGPL-3.0-only", False),
        ("BSD License; GNU General Public License (GPL)", False),
        ("Proprietary", False),
        ("", False),
    ],
)
def test_what_is_allowed(words: str, good: bool) -> None:
    assert allowed(words) is good


def test_a_package_that_is_not_installed_is_not_said_to_be_good(tmp_path: Path) -> None:
    pins = tmp_path / "constraints.txt"
    pins.write_text("# pins\nno-such-package-here==1.0\npydantic==1.0\n")
    first, second = licences(pins)
    assert (first.name, first.allowed) == ("no-such-package-here", None)
    assert (second.words, second.allowed) == ("MIT", True)
