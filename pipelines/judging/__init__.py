"""Findings against limits: verdicts, and the calculations that several readings allow."""

from pipelines.judging.judge import Judge, judge
from pipelines.judging.wear import wear

__all__ = ["Judge", "judge", "wear"]
