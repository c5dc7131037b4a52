"""Every unit against pint, through what drysheath predict makes of an office written in it.

EXPRESSIONS says in pint's words what each of our units is. A unit that pint lacks is written out from its parts; a unit
of ours that is missing here fails the first test. Times and volumes only stand in readings, of which predict tells nothing: they
are compared as the engineering room has them.
"""

import pint
import pytest

from offices import PER_KFT, PSI, SCFH, SEA_LEVEL, line_of, named

registry = pint.UnitRegistry()

# Volumes of air are counted at 101.325 kPa and 60 °F. The same air at 0 °C fills less: T(60 °F)/T(0 °C), ideal gas.
NORMAL = registry.Quantity(60, "degF").to("kelvin").magnitude / 273.15

# What pint lacks, from first principles. Columns of liquid: density × standard gravity × height, with the conventional
# densities of water (1000 kg/m³) and mercury (13595.1 kg/m³).
WATER = "1000 kg/m^3 * standard_gravity"
MERCURY = "13595.1 kg/m^3 * standard_gravity"
PER_HOUR = "(foot^3/hour)"
PER_MINUTE = "(liter/minute)"

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
    "scfh": PER_HOUR,
    "scfm": "foot^3/minute",
    "scfd": "foot^3/day",
    "sl/min": PER_MINUTE,
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
    "psi/scfh/kft": f"psi / {PER_HOUR} / (1000 foot)",
    "psi/scfh/ft": f"psi / {PER_HOUR} / foot",
    "psi/scfh/mi": f"psi / {PER_HOUR} / mile",
    "kPa/slpm/km": f"kilopascal / {PER_MINUTE} / kilometer",
    "psi/scfh": f"psi / {PER_HOUR}",
    "psi/scfm": "psi / (foot^3/minute)",
    "kPa/slpm": f"kilopascal / {PER_MINUTE}",
    "ft3": "foot^3",
    "in3": "inch^3",
    "gal": "gallon",
    "L": "liter",
    "m3": "meter^3",
    "scf": "foot^3",
    "sm3": "meter^3",
    "nm3": f"{NORMAL!r} * meter^3",
    "Ah": "ampere*hour",
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
    "standard volume": "meter^3",
    "charge": "coulomb",
}


def test_every_unit_is_compared(figures):
    # awg is a gauge and no factor; test_wire.py has it.
    assert {unit["name"] for unit in figures["units"]} == {*EXPRESSIONS, *POINTS, "awg"}


VALUES = (1.0, 7.25)

# What a figure of each dimension can be, in BASES: nothing is computed from one that nobody can mean.
TYPICAL = {
    "pressure": 200e3,
    "flow": 5e-5,
    "length": 40.0,
    "wire size": 0.3e-6,
    "voltage": 38.0,
    "current": 4e-3,
    "resistance": 800.0,
    "power": 15.0,
    "temperature": 240.0,
    "humidity": 0.05,
    "pneumatic resistance": 0.1 * PER_KFT,
    "droop": 0.01 * PSI / SCFH,
}


def written(unit):
    """Two figures in this unit that are about the typical one and a tenth more."""
    typical = TYPICAL[unit["dimension"]]
    zero, one = (expected(unit, value) for value in (0.0, 1.0))
    rounded = f"{(typical - zero) / (one - zero):.2g}"
    return float(rounded), float(rounded) * 1.1


def expected(unit, value):
    if unit["name"] in POINTS:
        return registry.Quantity(value, POINTS[unit["name"]]).to("kelvin").magnitude
    factor = registry.parse_expression(EXPRESSIONS[unit["name"]]).to(BASES[unit["dimension"]])
    return value * factor.magnitude


def office(dimension, said, si):
    """An office in which a quantity of this dimension is written so; `si` is about what it amounts to."""
    says = {
        "pressure": "0.5 psi",
        "flow": "1 scfh",
        "length": "10 m",
        "wire size": "24 awg",
        "voltage": "40 V",
        "resistance": "1000 ohm",
        "power": "1 W",
        "temperature": "-30 degC",
        "humidity": "5 %rh",
        "pneumatic resistance": "0.1 psi/scfh/kft",
        "droop": "0.01 psi/scfh",
        dimension: said,
    }
    # What droops and what resists is used so that some 5 kPa are lost.
    scfh = 5000 / si / SCFH if dimension == "droop" else 1.0
    metres = 5000 / (si * SCFH) if dimension == "pneumatic resistance" else 10.0
    loop = f"current {said}, needs 10 V" if dimension == "current" else f"loop-max {says['resistance']}"
    return f"""
office units {{ elevation 0 m, coldest {says["temperature"]} }}
dryer d1 {{ compressor none, delivers 60 psi, capacity 100 scfh, dew-point -40 degC }}
regulator r1 {{ set 30 psi, differential 5 psi, droop {says["droop"]} }}
cable c1 {{ pairs 25, gauge 24 awg
    section s1 {{ buried {metres!r} m, resistance {says["pneumatic resistance"]}, usage {scfh!r} scfh }} }}
air d1 -> r1 -> c1
air-pipe a1 {{ length {says["length"]}, bore 0.5 in }}
pressure-sensor p1 {{ span 0 .. {says["pressure"]}, {loop} }}
flow-sensor f1 {{ span 0 .. {says["flow"]} }}
humidity-sensor h1 {{ span 0 .. {says["humidity"]} }}
air r1 -> a1
battery b1 {{ nominal -48 V, working -43 V .. -54 V, filtered yes }}
fuse-panel pdf {{ positions 1 .. 2 }}
monitor m1 {{ sensors 1, draws {says["power"]}, window -{says["voltage"]} .. -500 V, loop-voltage -48 V }}
power b1 -> pdf with 6 awg, 1 m
power pdf fuse 1 -> m1 with 3 A, 14 awg, 6 m
wire p1 -> m1 sensor 1 with {says["wire size"]}, 10 m
"""


def squares_fall(record):
    (start, end) = (point["pressure_pa"] + SEA_LEVEL for point in line_of(record, "c1")["points"])
    (piece,) = line_of(record, "c1")["sections"]
    # p² falls by 2·p₀·k·L times the mean flow, which is half of what is used.
    return (start**2 - end**2) / (14.696 * 6894.757293168361 * piece["to_m"] * SCFH)


def droop(record):
    (regulator,) = record["regulators"]
    return (regulator["set_pa"] - regulator["outlet_pa"]) / regulator["flow_m3_per_s"]


READ = {
    "pressure": lambda record: named(record["sensors"], "p1")["span"][1],
    "flow": lambda record: named(record["sensors"], "f1")["span"][1],
    "length": lambda record: line_of(record, "a1")["length_m"],
    "wire size": lambda record: 2 * 10 / 58e6 / record["loops"][0]["resistance_at_20_ohm"],
    "voltage": lambda record: -record["feeds"][0]["least_v"],
    "current": lambda record: (48 - 10) / record["loops"][0]["limit_ohm"],
    "resistance": lambda record: record["loops"][0]["limit_ohm"],
    "power": lambda record: record["feeds"][0]["power_w"],
    "temperature": lambda record: record["conditions"]["coldest_k"],
    "humidity": lambda record: named(record["sensors"], "h1")["span"][1],
    "pneumatic resistance": squares_fall,
    "droop": droop,
}


def test_units(figures, predict):
    rows = [
        (unit, value, expected(unit, value))
        for unit in figures["units"]
        if unit["name"] != "awg"
        for value in (written(unit) if unit["dimension"] in READ else VALUES)
    ]
    seen = [row for row in rows if row[0]["dimension"] in READ]
    records = predict([office(unit["dimension"], f"{value!r} {unit['name']}", si) for unit, value, si in seen])
    for (unit, value, si), record in zip(seen, records, strict=True):
        found = READ[unit["dimension"]](record) + (SEA_LEVEL if unit["absolute"] else 0)
        # What is told of it directly, and what follows from pressures.
        rel = 1e-6 if unit["dimension"] in ("pneumatic resistance", "droop") else 1e-12
        assert found == pytest.approx(si, rel=rel), (unit["name"], value)
    unseen = [row for row in rows if row[0]["dimension"] not in READ]
    assert {unit["dimension"] for unit, *_ in unseen} == {"time", "volume", "standard volume", "charge"}
    for unit, value, si in unseen:
        assert unit[f"{value:g}"] == pytest.approx(si, rel=1e-12), (unit["name"], value)


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
