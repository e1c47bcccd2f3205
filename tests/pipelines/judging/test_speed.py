"""Judging must not slow down with the number of limits on file; absolute times are in tests/benchmarks."""

import gc
import time

from models.settings import TruckSettings
from pipelines.judging import judge
from tests.benchmarks.judging import VIN, made_up_findings, made_up_limits


def seconds(findings, limits, times=3):
    """The quickest of a few, without the garbage collector, which would go through what other tests left."""
    took = []
    gc.disable()
    try:
        for _ in range(times):
            start = time.process_time()
            judge(findings, limits, TruckSettings(brakes="air", gross_weight_lb=33_000, vin=VIN))
            took.append(time.process_time() - start)
    finally:
        gc.enable()
    return min(took)


def test_ten_times_the_limits_do_not_take_ten_times_as_long():
    few, many = made_up_limits(200), made_up_limits(2000)
    findings = made_up_findings(1500, few)
    seconds(findings[:50], few)
    assert seconds(findings, many) < 5 * seconds(findings, few)


def test_the_garbage_collector_is_as_it_was_after_very_many_findings():
    few = made_up_limits(200)
    findings = made_up_findings(5000, few)
    for enabled in (True, False):
        (gc.enable if enabled else gc.disable)()
        try:
            judge(findings, few, TruckSettings())
            assert gc.isenabled() is enabled
        finally:
            gc.enable()
