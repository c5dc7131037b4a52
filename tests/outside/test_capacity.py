"""Dryers at their capacity, beside a search through all that each of them can do.

Each office has one or two dryers, some behind a regulator, and cables that lose air. A dryer holds its pressure, or gives all that it can at less,
or is backed up and gives nothing: here the laminar network is solved by numpy for each of these in turn, and the one is kept in
which none contradicts itself. Flows are so small that all is laminar. So it is for the normal state, and for one with a leak. Every section is cut into cells. The figures are invented.
"""

import itertools
import random

import numpy
import pytest

from offices import INCH, PSI, SCFH, SEA_LEVEL, Office, round_bore
from test_hold_up import Lumps, squares

OFFICES = 240
OUTSIDE = SEA_LEVEL**2
KELVINS = 288.0


class Source:
    """A dryer as its cables see it: the pressure that it or its regulator holds, what it can give, and where it stands."""

    def __init__(self, name, psi, scfh, node):
        self.name, self.held, self.most, self.node = name, (SEA_LEVEL + psi * PSI) ** 2, scfh * SCFH, node


def random_office(number):
    chance = random.Random(f"capacity {number}")
    office = Office(f"capacity-{number}", 0.0, KELVINS)
    lumps = Lumps()
    manifold = lumps.junction()
    office.manifold("mf", 20)
    sources = []
    regulated = chance.choice([0, 1, 1])
    for dryer in range(1, chance.choice([1, 2, 2]) + 1):
        name, scfh, bore, metres = f"d{dryer}", chance.uniform(0.8, 5), chance.uniform(0.17, 0.25), chance.uniform(2, 60)
        psi = chance.uniform(7, 11)
        start = lumps.junction()
        if dryer == regulated:
            office.dryer(name, chance.uniform(20, 40), capacity=scfh)
            office.regulator(f"r{dryer}", psi)
            office.air(name, f"r{dryer}")
            office.air(f"r{dryer}", "mf", bore=bore, metres=metres)
        else:
            office.dryer(name, psi, capacity=scfh)
            office.air(name, "mf", bore=bore, metres=metres)
        lumps.way(start, manifold, squares(bore * INCH, metres, KELVINS))
        sources.append(Source(name, psi, scfh, start))
    ends, joints = [], []
    for line in range(1, chance.randint(2, 5)):
        here = lumps.junction()
        lumps.way(manifold, here, squares(0.25 * INCH, 3.0, KELVINS))
        laid, at = [], 0.0
        for _ in range(chance.randint(1, 3)):
            metres, k, scfh = chance.uniform(300, 1500), chance.uniform(0.03, 0.2), chance.uniform(0.1, 0.8)
            laid.append((metres, k, scfh))
            here = lumps.line(here, squares(round_bore(k), metres, KELVINS), 0.0, scfh * SCFH)
            at += metres
            joints.append((f"c{line}", at, here))
        ends.append((f"c{line}", here))
        office.cable(f"c{line}", laid)
        office.air(f"mf port {line}", f"c{line}", bore=0.25, metres=3.0)
    cable, metres, place = chance.choice(joints)
    leak = chance.uniform(1, 30)
    office.say(f"when {cable} leaks {leak!r} scfh at {metres!r} m expect c1 above 0.1 psi")
    return office, lumps, sources, ends, (place, leak * SCFH)


def settled(lumps, sources, fixed, conductances):
    """Squared pressures of all places and what each source gives, where `fixed` is lost whatever the pressure. None where no way is without
    contradiction."""
    flows = lumps.conductances()
    cells, count = len(lumps.volumes), len(flows)
    place = lambda node: node if node >= 0 else cells - 1 - node  # noqa: E731
    matrix = flows - numpy.diag(conductances)
    lost = fixed - conductances * OUTSIDE
    found = []
    for ways in itertools.product(("holds", "gives all", "gives nothing"), repeat=len(sources)):
        inflow, held = numpy.zeros(count), {}
        for source, way in zip(sources, ways):
            if way == "holds":
                held[place(source.node)] = source.held
            elif way == "gives all":
                inflow[place(source.node)] += source.most
        if not held and not conductances.any():
            continue
        free = [node for node in range(count) if node not in held]
        known = list(held)
        squared = numpy.zeros(count)
        squared[known] = [held[node] for node in known]
        right = (lost - inflow)[free] - matrix[numpy.ix_(free, known)] @ squared[known]
        squared[free] = numpy.linalg.solve(matrix[numpy.ix_(free, free)], right)
        given = lost - matrix @ squared
        is_right = all(
            {
                "holds": -1e-12 <= given[place(source.node)] <= source.most + 1e-12,
                "gives all": squared[place(source.node)] <= source.held,
                "gives nothing": squared[place(source.node)] >= source.held,
            }[way]
            for source, way in zip(sources, ways)
        )
        if is_right and (squared > 0).all():
            shares = [
                {"holds": given[place(source.node)], "gives all": source.most, "gives nothing": 0.0}[way]
                for source, way in zip(sources, ways)
            ]
            found.append((squared, shares, ways))
    return found[0] if found else None


@pytest.fixture(scope="module")
def found(predict):
    made = [random_office(number) for number in range(OFFICES)]
    return made, predict([office.text for office, *_ in made])


def test_capacity(found):
    made, records = found
    impossible = normal_limits = limits = both = compared = 0
    worst = 0.0
    for (office, lumps, sources, ends, (place, leak)), record in zip(made, records):
        cells, count = len(lumps.volumes), len(lumps.conductances())
        of = lambda node: node if node >= 0 else cells - 1 - node  # noqa: E731
        usage = numpy.array(lumps.usage + [0.0] * lumps.junctions)
        normal = settled(lumps, sources, usage, numpy.zeros(count))
        (state,) = record["states"]
        if normal is None:
            # What is used whatever the pressure is more than the dryers can give or the lines bring.
            assert state["not_known"], office.text
            impossible += 1
            continue
        squared, shares, ways = normal
        given = {row["name"]: row["flow_m3_per_s"] for row in record["dryers"]}
        for source, share in zip(sources, shares):
            assert abs(given[source.name] - share) < 1e-4 * SCFH, (office.text, ways)
        normal_limits += "gives all" in ways
        if (squared[: cells] <= OUTSIDE * 1.0001).any():
            continue
        conductances = usage / (squared - OUTSIDE)
        conductances[of(place)] += leak / (squared[of(place)] - OUTSIDE)
        squared, shares, ways = settled(lumps, sources, numpy.zeros(count), conductances)
        limited = {source.name: share for source, share, way in zip(sources, shares, ways) if way == "gives all"}
        said = {row["name"]: row["flow_m3_per_s"] for row in state["at_capacity"]}
        assert said.keys() == limited.keys(), (office.text, ways, state)
        assert all(abs(said[name] - limited[name]) < 1e-4 * SCFH for name in said)
        limits += len(limited) == 1
        both += len(limited) == 2
        for line in state["lines"]:
            (end,) = (end for name, end in ends if name == line["name"])
            expected = squared[of(end)] ** 0.5 - SEA_LEVEL
            worst = max(worst, abs(line["pressure_pa"] - expected) / PSI)
            assert abs(line["pressure_pa"] - expected) < 2e-3 * PSI, (office.text, ways, line, expected / PSI)
            compared += 1
    print(
        f"{compared} pressures, at most {worst:.1e} psi apart: {limits} offices with one dryer at its capacity, {both} with both, "
        f"{normal_limits} in the normal state already, {impossible} that cannot be"
    )
    assert limits >= 50 and both >= 10 and normal_limits >= 10 and impossible >= 5
