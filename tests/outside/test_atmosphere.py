"""The standard atmosphere against ambiance (ICAO 1993, the same model as ISO 2533)."""

import ambiance
import pytest


def test_pressure(figures):
    assert [row["elevation_m"] for row in figures["isa"]] == list(range(0, 5001, 250))
    for row in figures["isa"]:
        (expected,) = ambiance.Atmosphere(row["elevation_m"]).pressure
        assert row["pressure_pa"] == pytest.approx(expected, rel=1e-6), row["elevation_m"]
