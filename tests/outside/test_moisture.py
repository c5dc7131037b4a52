"""Moisture that drysheath predict computes against CoolProp's moist air, PsychroLib (both Hyland-Wexler's family) and the equations of
Murphy and Koop. What the air is saturated at is told of a dryer; a humidity sensor and a dew-point sensor tell the rest."""

import itertools
import math

import psychrolib
import pytest

from late import Late
from offices import PSI, SEA_LEVEL, Office, named

humid_air = Late("CoolProp.HumidAirProp")
psychrolib.SetUnitSystem(psychrolib.SI)


def kelvin(celsius):
    return celsius + 273.15


def supercooled(celsius):
    """Murphy and Koop 2005, saturation over liquid water down to 123 K; numbers from memory."""
    t = kelvin(celsius)
    rest = 53.878 - 1331.22 / t - 9.44523 * math.log(t) + 0.014025 * t
    return math.exp(54.842763 - 6763.22 / t - 4.210 * math.log(t) + 0.000367 * t + math.tanh(0.0415 * (t - 218.8)) * rest)


def test_saturation(figures):
    rows = figures["saturation"]
    assert [row["celsius"] for row in rows] == list(range(-100, 101, 5))
    for row in rows:
        celsius = row["celsius"]
        # PsychroLib is over ice up to 0 °C and over water above.
        ours = row["ice_pa"] if celsius <= 0 else row["water_pa"]
        tolerance = 0.003 if -65 <= celsius <= 60 else 0.03
        assert ours == pytest.approx(psychrolib.GetSatVapPres(celsius), rel=tolerance), celsius
        if -45 <= celsius <= 60:
            tolerance = 0.008 if celsius < 0 else 0.0035
            assert row["water_pa"] == pytest.approx(supercooled(celsius), rel=tolerance), celsius


def office(dew, celsius, delivers, line=None):
    """A dryer with a stated dew point, and sensors, behind a regulator where a pressure is set for them."""
    made = Office("moist", kelvins=kelvin(celsius))
    made.dryer("d1", delivers, dew_point=f"{dew!r} degC")
    if line:
        made.regulator("r1", line)
    made.say("humidity-sensor h1 { span 0 .. 100 %rh }\ndew-point-sensor s1 { span -80 .. 20 degC }")
    made.manifold("m1", 2)
    made.say(f"air d1 -> {'r1 -> ' if line else ''}m1\nair m1 port 1 -> h1\nair m1 port 2 -> s1")
    return made.text


def read(record):
    """What the air is saturated at where the dryer delivers it, °C, and relative humidity and dew point over water in the line."""
    (dryer,) = record["dryers"]
    celsius = dryer["saturation"]["temperature_k"] - 273.15
    assert dryer["saturation"]["name"] == ("frost point over ice" if celsius < 0 else "dew point over water")
    humidity, dew = (named(record["sensors"], name)["expected"] for name in ("h1", "s1"))
    return celsius, humidity, dew - 273.15


def test_points(predict):
    # Air that is not expanded.
    grid = list(itertools.product((-45.0, -30.0, -15.0, -5.0, 1.5), (2.0, 10.0, 21.1, 35.0, 50.0)))
    worst = 0.0
    for (dew, celsius), record in zip(grid, predict([office(dew, celsius, 10.0) for dew, celsius in grid])):
        point, humidity, found = read(record)
        assert found == pytest.approx(dew, abs=1e-3)
        for theirs in (
            psychrolib.GetTDewPointFromRelHum(celsius, humidity),
            humid_air.HAPropsSI("D", "T", kelvin(celsius), "R", humidity, "P", SEA_LEVEL) - 273.15,
        ):
            worst = max(worst, abs(point - theirs))
            assert point == pytest.approx(theirs, abs=0.1), (dew, celsius)
        # The vapour that is over ice there is over supercooled water at the dew point.
        assert psychrolib.GetSatVapPres(point) == pytest.approx(supercooled(dew), rel=0.011), dew
    print(f"{len(grid)} points, worst {worst:.3f} K")


def test_expansion(predict):
    # The same water in the same air at a lower pressure. CoolProp counts what the air itself does to the vapour; e ∝ p does not, and
    # so finds the expanded air a little too dry.
    grid = list(itertools.product((-40.0, -20.0, -5.0, 0.0, 5.0), ((10.0, 2.0), (30.0, 10.0), (100.0, 10.0), (100.0, 30.0))))
    worst = 0.0
    for (dew, (delivers, line)), record in zip(grid, predict([office(dew, 20.0, *pressures) for dew, pressures in grid])):
        point, humidity, found = read(record)
        before, after = (psi * PSI + SEA_LEVEL for psi in (delivers, line))
        # Below −45 °C the formula over supercooled water is stretched too far.
        if found >= -45:
            assert humidity == pytest.approx(supercooled(found) / psychrolib.GetSatVapPres(20), rel=0.011), dew
        water = humid_air.HAPropsSI("W", "T", kelvin(40), "D", kelvin(point), "P", before)
        expected = humid_air.HAPropsSI("D", "T", kelvin(60), "W", water, "P", after) - 273.15
        ours = psychrolib.GetTDewPointFromRelHum(20, humidity)
        worst = max(worst, abs(ours - expected))
        tolerance = 0.12 if delivers < 11 else 0.2 if delivers < 31 else 0.5
        assert -tolerance <= ours - expected <= 0.05, (dew, delivers, line, ours, expected)
    print(f"{len(grid)} expansions, worst {worst:.3f} K")


def test_worked_example():
    # MOI-2: what the outside libraries themselves say of 2 %RH at 70 °F.
    celsius = (70 - 32) / 1.8
    assert humid_air.HAPropsSI("D", "T", kelvin(celsius), "R", 0.02, "P", SEA_LEVEL) - 273.15 == pytest.approx(-27.322, abs=0.001)
    assert psychrolib.GetTDewPointFromRelHum(celsius, 0.02) == pytest.approx(-27.319, abs=0.001)
