"""Air in a standard cubic foot, and water in a manhole, against CoolProp's real fluids."""

import json

import pytest

from late import Late

coolprop = Late("CoolProp.CoolProp")

# Worked example STD-1: mg/s in one scfh, in our order.
WORKED = [9.617052, 9.635594, 9.639335, 9.471248, 9.435485, 9.347395, 10.164731]


def test_mass(figures):
    assert len(figures["standards"]) == len(WORKED)
    for row, worked in zip(figures["standards"], WORKED):
        density = coolprop.PropsSI("D", "T", row["temperature_k"], "P", row["pressure_pa"], "Air")
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
    density = coolprop.PropsSI("D", "T", (60 + 459.67) / 1.8, "P", 101325, "Water")
    assert 6894.757293168361 / (density * 9.80665 * 0.3048) == pytest.approx(2.308928212, rel=1e-6)


def test_repository(drysheath, tmp_path):
    """A county that counts at 70 °F and one that states the same air at 60 °F get the same pressures, flows and capacities. What
    air a cubic foot at 70 °F has is CoolProp's."""
    density = {degrees: coolprop.PropsSI("D", "T", (degrees + 459.67) / 1.8, "P", 101325, "Air") for degrees in (60, 70)}
    air = density[70] / density[60]

    def office(scale):
        return f"""
office elm {{ elevation 0 m, coldest -30 degC }}
dryer d1 {{ compressor piston, delivers 30 psi, capacity {47 * scale!r} scfh, dew-point -40 degC }}
regulator r1 {{ set 10 psi, differential 5 psi, droop {0.02 / scale!r} psi/scfh }}
flow-sensor f1 {{ span 0 .. {20 * scale!r} scfh, step {0.1 * scale!r} scfh }}
cable c1 {{
    section s1 {{ underground 3 kft, resistance {0.14 / scale!r} psi/scfh/kft, usage {2 * scale!r} scfh }}
    section s2 {{ aerial 2 kft, resistance {2.6 / scale!r} kPa/slpm/km, usage {0.5 * scale!r} sl/min }}
}}
air d1 -> r1 -> f1 -> c1
"""

    def computed(name, settings, text):
        folder = tmp_path / name
        folder.mkdir()
        (folder / "drysheath.toml").write_text(settings, encoding="utf-8")
        (folder / "elm.office").write_text(text, encoding="utf-8")
        (record,) = json.loads(drysheath("predict", folder, "--output", "json"))["offices"]
        assert not record["missing"] and not record["failures"]
        return record

    warm = computed("warm", 'language = 1\n[conditions]\nstandard = "14.7 psia, 70 degF"\n', office(1.0))
    cool = computed("cool", "language = 1\n", office(air))
    assert warm["conditions"]["standard_temperature_k"] == pytest.approx((70 + 459.67) / 1.8)
    assert cool["conditions"]["standard_temperature_k"] == pytest.approx((60 + 459.67) / 1.8)
    (one,), (other,) = warm["dryers"], cool["dryers"]
    for field in ("flow_m3_per_s", "capacity_m3_per_s"):
        assert one[field] == pytest.approx(other[field], rel=1e-4)
    assert one["flow_m3_per_s"] == pytest.approx(air * (2 + 0.5 / 0.4719474432) * 0.3048**3 / 3600, rel=1e-4)
    (one,), (other,) = warm["regulators"], cool["regulators"]
    assert one["outlet_pa"] == pytest.approx(other["outlet_pa"], rel=1e-6)
    (one,), (other,) = warm["lines"], cool["lines"]
    for here, there in zip(one["points"], other["points"], strict=True):
        assert here["pressure_pa"] == pytest.approx(there["pressure_pa"], rel=1e-5)
        assert here["flow_m3_per_s"] == pytest.approx(there["flow_m3_per_s"], rel=1e-4, abs=1e-12)

    # A maker's own conditions hold whatever the repository counts at.
    stated = office(1.0).replace("capacity 47.0 scfh", "capacity 47 scfh, rating-pressure 14.696 psia, rating-temperature 68 degF")
    assert stated != office(1.0)
    (one,) = computed("stated", 'language = 1\n[conditions]\nstandard = "14.696 psia, 70 degF"\n', stated)["dryers"]
    (other,) = computed("default", "", stated)["dryers"]
    assert one["capacity_m3_per_s"] == pytest.approx(other["capacity_m3_per_s"], rel=1e-9)
