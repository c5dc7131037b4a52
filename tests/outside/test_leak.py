"""Where a cable leaks, and how surely, against numpy's own straight lines and noise."""

import numpy
import pytest

KILOFOOT = 304.8


def meet(x, pressures):
    """Where the line through the first two of the squared pressures comes down to the third."""
    slope, height = numpy.polyfit(x[:2], (pressures**2)[:2], 1)
    return (pressures[2] ** 2 - height) / slope


def test_place(figures):
    rows = figures["leaks"]
    assert len(rows) == 9
    for row in rows:
        x, pressures = numpy.array(row["kft"], float), numpy.array(row["pa"])
        assert meet(x, pressures) == pytest.approx(row["leak_kft"], rel=1e-6), row
        if row["found_m"] is None:
            assert "on the other side" in row["why_not"], row
        else:
            assert row["found_m"] / KILOFOOT == pytest.approx(row["leak_kft"], rel=1e-9), row
    assert sum(row["found_m"] is not None for row in rows) >= 5


def test_deviation(figures):
    noise = numpy.random.default_rng(11)
    for row in figures["leaks"]:
        if row["found_m"] is None:
            continue
        x, pressures = numpy.array(row["kft"], float) * KILOFOOT, numpy.array(row["pa"])
        # Evenly spread errors of this deviation, as those of a sensor's step are.
        half = row["deviation_pa"] * 3**0.5
        shaken = (pressures + noise.uniform(-half, half, (50_000, 3))) ** 2
        places = x[0] + (shaken[:, 0] - shaken[:, 2]) * (x[1] - x[0]) / (shaken[:, 0] - shaken[:, 1])
        assert row["deviation_m"] == pytest.approx(places.std(), rel=0.05), row
        assert numpy.mean(abs(places - row["found_m"]) < 2 * row["deviation_m"]) > 0.94, row


def test_worked_example():
    # AIR-4: numpy finds the leak of the worked example at 6.35 kft, and its deviation for noise of 0.05 psi.
    x, atmosphere = numpy.array([0, 4, 10.0]), 14.69594877551345
    pressures = numpy.array([9.5, 5.818663354905205, 3.3082165180690772]) + atmosphere
    assert meet(x, pressures) == pytest.approx(6.35, abs=1e-9)
    shaken = (pressures + numpy.random.default_rng(1).normal(0, 0.05, (50_000, 3))) ** 2
    places = 4 * (shaken[:, 0] - shaken[:, 2]) / (shaken[:, 0] - shaken[:, 1])
    assert places.std() == pytest.approx(0.0972, rel=0.05)
