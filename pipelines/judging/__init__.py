"""Findings against limits: verdicts, what several readings say together, wear, and the estimate."""

from pipelines.judging.estimating import estimate
from pipelines.judging.judge import Judge, judge
from pipelines.judging.wear import wear

__all__ = ["Judge", "estimate", "judge", "wear"]
