"""Moisture against CoolProp's moist air, PsychroLib (both Hyland-Wexler's family) and the equations of Murphy and Koop."""

import math

import psychrolib
import pytest
from CoolProp.HumidAirProp import HAPropsSI

psychrolib.SetUnitSystem(psychrolib.SI)
ATMOSPHERE = 101325


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


def test_points(figures):
    assert len(figures["points"]) == 25
    for row in figures["points"]:
        humidity, celsius, point = row["humidity"], row["celsius"], row["point"]
        found = point["celsius"]
        assert point["surface"] == ("over ice" if found < 0 else "over water"), row
        assert found == pytest.approx(psychrolib.GetTDewPointFromRelHum(celsius, humidity), abs=0.1), row
        expected = HAPropsSI("D", "T", kelvin(celsius), "R", humidity, "P", ATMOSPHERE) - 273.15
        assert found == pytest.approx(expected, abs=0.1), row


def test_worked_example():
    # MOI-2: what the outside libraries themselves say of 2 %RH at 70 °F.
    celsius = (70 - 32) / 1.8
    assert HAPropsSI("D", "T", kelvin(celsius), "R", 0.02, "P", ATMOSPHERE) - 273.15 == pytest.approx(-27.322, abs=0.001)
    assert psychrolib.GetTDewPointFromRelHum(celsius, 0.02) == pytest.approx(-27.319, abs=0.001)


def test_line_points(figures):
    # The same water in the same air, compressed. CoolProp counts what the air itself does to the vapour; e ∝ p does not.
    assert len(figures["line_points"]) == 30
    for row in figures["line_points"]:
        dew, line = kelvin(row["atmospheric_celsius"]), row["line_pa"]
        water = HAPropsSI("W", "T", kelvin(40), "D", dew, "P", row["air_pa"])
        expected = HAPropsSI("D", "T", kelvin(60), "W", water, "P", line) - 273.15
        psi = (line - row["air_pa"]) / 6894.757
        tolerance = 0.06 if psi < 11 else 0.2 if psi < 31 else 0.5
        # Never too low: what is judged dry by ours is dry.
        assert -0.02 <= row["line"]["celsius"] - expected <= tolerance, (row, expected)
