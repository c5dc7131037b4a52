"""Sensors with addresses on one pair: the voltage that is left for each, beside the node voltages of the same wires by scipy.

The figures of the offices are invented."""

import math
import random

import numpy
import pytest
from scipy.sparse import lil_matrix
from scipy.sparse.linalg import spsolve

SUPPLY = 40.0
OFFICES = 40
AIR = "resistance 0.1 psi/scfh/kft, usage 0 scfh"


def copper(gauge, metres, celsius):
    """There and back: IEC 60028 and ASTM B258."""
    area = math.pi / 4 * (5 * 92 ** ((36 - gauge) / 39) * 0.0254) ** 2
    return 2 * metres / 58 / area * (1 + 0.00393 * (celsius - 20))


class Pair:
    """A pair of one cable, with a jumper in the office, and the sensors that are bridged on it."""

    def __init__(self, chance):
        self.gauge = chance.choice([19, 22, 24, 26])
        self.celsius = chance.choice([40, 60])
        self.length, self.off, self.branch = 4000, chance.randrange(500, 3500), chance.randrange(300, 1500)
        self.jumper = chance.randrange(2, 40)
        self.sensors = []
        for number in range(chance.randrange(2, 7)):
            on_branch = chance.random() < 0.4
            metres = chance.randrange(50, self.branch if on_branch else self.length)
            self.sensors.append((f"ps{number}", on_branch, metres, chance.randrange(1, 8), chance.randrange(5, 12)))

    def text(self):
        lines = [
            f"office pairs {{ elevation 0 m, coldest -30 degC, hottest {self.celsius} degC }}",
            f"monitor m1 {{ sensors 1, loop-voltage {SUPPLY} V, addresses 16 }}",
            f"cable c1 {{ pairs 10, gauge {self.gauge} awg, section s1 {{ buried {self.length} m, {AIR} }}",
            f"    branch b1 {{ from {self.off} m, section t1 {{ buried {self.branch} m, {AIR} }} }} }}",
        ]
        for at, (name, on_branch, metres, milliamperes, needs) in enumerate(self.sensors, 1):
            place = f"c1 branch b1 {metres} m" if on_branch else f"c1 {metres} m"
            lines.append(
                f"pressure-sensor {name} {{ span 0 .. 10 psi, at {place}, address {at}, needs {needs} V, current-max {milliamperes} mA }}"
            )
            jumper = f" -> m1 sensor 1 with 22 awg, {self.jumper} m" if at == 1 else ""
            lines.append(f"wire {name} -> c1 pair 4{jumper}")
        return "\n".join(lines) + "\n"

    def volts(self):
        """The voltage at each sensor, from the conductances between all places on the pair."""
        main = sorted({0, self.off, *(metres for _, on_branch, metres, *_ in self.sensors if not on_branch)})
        side = sorted({0, *(metres for _, on_branch, metres, *_ in self.sensors if on_branch)})
        nodes = {("office", 0): 0}
        for place in [("main", at) for at in main] + [("side", at) for at in side if at]:
            nodes[place] = len(nodes)
        nodes["side", 0] = nodes["main", self.off]
        wires = [(("office", 0), ("main", 0), copper(22, self.jumper, self.celsius))]
        for name, places in (("main", main), ("side", side)):
            for near, far in zip(places, places[1:]):
                wires.append(((name, near), (name, far), copper(self.gauge, far - near, self.celsius)))
        count = len(set(nodes.values()))
        matrix, drawn = lil_matrix((count, count)), numpy.zeros(count)
        for one, other, ohms in wires:
            a, b = nodes[one], nodes[other]
            for row, column, sign in ((a, a, 1), (b, b, 1), (a, b, -1), (b, a, -1)):
                matrix[row, column] += sign / ohms
        for _, on_branch, metres, milliamperes, _ in self.sensors:
            drawn[nodes["side" if on_branch else "main", metres]] -= milliamperes / 1000
        matrix[0, :] = 0
        matrix[0, 0], drawn[0] = 1, SUPPLY
        found = spsolve(matrix.tocsr(), drawn)
        return {name: found[nodes["side" if on_branch else "main", metres]] for name, on_branch, metres, *_ in self.sensors}


def test_every_sensor_has_the_voltage_that_kirchhoff_leaves_it(predict):
    chance = random.Random(7)
    pairs = [Pair(chance) for _ in range(OFFICES)]
    compared = 0
    for pair, record in zip(pairs, predict([pair.text() for pair in pairs])):
        volts = pair.volts()
        assert len(record["loops"]) == len(pair.sensors)
        for loop in record["loops"]:
            (_, _, _, milliamperes, needs) = next(own for own in pair.sensors if own[0] == loop["device"])
            if loop["limit_ohm"] is None:
                assert volts[loop["device"]] < SUPPLY, pair.text()
                continue
            # What the limit leaves beyond the loop's own resistance, the device has beyond what it needs.
            left = (loop["limit_ohm"] - loop["resistance_ohm"]) * milliamperes / 1000
            assert volts[loop["device"]] == pytest.approx(needs + left, rel=1e-9), pair.text()
            compared += 1
    assert compared > 2 * OFFICES
