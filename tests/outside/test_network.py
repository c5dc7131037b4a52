"""Air networks against fluids and pandapipes.

fluids integrates a single tube. Its isothermal_gas wants the density at P1, and its own search for P2 is not to be relied on,
so P2 is bracketed here. It keeps the term for the speeding-up of expanding air, 2·ln(P1/P2), which we leave out.

pandapipes solves whole networks by a Newton method of its own. Its p_bar is gauge, on 1.01325 bar; its friction is that
of a smooth laminar pipe plus Nikuradse's, so the roughness is set to nothing, and only networks that are laminar throughout are
compared.
"""

import math
import random

import fluids
import pandapipes
import pytest
from scipy.optimize import brentq

AMBIENT = 101325.0  # Pa
GAS = 287.05287  # J/(kg·K)
KELVINS = 288.15
STANDARD = 101325.0 / (GAS * (60 + 459.67) * 5 / 9)  # kg in one m³ of flow
SCFH = 0.3048**3 / 3600  # m³/s
PSI = 6894.757293168
FOOT = 0.3048
INCH = 0.0254
BORES = [0.17, 0.25, 0.375, 0.5]


def viscosity(kelvins):
    return 1.458e-6 * kelvins**1.5 / (kelvins + 110.4)


def tube(start, end, bore, length, roughness=0.0):
    return {
        "from": start,
        "to": end,
        "kind": "tube",
        "bore": bore * INCH,
        "length": length * FOOT,
        "roughness": roughness * bore * INCH,
        "usage": 0.0,
    }


def network(nodes, links, **rest):
    return {"ambient": AMBIENT, "kelvins": KELVINS, "nodes": nodes, "links": links, **rest}


def end_pressure(p1, flow, link, kelvins):
    """Absolute pressure at the end of a tube by fluids, and the share that the speeding-up of the air has in it.

    Friction is Colebrook's, solved by Clamond's method, or laminar.
    """
    mass = flow * STANDARD
    bore, rho = link["bore"], p1 / (GAS * kelvins)
    reynolds = 4 * mass / (math.pi * bore * viscosity(kelvins))
    factor = fluids.friction_factor(Re=reynolds, eD=link["roughness"] / bore, Method="Clamond")
    if reynolds <= 2000:
        factor = 64 / reynolds

    def surplus(p2):
        return fluids.isothermal_gas(rho=rho, fd=factor, P1=p1, P2=p2, L=link["length"], D=bore) - mass

    # No tube here comes near to choking, nor to losing four fifths of its pressure.
    p2 = brentq(surplus, 0.2 * p1, p1 * (1 - 1e-12), xtol=1e-6, rtol=1e-14)
    return p2, 2 * math.log(p1 / p2) / (factor * link["length"] / bore)


def compare_chain(solve, chains):
    """Chains of tubes with all flow to the end: each node's fall from the start, but for the speeding-up of the air."""
    worst = speeding = 0.0
    for (plan, flow), found in zip(chains, solve([plan for plan, _ in chains]), strict=True):
        assert "why" not in found, found
        start = pressure = plan["supplies"][0]["delivers"] + plan["ambient"]
        for link, gauge in zip(plan["links"], found["gauge"][1:], strict=True):
            pressure, share = end_pressure(pressure, flow, link, plan["kelvins"])
            speeding = max(speeding, share)
            ours = gauge + plan["ambient"]
            error = abs(ours - pressure) / (start - pressure)
            worst = max(worst, error)
            # Near the end, a part of the squares' fall is a larger part of the pressures'.
            assert error < 1e-5 + 2 * speeding, (plan, gauge, pressure)
    print(f"{len(chains)} chains, worst {worst:.2e} of the drop, speeding-up {speeding:.2e}")
    return worst


def chain(links, psi, flow, kelvins=KELVINS, ambient=AMBIENT):
    end = len(links)
    plan = network(end + 1, links, supplies=[{"at": 0, "delivers": psi * PSI}], demands=[{"at": end, "flow": flow}])
    return {**plan, "kelvins": kelvins, "ambient": ambient}, flow


def test_single_laminar_tubes(solve):
    chains = []
    for bore in BORES:
        for share in (0.1, 0.5, 0.99):
            # At Re 2000 in air of 15 °C one inch of bore passes about 74 scfh.
            flow = share * 2000 * math.pi * bore * INCH * viscosity(KELVINS) / (4 * STANDARD)
            for length, kelvins, ambient in ((200, KELVINS, AMBIENT), (100, 303.15, 83000.0), (30, 263.15, AMBIENT)):
                flow_here = flow * viscosity(kelvins) / viscosity(KELVINS)
                chains.append(chain([tube(0, 1, bore, length)], 10.0, flow_here, kelvins, ambient))
    assert compare_chain(solve, chains) < 5e-4


def test_single_turbulent_tubes(solve):
    chains = []
    for bore, length in ((0.25, 300), (0.375, 600), (0.5, 1000)):
        for reynolds in (4100, 6500, 12000, 25000):
            for roughness in (0.0, 1e-3, 0.02):
                flow = reynolds * math.pi * bore * INCH * viscosity(KELVINS) / (4 * STANDARD)
                chains.append(chain([tube(0, 1, bore, length, roughness)], 80.0, flow))
    assert compare_chain(solve, chains) < 3e-3


def test_regimes(solve):
    flows = {reynolds: reynolds * math.pi * INCH / 2 * viscosity(KELVINS) / (4 * STANDARD) for reynolds in (1990, 2010, 3990, 4010)}
    found = solve([chain([tube(0, 1, 0.5, 10)], 10.0, flow)[0] for flow in flows.values()])
    for (reynolds, _), answer in zip(flows.items(), found, strict=True):
        (link,) = answer["links"]
        assert link["reynolds"] == pytest.approx(reynolds, rel=1e-6)
        assert link["regime"] == {1990: "laminar", 2010: "uncertain", 3990: "uncertain", 4010: "turbulent"}[reynolds]
        if reynolds in (1990, 4010):
            expected = 64 / reynolds if reynolds < 2000 else fluids.friction_factor(Re=reynolds, eD=0, Method="Clamond")
            assert link["friction"] == pytest.approx(expected, rel=1e-6)


def test_series(solve):
    chance = random.Random(1)
    chains = []
    for _ in range(60):
        links, length = [], chance.randint(2, 6)
        for place in range(length):
            links.append(tube(place, place + 1, chance.choice(BORES), chance.uniform(20, 400)))
        chains.append(chain(links, chance.uniform(8, 15), chance.uniform(1, 8) * SCFH))
    assert compare_chain(solve, chains) < 1e-3


def test_holes(solve):
    # The isentropic nozzle written out anew, with the critical pressure of fluids.
    plans = [
        network(1, [], supplies=[{"at": 0, "delivers": psi * PSI}], leaks=[{"at": 0, "hole": hole * INCH, "coefficient": 0.62}])
        for psi in (0.5, 2.0, 10.0, 13.0, 13.3, 20.0, 60.0)
        for hole in (0.003, 0.01, 0.05)
    ]
    for plan, found in zip(plans, solve(plans), strict=True):
        inside = plan["supplies"][0]["delivers"] + AMBIENT
        outside = max(AMBIENT, fluids.P_critical_flow(inside, 1.4))
        mach = fluids.isentropic_T_rise_compression(1, outside, inside, 1.4)  # stagnation over throat temperature
        speed = math.sqrt(2 * 1.4 / 0.4 * GAS * KELVINS * (1 - 1 / mach))
        density = inside / (GAS * KELVINS) / mach ** (1 / 0.4)
        area = math.pi / 4 * plan["leaks"][0]["hole"] ** 2
        assert found["leaks"][0] == pytest.approx(0.62 * area * density * speed / STANDARD, rel=1e-5)


def random_network(chance):
    """A tree of tubes and pieces of cable (as the round bores that they equal), often with loops, and up to three supplies."""
    nodes = chance.randint(3, 25)
    links = [
        tube(chance.randrange(max(0, node - 4), node), node, chance.choice(BORES[1:]), chance.uniform(50, 1500))
        for node in range(1, nodes)
    ]
    for _ in range(chance.choice([0, 0, 1, 2, 4])):
        one, two = chance.sample(range(nodes), 2)
        links.append(tube(one, two, chance.choice(BORES), chance.uniform(50, 1500)))
    for link in links:
        if chance.random() < 0.5:
            link["from"], link["to"] = link["to"], link["from"]
    places = chance.sample(range(nodes), min(nodes, chance.choice([1, 1, 2, 3])))
    psi = chance.uniform(6, 12)
    held = [{"at": at, "gauge": (psi + chance.uniform(0, 0.3)) * PSI} for at in places]
    users = chance.sample(range(nodes), chance.randint(1, min(8, nodes)))
    demands = [{"at": at, "flow": chance.uniform(0.1, 2) * SCFH} for at in users]
    return network(nodes, links, held=held, demands=demands)


def by_pandapipes(plan):
    air = pandapipes.create_constant_fluid(
        "dry air",
        "gas",
        density=101325.0 / (GAS * 273.15),
        viscosity=viscosity(KELVINS),
        heat_capacity=1005.0,
        molar_mass=28.964,
        compressibility=1.0,
        der_compressibility=0.0,
    )
    net = pandapipes.create_empty_network(fluid=air)
    for _ in range(plan["nodes"]):
        pandapipes.create_junction(net, pn_bar=0.7, tfluid_k=KELVINS)
    for held in plan["held"]:
        pandapipes.create_ext_grid(net, held["at"], p_bar=held["gauge"] / 1e5, t_k=KELVINS)
    for demand in plan["demands"]:
        pandapipes.create_sink(net, demand["at"], mdot_kg_per_s=demand["flow"] * STANDARD)
    for link in plan["links"]:
        pandapipes.create_pipe_from_parameters(
            net, link["from"], link["to"], length_km=link["length"] / 1e3, diameter_m=link["bore"], k_mm=1e-300
        )
    pandapipes.pipeflow(
        net, friction_model="nikuradse", mode="hydraulics", max_iter_hyd=200, tol_p=1e-10, tol_m=1e-13, tol_res=1e-10
    )
    return list(net.res_junction.p_bar * 1e5), list(net.res_pipe.mdot_from_kg_per_s / STANDARD)


def test_networks(solve):
    chance = random.Random(2)
    plans = [random_network(chance) for _ in range(320)]
    compared = looped = several = 0
    worst = 0.0
    for plan, found in zip(plans, solve(plans), strict=True):
        assert "why" not in found, plan
        assert found["residual"] < 1e-9
        if max(link["reynolds"] for link in found["links"]) > 2000:
            continue
        highest, lowest = max(found["gauge"]), min(found["gauge"])
        if lowest < 0 or highest - lowest < 100:
            continue
        pressures, flows = by_pandapipes(plan)
        drop = max(pressures) - min(pressures)
        most = max(abs(flow) for flow in flows)
        for ours, theirs in zip(found["gauge"], pressures, strict=True):
            worst = max(worst, abs(ours - theirs) / drop)
            assert abs(ours - theirs) < 1e-3 * drop, plan
        for ours, theirs in zip(found["links"], flows, strict=True):
            assert abs(ours["flow"] - theirs) < 1e-3 * most, plan
        compared += 1
        looped += len(plan["links"]) >= plan["nodes"]
        several += len(plan["held"]) > 1
    print(f"{compared} networks, {looped} with loops, {several} with several supplies; worst {worst:.2e} of the drop")
    assert compared >= 200
    assert looped >= 80
    assert several >= 80
