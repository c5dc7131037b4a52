"""The deadband of an alarm, and what it does to chatter, with numpy's noise."""

import numpy
import pytest


def alarms(readings, limit, deadband):
    on, count = False, 0
    for reading in readings:
        if on:
            on = reading < limit + deadband
        elif reading < limit:
            on, count = True, count + 1
    return count


def test_least_deadband(figures):
    assert len(figures["deadbands"]) == 6
    for row in figures["deadbands"]:
        assert row["deadband"] == pytest.approx(max(4 * row["deviation"], 2 * row["step"])), row


def test_chatter(figures):
    # Worked example ALM-1: noise of 0.05 about a mean 0.05 above the limit, 20 000 readings.
    readings = numpy.random.default_rng(3).normal(5.05, 0.05, 20_000)
    for deadband, expected in ((0, 2679), (0.1, 1608), (0.2, 25), (0.4, 1)):
        assert expected / 3 < alarms(readings, 5, deadband) < expected * 3, deadband
    (row,) = (row for row in figures["deadbands"] if row["deviation"] == 0.05 and row["step"] == 0.01)
    assert alarms(readings, 5, row["deadband"]) * 50 < alarms(readings, 5, 0)
