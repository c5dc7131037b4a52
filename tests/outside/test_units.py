"""Every unit against pint.

EXPRESSIONS says in pint's words what each of our units is. A unit that pint lacks is written out from its parts; a unit
of ours that is missing here fails the first test.
"""

import pint
import pytest

registry = pint.UnitRegistry()

# Volumes of air are counted at 101.325 kPa and 60 °F. The same air at 0 °C fills less: T(60 °F)/T(0 °C), ideal gas.
NORMAL = registry.Quantity(60, "degF").to("kelvin").magnitude / 273.15

# What pint lacks, from first principles. Columns of liquid: density × standard gravity × height, with the conventional
# densities of water (1000 kg/m³) and mercury (13595.1 kg/m³).
WATER = "1000 kg/m^3 * standard_gravity"
MERCURY = "13595.1 kg/m^3 * standard_gravity"
SCFH = "(foot^3/hour)"
SLPM = "(liter/minute)"

EXPRESSIONS = {
    "psi": "psi",
    "psia": "psi",
    "kPa": "kilopascal",
    "kPa-abs": "kilopascal",
    "Pa": "pascal",
    "mbar": "millibar",
    "bar": "bar",
    "bar-abs": "bar",
    "inH2O": f"{WATER} * inch",
    "inHg": f"{MERCURY} * inch",
    "mmHg": f"{MERCURY} * millimeter",
    "ozin2": "ounce * standard_gravity / inch^2",
    "ftH2O": f"{WATER} * foot",
    "scfh": SCFH,
    "scfm": "foot^3/minute",
    "scfd": "foot^3/day",
    "sl/min": SLPM,
    "sl/h": "liter/hour",
    "sm3/h": "meter^3/hour",
    "nl/min": f"{NORMAL!r} * liter/minute",
    "nm3/h": f"{NORMAL!r} * meter^3/hour",
    "ft": "foot",
    "kft": "1000 foot",
    "in": "inch",
    "yd": "yard",
    "mi": "mile",
    "m": "meter",
    "km": "kilometer",
    "cm": "centimeter",
    "mm": "millimeter",
    "kcmil": "1000 * circular_mil",
    "mm2": "millimeter^2",
    "V": "volt",
    "mV": "millivolt",
    "kV": "kilovolt",
    "A": "ampere",
    "mA": "milliampere",
    "uA": "microampere",
    "ohm": "ohm",
    "kohm": "kiloohm",
    "Mohm": "megaohm",
    "W": "watt",
    "kW": "kilowatt",
    "mW": "milliwatt",
    "hp": "550 foot * force_pound / second",
    "K": "kelvin",
    "min": "minute",
    "s": "second",
    "h": "hour",
    "d": "day",
    "%rh": "percent",
    "psi/scfh/kft": f"psi / {SCFH} / (1000 foot)",
    "psi/scfh/ft": f"psi / {SCFH} / foot",
    "psi/scfh/mi": f"psi / {SCFH} / mile",
    "kPa/slpm/km": f"kilopascal / {SLPM} / kilometer",
    "psi/scfh": f"psi / {SCFH}",
    "psi/scfm": "psi / (foot^3/minute)",
    "kPa/slpm": f"kilopascal / {SLPM}",
    "ft3": "foot^3",
    "in3": "inch^3",
    "gal": "gallon",
    "L": "liter",
    "m3": "meter^3",
}

# Scales that do not pass through zero are converted by pint as points.
POINTS = {"degC": "degC", "degF": "degF"}

BASES = {
    "pressure": "pascal",
    "flow": "meter^3/second",
    "length": "meter",
    "wire size": "meter^2",
    "voltage": "volt",
    "current": "ampere",
    "resistance": "ohm",
    "power": "watt",
    "temperature": "kelvin",
    "time": "second",
    "humidity": "dimensionless",
    "pneumatic resistance": "pascal*second/meter^4",
    "droop": "pascal*second/meter^3",
    "volume": "meter^3",
}


def test_every_unit_is_compared(figures):
    # awg is a gauge and no factor; test_wire.py has it.
    assert {unit["name"] for unit in figures["units"]} == {*EXPRESSIONS, *POINTS, "awg"}


@pytest.mark.parametrize("name", EXPRESSIONS)
def test_factor(figures, name):
    unit = by_name(figures, name)
    factor = registry.parse_expression(EXPRESSIONS[name]).to(BASES[unit["dimension"]])
    for value in (1.0, 7.25):
        assert unit[f"{value:g}"] == pytest.approx(value * factor.magnitude, rel=1e-12)


@pytest.mark.parametrize("name", POINTS)
def test_point(figures, name):
    unit = by_name(figures, name)
    for value in (1.0, 7.25):
        expected = registry.Quantity(value, POINTS[name]).to("kelvin").magnitude
        assert unit[f"{value:g}"] == pytest.approx(expected, rel=1e-12)


def test_only_pressures_are_absolute(figures):
    absolute = {unit["name"] for unit in figures["units"] if unit["absolute"]}
    assert absolute == {"psia", "kPa-abs", "bar-abs"}


def test_columns_of_liquid_agree_with_pints_own(figures):
    # pint's columns of liquid are at a stated temperature, so they agree to a few parts in 100 000 only.
    for name, theirs in (("inHg", "inHg"), ("mmHg", "mmHg"), ("ftH2O", "ftH2O")):
        expected = registry.Quantity(1, theirs).to("pascal").magnitude
        assert by_name(figures, name)["1"] == pytest.approx(expected, rel=5e-5)


def by_name(figures, name):
    (unit,) = (unit for unit in figures["units"] if unit["name"] == name)
    return unit
