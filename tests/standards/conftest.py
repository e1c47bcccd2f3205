"""The same short findings and limits as in the judging tests."""

import pytest

from models.limits import load_limits
from tests.pipelines.judging.conftest import finding, limits, verdicts

__all__ = ["finding", "limits", "verdicts"]


@pytest.fixture(scope="session")
def shipped():
    """The limits that the program ships."""
    return load_limits()


@pytest.fixture
def result_of():
    """What one limit says in a verdict, wherever it stands there."""

    def result(verdict, name):
        used = [*([verdict.limit] if verdict.limit else []), *verdict.others]
        return next(u.result for u in used if u.id == name)

    return result
