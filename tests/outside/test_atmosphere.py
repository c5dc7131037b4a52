"""The air around an office against ambiance (ICAO 1993, the same model as ISO 2533)."""

import pytest

from late import Late
from offices import Office

ambiance = Late("ambiance")


def test_pressure(predict):
    elevations = [float(metres) for metres in range(-250, 5001, 250)]
    for metres, record in zip(elevations, predict([Office("high", metres).text for metres in elevations]), strict=True):
        (expected,) = ambiance.Atmosphere(metres).pressure
        assert record["conditions"]["elevation_m"] == metres
        assert record["conditions"]["ambient_absolute_pa"] == pytest.approx(expected, rel=1e-6), metres
