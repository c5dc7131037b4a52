"""Single tubes and tubes in series that drysheath predict computes, and holes, against fluids.

Its isothermal_gas wants the density at P1, and its own search for P2 is not to be relied on, so P2 is bracketed here. It keeps
the term for the speeding-up of expanding air, 2·ln(P1/P2), which we leave out.
"""

import itertools
import json
import math
import random

import fluids
import pytest
from scipy.optimize import brentq

from offices import FOOT, GAS, INCH, PSI, SCFH, SEA_LEVEL, STANDARD, Office, point, viscosity

BORES = [0.17, 0.25, 0.375, 0.5]
FIFTEEN = 288.15  # K


def reynolds_flow(reynolds, bore, kelvins):
    """The flow in scfh that has a Reynolds number in a bore of so many inches."""
    return reynolds * math.pi * bore * INCH * viscosity(kelvins) / (4 * STANDARD) / SCFH


def end_pressure(p1, flow, bore, length, roughness, kelvins):
    """Absolute pressure at the end of a tube by fluids, and the share that the speeding-up of the air has in it.

    Friction is Colebrook's, solved by Clamond's method, or laminar.
    """
    mass = flow * STANDARD
    rho = p1 / (GAS * kelvins)
    reynolds = 4 * mass / (math.pi * bore * viscosity(kelvins))
    factor = fluids.friction_factor(Re=reynolds, eD=roughness, Method="Clamond") if reynolds > 2000 else 64 / reynolds

    def surplus(p2):
        return fluids.isothermal_gas(rho=rho, fd=factor, P1=p1, P2=p2, L=length, D=bore) - mass

    # No tube here comes near to choking, nor to losing four fifths of its pressure.
    p2 = brentq(surplus, 0.2 * p1, p1 * (1 - 1e-12), xtol=1e-6, rtol=1e-14)
    return p2, 2 * math.log(p1 / p2) / (factor * length / bore)


def chain(links, psi, scfh, kelvins=FIFTEEN, elevation=0.0):
    """Air pipes of a bore in inches, a length in feet and a roughness one behind the other; all flow is used at the end."""
    office = Office("chain", elevation, kelvins)
    office.dryer("d1", psi)
    for number, (bore, feet, roughness) in enumerate(links, 1):
        office.pipe(f"a{number}", feet * FOOT, bore, roughness=roughness)
        office.air(f"a{number - 1} end" if number > 1 else "d1", f"a{number}")
    office.cable("c1", [(1.0, 0.0002, scfh)])
    office.air(f"a{len(links)} end", "c1")
    return office, links, psi, scfh


def compare_chains(predict, chains):
    """What each pipe loses, but for the speeding-up of the air; a joint between pipes loses next to nothing."""
    worst = most = 0.0
    for (office, links, psi, scfh), record in zip(chains, predict([office.text for office, *_ in chains]), strict=True):
        ambient, before = record["conditions"]["ambient_absolute_pa"], psi * PSI
        for number, (bore, feet, roughness) in enumerate(links, 1):
            start, end = (point(record, f"a{number}", what)["pressure_pa"] for what in ("start", "end"))
            assert 0 <= before - start < 1.0
            before, flow = end, scfh * SCFH
            theirs, speeding = end_pressure(start + ambient, flow, bore * INCH, feet * FOOT, roughness, office.kelvins)
            error = abs(end + ambient - theirs) / (start - end)
            worst, most = max(worst, error), max(most, speeding)
            # Near the end, a part of the squares' fall is a larger part of the pressures'.
            assert error < 1e-5 + 2 * speeding, (office.text, number)
    print(f"{len(chains)} chains, worst {worst:.2e} of the drop, speeding-up {most:.2e}")
    return worst


def test_single_laminar_tubes(predict):
    chains = []
    for bore, part in itertools.product(BORES, (0.1, 0.5, 0.99)):
        for feet, kelvins, elevation in ((200, FIFTEEN, 0.0), (100, 303.15, 1650.0), (30, 263.15, 0.0)):
            chains.append(chain([(bore, feet, 0.0)], 10.0, reynolds_flow(part * 2000, bore, kelvins), kelvins, elevation))
    assert compare_chains(predict, chains) < 5e-4


def test_single_turbulent_tubes(predict):
    chains = []
    for (bore, feet), reynolds in itertools.product(((0.25, 300), (0.375, 600), (0.5, 1000)), (4100, 6500, 12000, 25000)):
        for roughness in (0.0, 1e-3, 0.02):
            chains.append(chain([(bore, feet, roughness)], 80.0, reynolds_flow(reynolds, bore, FIFTEEN)))
    assert compare_chains(predict, chains) < 3e-3


def test_series(predict):
    chance = random.Random(1)
    chains = []
    for _ in range(60):
        links = [(chance.choice(BORES), chance.uniform(20, 400), 0.0) for _ in range(chance.randint(2, 6))]
        chains.append(chain(links, chance.uniform(8, 15), chance.uniform(1, 8)))
    assert compare_chains(predict, chains) < 1e-3


def test_regimes(predict):
    regimes = {1990: "laminar", 2010: "uncertain", 3990: "uncertain", 4010: "turbulent"}
    texts = []
    for reynolds in regimes:
        office = Office("regime", kelvins=FIFTEEN)
        office.dryer("d1", 10.0)
        office.cable("c1", [(1.0, 0.0002, reynolds_flow(reynolds, 0.5, FIFTEEN))])
        office.air("d1", "c1", bore=0.5, metres=3.0)
        texts.append(office.text)
    for (reynolds, regime), record in zip(regimes.items(), predict(texts), strict=True):
        (tube,) = record["tubes"]
        assert tube["reynolds"] == pytest.approx(reynolds, rel=1e-6)
        assert tube["regime"] == regime


def test_holes(figures):
    # The isentropic nozzle written out anew, with the critical pressure of fluids. No statement of an office is a hole.
    assert len(figures["holes"]) == 21
    for row in figures["holes"]:
        inside = row["gauge_pa"] + SEA_LEVEL
        outside = max(SEA_LEVEL, fluids.P_critical_flow(inside, 1.4))
        warmer = fluids.isentropic_T_rise_compression(1, outside, inside, 1.4)  # stagnation over throat temperature
        speed = math.sqrt(2 * 1.4 / 0.4 * GAS * row["kelvins"] * (1 - 1 / warmer))
        density = inside / (GAS * row["kelvins"]) / warmer ** (1 / 0.4)
        area = math.pi / 4 * row["hole_m"] ** 2
        expected = row["coefficient"] * area * density * speed / STANDARD
        assert row["flow_m3_per_s"] == pytest.approx(expected, rel=1e-5), row


def test_the_bore_for_a_wanted_loss(drysheath, tmp_path):
    """`--size` of a pipe with `--loss`: with the bore that it bounds, fluids loses what is wanted."""
    (tmp_path / "drysheath.toml").write_text("language = 1\n", encoding="utf-8")
    chance = random.Random(15)
    laminar = turbulent = 0
    for number in range(40):
        psi, scfh, feet = chance.uniform(5, 40), 10 ** chance.uniform(0, 3), chance.uniform(100, 3000)
        loss = chance.uniform(0.02, 0.2) * psi
        office, *_ = chain([(5.0, feet, 0.0)], psi, scfh)
        file = tmp_path / f"{number}.office"
        file.write_text(office.text.replace("capacity 100.0", "capacity 5000.0"), encoding="utf-8")
        printed = drysheath("predict", file, "--size", "a1", "--loss", f"{loss!r} psi", "--output", "json")
        (record,) = json.loads(printed)["offices"]
        (figure,) = record["sizing"]["figures"]
        bore = figure["at_least"]
        reynolds = 4 * scfh * SCFH * STANDARD / (math.pi * bore * viscosity(FIFTEEN))
        if 1990 < reynolds < 4010:
            continue
        start = SEA_LEVEL + psi * PSI
        theirs, speeding = end_pressure(start, scfh * SCFH, bore, feet * FOOT, 0.0, FIFTEEN)
        assert (start - theirs) / (loss * PSI) == pytest.approx(1, abs=2e-3 + 3 * speeding), (office.text, bore, reynolds)
        laminar, turbulent = laminar + (reynolds < 2000), turbulent + (reynolds > 4000)
    assert laminar > 5 and turbulent > 5, (laminar, turbulent)
