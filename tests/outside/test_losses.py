"""Filters, valves and flow sensors that say what they lose, in loops, beside the same equations solved by scipy.

Each office has two or three ways from a manifold behind the dryer to one before the cables, each with tubes and devices, so that
the shares of the air follow from the losses alone. Tubes are so wide, or flows so small, that all is laminar. The figures are invented."""

import math
import random

import numpy
import pytest
from scipy.optimize import root

from offices import GAS, INCH, PSI, SCFH, SEA_LEVEL, STANDARD, STANDARD_KELVINS, line_of, viscosity

OFFICES = 40


def curve(points):
    """The loss in Pa at a flow in m³/s: in proportion, a·Q + b·Q², or straight lines where that curve would not rise so."""
    (q1, p1), *second = sorted((scfh * SCFH, psi * PSI) for psi, scfh in points)
    if not second:
        return lambda flow: p1 / q1 * flow
    ((q2, p2),) = second
    b, a = numpy.linalg.solve([[q1**2, q1], [q2**2, q2]], [p1, p2])
    if a >= 0 and b >= 0:
        return lambda flow: flow * (a + b * abs(flow))
    return lambda flow: math.copysign(numpy.interp(abs(flow), [0, q1, q2, 10 * q2], [0, p1, p2, p2 + 9 * q2 * (p2 - p1) / (q2 - q1)]), flow)


def tube(bore, metres):
    """The fall of p² for each m³/s: Hagen and Poiseuille for an ideal gas at one temperature."""
    mass = STANDARD
    return 256 * viscosity(STANDARD_KELVINS) * metres * GAS * STANDARD_KELVINS * mass / (math.pi * bore**4)


class Ways:
    """An office, its text, and its network: edges of (from, to, law), a tube's law a number and a device's a function."""

    def __init__(self, number):
        chance = random.Random(number)
        self.psi, self.usage = chance.uniform(8, 14), chance.uniform(2, 9)
        said = [
            f"office losses-{number} {{ elevation 0 m, coldest -30 degC, air-temperature {STANDARD_KELVINS!r} K }}",
            f"dryer d1 {{ compressor none, delivers {self.psi!r} psi, capacity 100 scfh, dew-point -40 degC }}",
            "manifold m0 { ports 4 }",
            "manifold m1 { ports 4 }",
            "air d1 -> m0",
            f"cable c1 {{ pairs 50, section s1 {{ buried 500 m, resistance 0.05 psi/scfh/kft, usage {self.usage!r} scfh }} }}",
            "air m1 port 1 -> c1",
        ]
        self.edges, self.tubes = [], {}
        for way in range(1, chance.choice([3, 4])):
            names = [f"x{way}{stop}" for stop in range(chance.choice([1, 1, 2]))]
            for name in names:
                points = self.points(chance)
                kind = chance.choice(["filter", "flow-sensor", "shut-off", "check"])
                stated = ", ".join(f"loss {psi!r} psi at {scfh!r} scfh" for psi, scfh in points)
                head = {"filter": "", "flow-sensor": "span 0 .. 100 scfh, "}.get(kind, f"function {kind}, ")
                said.append(f"{kind if kind in ('filter', 'flow-sensor') else 'valve'} {name} {{ {head}{stated} }}")
                self.edges.append(((name, "in"), (name, "out"), curve(points)))
            stops = ["m0", *names, "m1"]
            for near, far in zip(stops, stops[1:]):
                bore, metres = chance.choice([0.25, 0.375]), chance.uniform(2, 40)
                start = f"m0 port {way}" if near == "m0" else near
                end = f"m1 port {way}" if far == "m1" and way > 1 else far
                said.append(f"air {start} -> {end} with {bore!r} in bore, {metres!r} m")
                self.tubes[near, far, way] = len(self.edges)
                self.edges.append((self.node(near, "out"), self.node(far, "in"), tube(bore * INCH, metres)))
        self.text = "\n".join(said) + "\n"

    @staticmethod
    def node(name, side):
        return name if name in ("m0", "m1") else (name, side)

    @staticmethod
    def points(chance):
        """One point, or two: of a curve, of a valve with a spring, or steeper than the square of the flow."""
        psi, scfh = chance.uniform(0.05, 0.4), chance.uniform(0.5, 4)
        points = [(psi, scfh)]
        if chance.random() < 0.6:
            times = chance.uniform(1.5, 4)
            points.append((psi * times ** chance.uniform(0.4, 2.3), scfh * times))
        chance.shuffle(points)
        return points

    def solve(self):
        """The absolute pressure at each node and the flow in each edge."""
        nodes = sorted({node for start, end, _ in self.edges for node in (start, end)} - {"m0"}, key=str)
        held, drawn = self.psi * PSI + SEA_LEVEL, self.usage * SCFH

        def parts(unknown):
            pressures = dict(zip(nodes, unknown[: len(nodes)] * held)) | {"m0": held}
            return pressures, unknown[len(nodes) :] * drawn

        def surplus(unknown):
            pressures, flows = parts(unknown)
            left = dict.fromkeys(nodes, 0.0) | {"m1": drawn, "m0": 0.0}
            laws = []
            for (start, end, law), flow in zip(self.edges, flows):
                left[start] += flow
                left[end] -= flow
                one, other = pressures[start], pressures[end]
                if callable(law):
                    laws.append((one - other - law(flow)) / PSI)
                else:
                    laws.append((one**2 - other**2 - law * flow) / (2 * held * PSI))
            return [*(left[node] / drawn for node in nodes), *laws]

        start = [*(1.0 - 0.001 * at for at in range(len(nodes))), *([1 / 2] * len(self.edges))]
        found = root(surplus, start, method="hybr", tol=1e-12)
        assert max(map(abs, surplus(found.x))) < 1e-8, found.message
        return parts(found.x)


def test_losses_share_the_air_as_the_equations_say(predict):
    offices = [Ways(number) for number in range(OFFICES)]
    worst = 0.0
    for office, record in zip(offices, predict([office.text for office in offices]), strict=True):
        pressures, flows = office.solve()
        start = min(line_of(record, "c1")["points"], key=lambda point: point["distance_m"])
        # Each joint without a tube takes a tenth of a pascal or so.
        assert start["pressure_pa"] == pytest.approx(pressures["m1"] - SEA_LEVEL, abs=0.5)
        told = iter(record["tubes"])
        for (near, far, _), at in office.tubes.items():
            row = next(row for row in told if (row["from"], row["to"]) == (near, far))
            assert row["flow_m3_per_s"] == pytest.approx(flows[at], rel=1e-5)
            worst = max(worst, abs(row["flow_m3_per_s"] / flows[at] - 1))
    assert worst > 0, "nothing was compared"
