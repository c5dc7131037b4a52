"""The pressure-decay test against the mass of real air and against an integration of the leak's own equation."""

import pytest
from scipy.integrate import solve_ivp

from late import Late

coolprop = Late("CoolProp.CoolProp")

STANDARD_PA, STANDARD_K = 101325, (60 + 459.67) / 1.8


def density(state):
    return coolprop.PropsSI("D", "T", state["kelvins"], "P", state["pa"], "Air")


def test_flow(figures):
    assert len(figures["decay_flows"]) == 12
    standard = density({"kelvins": STANDARD_K, "pa": STANDARD_PA})
    for row in figures["decay_flows"]:
        lost = (density(row["before"]) - density(row["after"])) * row["volume_m3"]
        expected = lost / standard / row["seconds"]
        # Real air: 0.1 % of the air that was there, at most.
        content = density(row["before"]) * row["volume_m3"] / standard / row["seconds"]
        assert row["flow_m3_per_s"] == pytest.approx(expected, abs=1e-3 * content), row


def fall(row, times):
    """Gauge pressures from the balance of mass: dp/dt = −Q·p₀·(T/T₀)/V with p² − a² = 2·p₀·R·Q."""
    air = row["air_pa"]

    def slope(_, pressure):
        flow = (pressure**2 - air**2) / (2 * STANDARD_PA * row["leak"])
        return -flow * STANDARD_PA * (row["kelvins"] / STANDARD_K) / row["volume_m3"]

    start = [air + row["start_pa"]]
    solved = solve_ivp(slope, (0, max(times)), start, t_eval=times, rtol=1e-11, atol=1e-6, method="DOP853")
    return [pressure - air for pressure in solved.y[0]]


def test_laminar_decay(figures):
    assert len(figures["decays"]) == 12
    for row in figures["decays"]:
        times = [int(time) for time in row["gauge_pa"]]
        expected = dict(zip(sorted(times), fall(row, sorted(times))))
        for time, found in row["gauge_pa"].items():
            # 1e-5 psi.
            assert found == pytest.approx(expected[int(time)], abs=0.07), (row, time)
