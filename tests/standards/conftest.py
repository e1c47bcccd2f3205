"""The same short findings and limits as in the judging tests."""

from tests.pipelines.judging.conftest import finding, limits, verdicts

__all__ = ["finding", "limits", "verdicts"]
