"""Findings against limits: verdicts, and the calculations that several readings allow."""

from pipelines.judging.judge import Judge, judge

__all__ = ["Judge", "judge"]
