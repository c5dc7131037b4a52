"""Fuses and grounds against tables typed here by hand."""

import pytest

# NEC 240.4(D), copper; from 9 AWG on Table 310.16 at 75 degC, as two secondary sources print it. A size that is not listed has
# the limit of the next thinner one.
WIRE_LIMIT = {18: 7, 17: 7, 16: 10, 15: 10, 14: 15, 13: 15, 12: 20, 11: 20, 10: 30, 9: 30}
AMPACITY = {
    8: 50, 6: 65, 4: 85, 3: 100, 2: 115, 1: 130, 0: 150, -1: 175, -2: 200, -3: 230,
    250: 255, 300: 285, 350: 310, 400: 335, 500: 380, 600: 420, 750: 475, 1000: 545,
}  # fmt: skip
# NEC 240.6(A): 240.4(B) allows the next of these above the ampacity.
STANDARD = [30, 35, 40, 45, 50, 60, 70, 80, 90, 100, 110, 125, 150, 175, 200, 225, 250, 300, 350, 400, 450, 500, 600]
# IEC 60364-5-52 Table B.52.2, method C, PVC; 1 mm2 from BS 7671.
METRIC = {
    1: 15, 1.5: 19.5, 2.5: 27, 4: 36, 6: 46, 10: 63, 16: 85, 25: 112, 35: 138, 50: 168, 70: 213, 95: 258, 120: 299,
}  # fmt: skip

# NEC Table 250.122, copper, as two secondary sources print it: protection up to, A, and size.
EQUIPMENT_GROUND = """
15 14 | 20 12 | 60 10 | 100 8 | 200 6 | 300 4 | 400 3 | 500 2 | 600 1 | 800 1/0 | 1000 2/0 | 1200 3/0 | 1600 4/0
"""
EQUIPMENT_GROUND_KCMIL = "2000 250 | 2500 350 | 3000 400 | 4000 500 | 5000 700 | 6000 800"

# TIA-607: the longest bonding conductor, ft, of each size at 2 kcmil/ft.
BONDING = """
13 6 | 20 4 | 26 3 | 33 2 | 41 1 | 52 1/0 | 66 2/0 | 83 3/0 | 105 4/0
"""
BONDING_KCMIL = "125 250 | 150 300 | 175 350 | 250 500 | 300 600 | 400 750"


def table(text, unit):
    rows = (row.split() for row in text.split("|"))
    return [(int(limit), f"{size} {unit}") for limit, size in rows]


def look_up(rows, wanted):
    return next((size for limit, size in rows if wanted <= limit), None)


def test_wire_limit(figures):
    def expected(size):
        if size in WIRE_LIMIT:
            return WIRE_LIMIT[size]
        # A gauge between two rows has the limit of the thinner one.
        ampacity = AMPACITY.get(size) or AMPACITY.get(size + 1 if size <= 8 else size)
        return ampacity and next(rating for rating in STANDARD if rating >= ampacity)

    assert len(figures["wire_limit"]) == 44
    for size, row in zip(range(-3, 41), figures["wire_limit"], strict=True):
        assert row["limit_a"] == expected(size), row
    for row in figures["wire_limit_kcmil"]:
        assert row["limit_a"] == expected(int(row["size"].removesuffix(" kcmil"))), row
    for row in figures["wire_limit_metric"]:
        assert row["limit_a"] == METRIC.get(float(row["size"].removesuffix(" mm2"))), row


def test_equipment_ground(figures):
    rows = table(EQUIPMENT_GROUND, "awg") + table(EQUIPMENT_GROUND_KCMIL, "kcmil")
    assert len(figures["equipment_ground"]) == 6001
    for row in figures["equipment_ground"]:
        assert row["size"] == look_up(rows, row["rating_a"]), row


def test_bonding(figures):
    rows = table(BONDING, "awg") + table(BONDING_KCMIL, "kcmil")
    assert len(figures["bonding"]) == 400
    for row in figures["bonding"]:
        assert row["size"] == look_up(rows, row["length_ft"]), row


def test_required_rating(figures):
    # NEC 210.20(A): the whole of the other load and 125 % of the continuous one.
    assert figures["required_rating"]
    for row in figures["required_rating"]:
        assert row["required_a"] == pytest.approx(row["rest_a"] + row["continuous_a"] * 125 / 100)


def test_constant_power(figures):
    assert figures["constant_power"]
    for row in figures["constant_power"]:
        assert row["current_a"] * -row["voltage_v"] == pytest.approx(row["power_w"])
