"""Copper wire against the formulas of ASTM B258 and IEC 60028, worked out here anew, and against published tables."""

import math

import pytest

MIL = 25.4e-6  # m

# NBS Handbook 100, copper wire tables, solid, Ω per 1000 ft at 20 °C.
PUBLISHED_20 = {26: 40.81, 24: 25.67, 22: 16.14, 19: 8.051, 14: 2.525, 12: 1.588, 10: 0.9989, 6: 0.3951}
# NEC chapter 9 table 8, uncoated copper, Ω per 1000 ft at 75 °C: solid to 10 AWG, stranded at 6 AWG (lay of about 2 %).
PUBLISHED_75 = {14: (3.07, 1.0), 12: (1.93, 1.0), 10: (1.21, 1.0), 6: (0.491, 1.02)}
# NEC chapter 9 table 8, circular mils, rounded there to tens and hundreds; numbers from memory.
CIRCULAR_MILS = {
    18: 1620, 16: 2580, 14: 4110, 12: 6530, 10: 10380, 8: 16510, 6: 26240, 4: 41740, 3: 52620, 2: 66360, 1: 83690,
    0: 105600, -1: 133100, -2: 167800, -3: 211600,
}  # fmt: skip


def rows(figures):
    table = {row["awg"]: row for row in figures["wire"]}
    assert sorted(table) == list(range(-3, 41))
    return table


def test_geometry(figures):
    # The 39 steps from 36 AWG (5 mil) to 4/0 AWG (460 mil) are equal ratios.
    step = (460 / 5) ** (1 / 39)
    for size, row in rows(figures).items():
        mils = 460 / step ** (size + 3)
        assert row["diameter_m"] == pytest.approx(mils * MIL, rel=1e-12)
        assert row["area_m2"] == pytest.approx(math.pi * (mils * MIL) ** 2 / 4, rel=1e-12)


def test_resistance(figures):
    # IEC 60028: a metre of 1 mm² annealed copper has 1/58 Ω at 20 °C and 0.00393 of that more for each kelvin.
    for row in rows(figures).values():
        cold = 304.8 / 58 / (row["area_m2"] * 1e6)
        assert row["ohm_per_kft_20"] == pytest.approx(cold, rel=1e-12)
        assert row["ohm_per_kft_75"] == pytest.approx(cold * (1 + 0.00393 * 55), rel=1e-12)


def test_published_tables(figures):
    table = rows(figures)
    for size, ohms in PUBLISHED_20.items():
        assert table[size]["ohm_per_kft_20"] == pytest.approx(ohms, rel=5e-4), size
    for size, (ohms, lay) in PUBLISHED_75.items():
        assert table[size]["ohm_per_kft_75"] * lay == pytest.approx(ohms, rel=5e-3), size
    for size, mils in CIRCULAR_MILS.items():
        found = table[size]["area_m2"] / (math.pi / 4 * MIL**2)
        assert found == pytest.approx(mils, rel=3e-3), size


def test_names(figures):
    names = {0: "1/0 awg", -1: "2/0 awg", -2: "3/0 awg", -3: "4/0 awg"}
    for size, row in rows(figures).items():
        assert row["name"] == names.get(size, f"{size} awg")


def test_unit(figures):
    (unit,) = (unit for unit in figures["units"] if unit["name"] == "awg")
    assert unit["1"] == rows(figures)[1]["area_m2"]
    mils = 5 * 92 ** ((36 - 7.25) / 39)
    assert unit["7.25"] == pytest.approx(math.pi * (mils * MIL) ** 2 / 4, rel=1e-12)
