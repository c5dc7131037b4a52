"""Feeds and loops, found another way: Kirchhoff's law by iteration, and copper from its tables' formulas."""

import math

import pytest
from scipy.optimize import minimize_scalar


def copper(area_mm2, metres, celsius):
    return metres / 58 / area_mm2 * (1 + 0.00393 * (celsius - 20))


def settle(source, load, ohms):
    """The voltage that a constant-power load settles at when switched on from the source's voltage; none if it falls
    without end."""
    volts = source
    for _ in range(100_000):
        following = source - load / volts * ohms
        if following <= 0:
            return None
        if abs(following - volts) < 1e-13:
            return following
        volts = following
    return volts


def test_feeds(figures):
    assert len(figures["feeds"]) == 20
    collapsed = 0
    for row in figures["feeds"]:
        source, load, ohms = -row["source_v"], row["load_w"], row["ohms"]
        expected = settle(source, load, ohms)
        if ohms:
            # The most that the feed carries: the largest V·(V₀ − V)/R over all V.
            most = -minimize_scalar(lambda v: -v * (source - v) / ohms, bounds=(0, source), method="bounded").fun
            assert (row["voltage_v"] is None) == (load > most), row
        if expected is None:
            assert row["voltage_v"] is None and row["current_a"] is None, row
            collapsed += 1
        else:
            assert row["voltage_v"] == pytest.approx(-expected, rel=1e-9), row
            assert row["current_a"] == pytest.approx(load / expected, rel=1e-9), row
    assert collapsed


def test_worked_feed():
    # By hand: 60 W over 180 ft of 14 AWG from 42 V at 40 °C.
    mils = 5 * 92 ** ((36 - 14) / 39)
    area = math.pi / 4 * (mils * 0.0254) ** 2
    assert settle(42, 60, copper(area, 2 * 180 * 0.3048, 40)) == pytest.approx(40.55, abs=0.005)


def test_areas(figures):
    assert len(figures["feed_areas"]) == 6
    for row in figures["feed_areas"]:
        # Through the conductor that is proposed, the drop is the one asked for.
        ohms = copper(row["area_m2"] * 1e6, 2 * row["length_ft"] * 0.3048, row["celsius"])
        assert ohms * row["current_a"] == pytest.approx(row["drop_v"], rel=1e-12), row


def test_circular_mils(figures):
    # PWR-2: 2 A, 180 ft, 0.5 V at 20 °C: 14 934.55 circular mils.
    (row,) = (row for row in figures["feed_areas"] if row["current_a"] == 2 and row["celsius"] == 20)
    assert row["area_m2"] / (math.pi / 4 * 25.4e-6**2) == pytest.approx(14934.550185, rel=1e-9)


def test_loops(figures):
    assert len(figures["loops"]) == 9
    for row in figures["loops"]:
        expected = 0
        for gauge, kilofeet in row["kft"].items():
            mils = 460 / (460 / 5) ** ((int(gauge) + 3) / 39)
            expected += copper(math.pi / 4 * (mils * 0.0254) ** 2, 2 * kilofeet * 304.8, row["celsius"])
        assert row["ohms"] == pytest.approx(expected, rel=1e-12), row


def test_loop_limits(figures):
    assert len(figures["loop_limits"]) == 9
    for row in figures["loop_limits"]:
        left = row["supply_v"] - row["device_v"]
        if left < 0:
            assert row["ohms"] is None, row
        else:
            assert row["ohms"] == pytest.approx(min(row["device_ohms"], left / row["current_a"])), row
            assert row["by_supply"] == (left / row["current_a"] < row["device_ohms"]), row
