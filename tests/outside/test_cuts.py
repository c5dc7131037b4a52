"""Complete cuts, beside a network of our own that each of them is made in.

Each office has a dryer, a regulator and cables behind a flow sensor, or one of them before it; sections of the cables end at pressure sensors
or not. Limits lie anywhere. Here every section is cut into cells, each of which loses air by the pressure in it as it follows from its usage in the
normal state, and numpy solves the network with a cell open to the surrounding air. Where no reading passes its limit by more than the error,
`predict` should say that not even a cut is reported, and `lint` should name the stretch. Flows are so small that all is laminar. The
figures are invented.
"""

import json
import random
import re
import subprocess

import numpy
import pytest

from offices import INCH, PSI, SCFH, SEA_LEVEL, Office, round_bore
from test_hold_up import CELLS, Lumps, squares

OFFICES = 150
OUTSIDE = SEA_LEVEL**2
KELVINS = 288.0
BORE = 1.0  # Inches, of the tubes in the office.
LAMINAR = 60 * SCFH  # What such a tube passes at a Reynolds number below 2000.
UNSURE = 0.02  # As a part of the way from the normal reading to the limit.
NEAR = 12.0  # Metres: stretches are told with three digits.


class Sensor:
    """A limit: of a pressure at a node, or of the flow along a way."""

    def __init__(self, name, at, normal, surely):
        self.name, self.at, self.normal, self.surely = name, at, normal, surely

    def gone(self, reading):
        """The part of the way to where it surely trips, pressures by their squares."""
        square = (lambda figure: (SEA_LEVEL + figure) ** 2) if self.name != "f1" else (lambda figure: figure)
        return (square(reading) - square(self.normal)) / (square(self.surely) - square(self.normal))


class Network:
    def __init__(self, lumps, held):
        self.flows, self.cells, self.held = lumps.conductances(), len(lumps.volumes), held
        usage = numpy.zeros(len(self.flows))
        usage[: self.cells] = lumps.usage
        self.squared = self.solve(usage, numpy.zeros(len(usage)), [])
        self.leakage = numpy.where(usage > 0, usage / (self.squared - OUTSIDE), 0.0)

    def place(self, node):
        return node if node >= 0 else self.cells - 1 - node

    def solve(self, usage, conductances, open_at):
        """Squared pressures with what is lost whatever the pressure, what goes with p² − pₐ², and places that are open."""
        source, psi = self.held
        known = {self.place(source): (SEA_LEVEL + psi * PSI) ** 2} | {self.place(node): OUTSIDE for node in open_at}
        free = [node for node in range(len(self.flows)) if node not in known]
        matrix = self.flows - numpy.diag(conductances)
        squared = numpy.zeros(len(self.flows))
        squared[list(known)] = list(known.values())
        lost = usage - conductances * OUTSIDE
        right = lost[free] - matrix[numpy.ix_(free, list(known))] @ squared[list(known)]
        squared[free] = numpy.linalg.solve(matrix[numpy.ix_(free, free)], right)
        return squared

    def reading(self, squared, at):
        if isinstance(at, tuple):
            one, other = (self.place(node) for node in at)
            return self.flows[one, other] * (squared[one] - squared[other])
        return squared[self.place(at)] ** 0.5 - SEA_LEVEL


def random_office(number):
    chance = random.Random(f"cuts {number}")
    office, lumps = Office(f"cuts-{number}", 0.0, KELVINS), Lumps()
    psi = chance.uniform(7, 11)
    office.dryer("d1", 40.0, capacity=400.0)
    office.regulator("r1", psi)
    office.manifold("m0", 20)
    office.manifold("mf", 20)
    office.air("d1", "r1")
    source, before, behind = lumps.junction(), lumps.junction(), lumps.junction()
    tube = squares(BORE * INCH, 4.0, KELVINS)
    lumps.way(source, before, tube)
    lumps.way(before, behind, tube)
    office.air("r1", "m0", bore=BORE, metres=4.0)
    office.air("f1", "mf", bore=BORE, metres=4.0)
    office.air("m0 port 1", "f1")
    sensors, cells, lines = [("f1", (before, behind))], {}, {}
    for line in range(1, chance.randint(2, 4)):
        is_before = line > 1 and chance.random() < 0.3
        here, at, laid = lumps.junction(), 0.0, []
        lumps.way(before if is_before else behind, here, tube)
        for section in range(1, chance.randint(2, 3)):
            metres, k, scfh = chance.uniform(400, 2200), chance.uniform(0.05, 0.25), chance.uniform(0.3, 2.5)
            laid.append((metres, k, scfh))
            first = len(lumps.volumes)
            here = lumps.line(here, squares(round_bore(k), metres, KELVINS), 0.0, scfh * SCFH)
            for cell in range(CELLS):
                cells[f"c{line}", at + (cell + 0.5) / CELLS * metres] = first + cell
            at += metres
            if chance.random() < 0.4:
                sensors.append((f"ps{line}{section}", here, f"c{line} {at!r} m"))
        lines[f"c{line}"] = at
        office.cable(f"c{line}", laid)
        office.air(f"{'m0' if is_before else 'mf'} port {line + 1}", f"c{line}", bore=BORE, metres=4.0)
    network = Network(lumps, (source, psi))
    limits = []
    for name, at, *said in sensors:
        normal = network.reading(network.squared, at)
        if name == "f1":
            error = chance.uniform(0.1, 0.5)
            limit = float(normal) / SCFH + chance.uniform(1, 12)
            limits.append(Sensor(name, at, normal, (limit + error) * SCFH))
            office.say(f"flow-sensor f1 {{ span 0 .. 100 scfh, step 0.05 scfh, error {error!r} scfh, limit high {limit!r} scfh }}")
        else:
            # Now and then a limit that cannot be told from nothing.
            error = chance.choice([0.1, 0.2, 1.5])
            limit = chance.uniform(0.3, 0.9) * float(normal) / PSI
            limits.append(Sensor(name, at, normal, (limit - error) * PSI))
            fields = f"span 0 .. 20 psi, step 0.05 psi, error {error!r} psi, limit low {limit!r} psi"
            office.say(f"pressure-sensor {name} {{ at {said[0]}, {fields} }}")
    return office, network, limits, cells, lines


def told(message, lines):
    """The cable and the stretch that a message names."""
    found = re.match(r"no limit is sure to report a complete cut (.*?) of `(\w+)`", message) or re.match(
        r"no limit is sure to report a complete cut (anywhere) on `(\w+)`", message
    )
    where, cable = found.groups()
    metres = [float(value) * {"m": 1, "km": 1000}[unit] for value, unit in re.findall(r"([\d.]+) (k?m)\b", where)]
    if where == "anywhere":
        return cable, 0.0, lines[cable]
    if where.startswith("on the first"):
        return cable, 0.0, metres[0]
    return cable, metres[0], metres[1] if len(metres) > 1 else lines[cable]


@pytest.fixture(scope="module")
def cases(command, drysheath, tmp_path_factory):
    folder = tmp_path_factory.mktemp("cuts")
    # Where the end of a cable is unwatched, that result is enough.
    (folder / "drysheath.toml").write_text('language = 1\n[levels]\ncable-end-unwatched = "off"\n', encoding="utf-8")
    made = [random_office(number) for number in range(OFFICES)]
    for number, (office, *_) in enumerate(made):
        (folder / f"{number:03}.office").write_text(office.text, encoding="utf-8")
    records = json.loads(drysheath("predict", folder, "--output", "json"))["offices"]
    ended = subprocess.run(
        [command, "lint", folder, "--select", "cut-trips-no-limit", "--output", "json"], stdout=subprocess.PIPE
    )
    results = {}
    for result in json.loads(ended.stdout)["results"]:
        number = int(re.search(r"(\d+)\.office", result["place"]["file"]).group(1))
        results.setdefault(number, []).append(result["message"])
    assert len(records) == OFFICES
    return [(record, results.get(number, []), *rest) for number, (record, rest) in enumerate(zip(records, made))]


def farthest(network, limits, cell):
    """How far the limits are gone with a cell open; none where the flow is too much to be laminar."""
    squared = network.solve(numpy.zeros(len(network.flows)), network.leakage, [cell])
    source = network.place(network.held[0])
    if (network.flows[source] @ squared) < -LAMINAR:
        return None
    return max(sensor.gone(network.reading(squared, sensor.at)) for sensor in limits)


def test_cuts(cases):
    seen = unseen = 0
    for record, messages, office, network, limits, cells, lines in cases:
        assert record["missing"] == [] and record["unread"] == [], office.text
        stretches = [told(message, lines) for message in messages]
        for (cable, metres), cell in cells.items():
            gone = farthest(network, limits, cell)
            if gone is None or abs(gone - 1) < UNSURE:
                continue
            own = [(start, end) for name, start, end in stretches if name == cable]
            if any(abs(metres - end) < NEAR for ends in own for end in ends):
                continue
            is_told = any(start <= metres <= end for start, end in own)
            assert is_told == (gone < 1), (cable, metres, gone, messages, office.text)
            seen, unseen = seen + (gone >= 1), unseen + (gone < 1)
    assert seen > 1000 and unseen > 500, (seen, unseen)


def test_places_where_not_even_a_cut_is_reported(cases):
    """`predict` tells the same of each place that it looks at, where cells are near enough."""
    compared = 0
    for record, _, office, network, limits, cells, _ in cases:
        for place in record["detection"]:
            here = min(cells, key=lambda cell: (cell[0] != place["line"], abs(cell[1] - place["distance_m"])))
            if abs(here[1] - place["distance_m"]) > 45:
                continue
            gone = farthest(network, limits, cells[here])
            if gone is None or abs(gone - 1) < 5 * UNSURE:
                continue
            assert (place["smallest_leak_m3_per_s"] is None) == (gone < 1), (place, gone, office.text)
            compared += 1
    assert compared > 500, compared
