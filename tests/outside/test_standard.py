"""Air in a standard cubic foot, and water in a manhole, against CoolProp's real fluids."""

import pytest
from CoolProp.CoolProp import PropsSI

# Worked example STD-1: mg/s in one scfh, in our order.
WORKED = [9.617052, 9.635594, 9.639335, 9.471248, 9.435485, 9.347395, 10.164731]


def test_mass(figures):
    assert len(figures["standards"]) == len(WORKED)
    for row, worked in zip(figures["standards"], WORKED):
        density = PropsSI("D", "T", row["temperature_k"], "P", row["pressure_pa"], "Air")
        expected = density * 0.3048**3 / 3600
        assert row["scfh_kg_per_s"] == pytest.approx(expected, rel=1e-3), row["name"]
        assert row["scfh_kg_per_s"] * 1e6 == pytest.approx(worked, rel=1e-6), row["name"]


def test_conditions(figures):
    psia, fahrenheit = 6894.757293168361, lambda degrees: (degrees - 32) / 1.8 + 273.15
    expected = [
        (101325, fahrenheit(60)),
        (101325, 288.15),
        (14.73 * psia, fahrenheit(60)),
        (101325, fahrenheit(68)),
        (101325, fahrenheit(70)),
        (100000, 293.15),
        (101325, 273.15),
    ]
    found = [(row["pressure_pa"], row["temperature_k"]) for row in figures["standards"]]
    assert found == [pytest.approx(conditions, rel=1e-12) for conditions in expected]


def test_head(figures):
    assert len(figures["heads"]) == 12
    for row in figures["heads"]:
        expected = row["density"] * 9.80665 * row["depth_ft"] * 0.3048
        assert row["pressure_pa"] == pytest.approx(expected, rel=1e-12)
    # Real water at 60 °F weighs what worked example HYD-1 says: 2.30893 ft/psi.
    density = PropsSI("D", "T", (60 + 459.67) / 1.8, "P", 101325, "Water")
    assert 6894.757293168361 / (density * 9.80665 * 0.3048) == pytest.approx(2.308928212, rel=1e-6)
