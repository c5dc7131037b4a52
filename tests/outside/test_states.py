"""What becomes of offices when something happens, beside a network of our own.

The offices are those of `test_network.py`, with regulators that droop and sensors along their lines; one to three things happen
to each. Here the network is solved by numpy: the squared pressures of its nodes and the flows of its sources, regulators, valves
and flow sensors are unknown, a Newton method finds them, and of sources, regulators and check valves those are shut that would
pass air backwards. A piece of a line between two nodes is a pair of straight equations between their squared pressures and the
flows at its ends. They follow from Hagen and Poiseuille's law (textbook) and from the law of leakage as the reference states it,
q = q₀·(p² − pₐ²)/(p₀² − pₐ²) at each place, by Runge and Kutta's method along the piece, where `predict` has series for cables
and sixteenths of pipes. Flows are so small that all is laminar, or else something other happens. The figures are invented.
"""

import collections
import math
import random

import numpy
import pytest

from offices import GAS, INCH, PSI, SCFH, SEA_LEVEL, STANDARD, Office, random_office, round_bore, viscosity
from test_hold_up import squares

OFFICES = 140
STEPS = 24  # Along a piece.
LEAST = 0.5  # psi that a regulator needs above what it is set to, as `Plant` declares it.
CAPACITY = 100.0  # scfh
NEAR = 0.006  # Metres: places that are one.


class Plant(Office):
    """An office whose regulators, valves and flow sensors are kept as such, for their state to change."""

    can_be_limited = False  # Whether its dryers may come to their capacity.

    def __init__(self, *given, **named):
        super().__init__(*given, **named)
        self.chance = random.Random(f"plant {self.name}")
        self.dryers = {}  # psi and scfh
        self.settings = {}  # regulator: (psi, psi in one scfh, scfh at which it loses its differential once it stands open)
        self.stand, self.meters = {}, []
        self.at = {}  # sensor on a line: (line, metres)
        self.pipes, self.resistances = set(), {}  # and psi/scfh/kft of the sections of each line

    def dryer(self, name, psi, alone=False, capacity=CAPACITY, **rest):
        super().dryer(name, psi, alone, capacity=capacity, **rest)
        self.dryers[name] = (psi, capacity)

    def regulator(self, name, psi, droop=None, scfh=0.0, alone=False):
        droop, most = self.chance.choice([0.0, self.chance.uniform(0.005, 0.1)]), self.chance.uniform(20, 80)
        said = f"set {psi!r} psi, differential {LEAST!r} psi, droop {droop!r} psi/scfh, flow-max {most!r} scfh"
        self.say(f"regulator {name} {{ {said} }}")
        self.settings[name] = (psi, droop, most)

    def _sections(self, name, branch, sections):
        self.resistances[name, branch] = [resistance for _, resistance, *_ in sections]
        return super()._sections(name, branch, sections)

    def pipe(self, name, *given, **named):
        super().pipe(name, *given, **named)
        self.pipes.add(name)

    def valve(self, name, function, stands="open"):
        self.say(f"valve {name} {{ function {function}, stands {stands} }}")
        self.stand[name] = (function, stands == "open")

    def flow_sensor(self, name, at=None):
        self.say(f"flow-sensor {name} {{ span 0 .. 100 scfh{', at ' + at if at else ''} }}")
        if not at:
            self.meters.append(name)

    def pressure_sensor(self, name, at=None):
        super().pressure_sensor(name, at)
        if at:
            line, *branch, metres, _ = at.split()
            self._stands(name, (line, branch[1] if branch else None), float(metres))

    def _stands(self, sensor, line, metres):
        self.lines[line].marks.add(metres)
        self.at[sensor] = (line, metres)

    def sensors_along(self):
        """A few sensors of pressure and flow on each line."""
        for number, ((name, branch), line) in enumerate(self.lines.items()):
            for sensor in (f"q{number}-1", f"q{number}-2", f"w{number}"):
                metres = round(self.chance.uniform(0.001, 1) * line.length, 3)
                place = f"{name} {f'branch {branch} ' if branch else ''}{metres!r} m"
                if sensor[0] == "q":
                    self.pressure_sensor(sensor, place)
                else:
                    self.flow_sensor(sensor, place)
                    self._stands(sensor, (name, branch), metres)
            if name in self.pipes:
                self.pressure_sensor(f"e{number}", f"{name} {line.length!r} m")

    def is_inside_a_pipe(self, sensor):
        line, metres = self.at.get(sensor, ((None, None), 0.0))
        return line[0] in self.pipes and metres != self.lines[line].length


def air_around(elevation):
    """Pa of the surrounding air by ISO 2533, at the geopotential height of an elevation."""
    height = 6_356_766 * elevation / (6_356_766 + elevation)
    return SEA_LEVEL * (1 - 0.0065 * height / 288.15) ** (9.80665 / (GAS * 0.0065))


class Turned(Exception):
    """What happens is beyond the equations here."""


class Net:
    """An office's network in the normal state, or in another that starts from it."""

    def __init__(self, office, normal=None, events=()):
        self.office, self.normal, self.events = office, normal, events
        self.outside = air_around(office.elevation) ** 2
        happened = collections.defaultdict(dict)
        for kind, thing, *rest in events:
            happened[kind][thing] = rest
        self.happened = happened
        self._marks()
        self._nodes()
        self._lines()
        self._devices()
        self._solve()
        self._check()

    def _marks(self):
        office = self.office
        self.marks = {}
        for line, its in office.lines.items():
            places = {0.0, its.length, *its.marks, *(end for _, end, *_ in its.sections)}
            places |= {metres for kind in ("leaks", "breaks") for of, (metres, *_) in self.happened[kind].items() if of == line}
            merged = []
            for place in sorted(places):
                if not merged or place - merged[-1] > NEAR:
                    merged.append(place)
            self.marks[line] = numpy.array(merged)

    def key(self, node):
        if len(node) == 3:
            marks = self.marks[node[:2]]
            return (*node[:2], int(abs(marks - node[2]).argmin()))
        return node

    def _nodes(self):
        same = {}

        def root(node):
            node = self.key(node)
            while node in same:
                node = same[node]
            return node

        for one, other in self.office.joints:
            one, other = root(one), root(other)
            if one != other:
                same[one] = other
        self.root, self.numbers = root, {}

    def node(self, node):
        return self.numbers.setdefault(self.root(node), len(self.numbers))

    def _lines(self):
        """Each piece: (line, section, from, to, fall of p² for each m³/s and metre, what a metre loses in the normal state, nodes)."""
        pieces = []
        for line, its in self.office.lines.items():
            for section, (start, end, bore, usage) in enumerate(its.sections):
                resistance, lost = squares(bore, 1.0, self.office.kelvins), usage / (end - start)
                resistance *= self.happened["resistance"].get((line, section), [1.0])[0]
                lost = self.happened["usage"].get((line, section), [lost * (end - start)])[0] / (end - start)
                cuts = [mark for mark in self.marks[line] if start - NEAR < mark < end + NEAR]
                for near, far in zip(cuts, cuts[1:]):
                    nodes = self.node((*line, near)), self.node((*line, far))
                    pieces.append((line, section, near, far, resistance, lost, *nodes))
        self.pieces = pieces
        near, far, resistance, lost = (numpy.array([piece[part] for piece in pieces]) for part in (2, 3, 4, 5))
        length = far - near
        if self.normal is None:
            # q(0) = (z(0) − z(l))/rl + ql/2, and at the end the same less ql.
            way, half = 1 / (resistance * length), lost * length / 2
            self.equations = numpy.stack([way, -way, half, way, -way, -half])
            return
        # z' = −r·q and q' = −q₀'·z/z₀, from z = 1, q = 0 and from z = 0, q = 1 at once.
        height, fall, bend = self.normal.parabolas([piece[:4] for piece in pieces])
        zero, one = numpy.zeros(len(pieces)), numpy.ones(len(pieces))
        z, q = numpy.stack([one, zero]), numpy.stack([zero, one])
        # A flow is counted in those that bring z to nothing within the piece.
        scale = 1 / (resistance * length)
        step = 1 / STEPS
        leak = lambda t: lost * length / scale / (height + t * (fall + t * bend))  # noqa: E731
        course = [z]
        for number in range(STEPS):
            here, middle, there = (leak((number + part) * step) for part in (0.0, 0.5, 1.0))
            a, b = -q, -here * z
            c, d = -(q + step / 2 * b), -middle * (z + step / 2 * a)
            e, f = -(q + step / 2 * d), -middle * (z + step / 2 * c)
            g, h = -(q + step * f), -there * (z + step * e)
            z, q = z + step / 6 * (a + 2 * c + 2 * e + g), q + step / 6 * (b + 2 * d + 2 * f + h)
            course.append(z)
        self.course = numpy.stack(course)
        # z(l) = z₁·z(0) + z₂·q(0) gives q(0); q(l) = q₁·z(0) + q₂·q(0).
        (z1, z2), (q1, q2) = z, q
        self.equations = numpy.stack([-z1 / z2, 1 / z2, zero, q1 - q2 * z1 / z2, q2 / z2, zero]) * scale

    def parabolas(self, places):
        """p₀² − pₐ² of stretches of this normal state: what it is at their beginnings, and what is added in proportion to the part of
        the way, and to its square."""
        found = []
        own = collections.defaultdict(list)
        for number, (line, section, near, far, *_) in enumerate(self.pieces):
            own[line, section].append((near, far, number))
        for line, section, near, far in places:
            middle = (near + far) / 2
            (start, end, number), *_ = (it for it in own[line, section] if it[0] <= middle <= it[1])
            _, _, _, _, resistance, lost, one, _ = self.pieces[number]
            flow, length = self.inflow[number], far - near
            at = near - start
            height = self.z[one] - resistance * (flow * at - lost * at * at / 2)
            fall = -resistance * (flow - lost * at) * length
            found.append((height, fall, resistance * lost / 2 * length**2))
        return numpy.array(found).T

    def _devices(self):
        """What flows through each of these is unknown: (name, kind, from, to, figures)."""
        office, happened = self.office, self.happened
        self.tubes = [
            (self.node(one), self.node(other), squares(bore, metres, office.kelvins), bore) for one, other, bore, metres in office.tubes
        ]
        found = []
        for name, figures in office.dryers.items():
            if name not in happened["stops"]:
                found.append((name, "source", None, self.node((name, "out")), figures))
        for name, (psi, droop, most) in office.settings.items():
            ends = self.node((name, "in")), self.node((name, "out"))
            (psi,) = happened["set"].get(name, [psi])
            if name in happened["opens"]:
                found.append((name, "open", *ends, LEAST / most))
            elif name not in happened["closes"]:
                found.append((name, "regulator", *ends, (psi, droop)))
        for name, (function, stands) in office.stand.items():
            ends = self.node((name, "in")), self.node((name, "out"))
            if name in happened["opens"] or stands and name not in happened["closes"]:
                found.append((name, function, *ends, None))
        for name in office.meters:
            found.append((name, "meter", self.node((name, "in")), self.node((name, "out")), None))
        self.all_devices = found
        self.marks_at = {line: [self.node((*line, mark)) for mark in marks] for line, marks in self.marks.items()}
        self.fed = self._fed()
        # What no air comes to passes none on.
        self.devices = [it for it in found if it[1] == "meter" or it[2] is None or it[2] in self.fed]

    def _fed(self):
        """The nodes that air from some source can come to."""
        ways = collections.defaultdict(set)
        for one, other, *_ in [*self.tubes, *(piece[6:] for piece in self.pieces)]:
            ways[one].add(other)
            ways[other].add(one)
        for _, kind, one, other, _ in self.all_devices:
            if one is not None:
                ways[one].add(other)
                if kind in ("shut-off", "meter"):
                    ways[other].add(one)
        fed = {other for _, kind, _, other, _ in self.all_devices if kind == "source"}
        left = list(fed)
        while left:
            for node in ways[left.pop()] - fed:
                fed.add(node)
                left.append(node)
        return fed

    def _solve(self):
        count, devices = len(self.numbers), self.devices
        size = count + len(devices)
        unit = self.outside / SCFH  # Squared pressures count in those of the surrounding air, flows in scfh.
        matrix, right = numpy.zeros((size, size)), numpy.zeros(size)
        near, far = (numpy.array([piece[part] for piece in self.pieces]) for part in (6, 7))
        a, b, c, d, e, f = self.equations
        for row, column, added in ((near, near, a), (near, far, b), (far, near, -d), (far, far, -e)):
            numpy.add.at(matrix, (row, column), added * unit)
        numpy.add.at(right, near, -c / SCFH)
        numpy.add.at(right, far, f / SCFH)
        for one, other, resistance, _ in self.tubes:
            way = unit / resistance
            matrix[[one, other], [one, other]] += way
            matrix[[one, other], [other, one]] -= way
        # So little that it changes nothing, for places that nothing else ties to a pressure.
        matrix[range(count), range(count)] += 1e-11
        for line, (metres, flow, before) in self.happened["leaks"].items():
            node = self.node((*line, metres))
            matrix[node, node] += flow / before * unit
        for column, (_, _, one, other, _) in enumerate(devices, count):
            if one is not None:
                matrix[one, column] += 1
            matrix[other, column] -= 1
        for line, (metres,) in self.happened["breaks"].items():
            node = self.node((*line, metres))
            matrix[node] = 0
            matrix[node, node], right[node] = 1, 0
        self.matrix, self.right, self.start, self.shut_first = matrix, right, numpy.full(size, 0.5), set()
        self._settle(matrix)

    def _settle(self, matrix):
        count = len(self.numbers)
        shut, seen = set(self.shut_first), set()
        while frozenset(shut) not in seen:
            seen.add(frozenset(shut))
            found = self._newton(matrix, self.right, count, shut)
            wrong = self._wrong(found, count, shut)
            if not wrong:
                self._keep(found, count, shut)
                return
            shut ^= {max(wrong, key=wrong.get)}
        raise Turned("no state without contradiction by turning one thing at a time")

    def leak_at(self, node, flow, before):
        """Solves the network with one more leak, which loses a flow where p² − pₐ² is what is said."""
        self.start, self.shut_first = self.found, self.shut_numbers
        matrix = self.matrix.copy()
        matrix[node, node] += flow / before * self.outside / SCFH
        self._settle(matrix)

    def _newton(self, matrix, right, count, shut):
        air = self.outside**0.5
        found = self.start.copy()
        for _ in range(60):
            jacobian, rest = matrix.copy(), matrix @ found - right
            for row, (name, kind, one, other, figures) in enumerate(self.devices, count):
                level = lambda node: air * (1 + found[node]) ** 0.5 / PSI  # noqa: E731
                slope = lambda node: air / 2 / (1 + found[node]) ** 0.5 / PSI  # noqa: E731
                if row - count in shut:
                    jacobian[row, row], rest[row] = 1, found[row]
                elif (row - count, "gives all") in shut:
                    jacobian[row, row], rest[row] = 1, found[row] - figures[1]
                elif kind == "source":
                    jacobian[row, other], rest[row] = slope(other), level(other) - air / PSI - figures[0]
                elif kind == "regulator":
                    jacobian[row, other], jacobian[row, row] = slope(other), figures[1]
                    rest[row] = level(other) - air / PSI - figures[0] + figures[1] * found[row]
                elif kind == "open":
                    jacobian[row, one], jacobian[row, other], jacobian[row, row] = slope(one), -slope(other), -figures
                    rest[row] = level(one) - level(other) - figures * found[row]
                else:
                    jacobian[row, one], jacobian[row, other], rest[row] = 1, -1, found[one] - found[other]
            change = numpy.linalg.solve(jacobian, -rest)
            new = found + change
            new[:count] = numpy.maximum(new[:count], -0.5)
            if abs(new - found).max() < 1e-9 * max(1, abs(new).max()):
                return new
            found = new
        raise Turned("the Newton method does not settle")

    def _wrong(self, found, count, shut):
        """What passes air backwards or gives more than it can, or is shut or limited without reason; and how far."""
        air = self.outside**0.5
        psi = lambda node: air * ((1 + found[node]) ** 0.5 - 1) / PSI  # noqa: E731
        wrong = []
        for number, (_, kind, one, other, figures) in enumerate(self.devices):
            flow, held = found[count + number], figures[0] if kind in ("source", "regulator") else psi(one)
            if kind in ("shut-off", "meter"):
                continue
            if number in shut:
                wrong.append((held - psi(other) - 1e-7, number))
            elif (number, "gives all") in shut:
                wrong.append((psi(other) - held - 1e-7, (number, "gives all")))
            else:
                wrong.append((-flow - 1e-8, number))
                if kind == "source":
                    wrong.append((flow - figures[1] - 1e-8, (number, "gives all")))
        return {what: far for far, what in wrong if far > 0}

    def _keep(self, found, count, shut):
        self.found, self.shut_numbers = found, frozenset(shut)
        self.z = found[:count] * self.outside
        self.through = {it[0]: 0.0 for it in self.all_devices}
        self.through |= {it[0]: flow * SCFH for it, flow in zip(self.devices, found[count:])}
        self.shut = {self.devices[number][0] for number in shut if isinstance(number, int)}
        self.limited = {self.devices[it[0]][0] for it in shut if isinstance(it, tuple)}
        one, other = (numpy.array([piece[part] for piece in self.pieces]) for part in (6, 7))
        a, b, c, d, e, f = self.equations
        self.inflow = a * self.z[one] + b * self.z[other] + c
        self.outflow = d * self.z[one] + e * self.z[other] + f

    def _check(self):
        """Whether this is a state that the equations here are for."""
        office = self.office
        most = math.pi / 4 * 2000 * viscosity(office.kelvins) / STANDARD  # m³/s for each metre of bore
        for one, other, resistance, bore in self.tubes:
            if abs(self.z[one] - self.z[other]) / resistance > 0.95 * most * bore:
                raise Turned("turbulent")
        for (line, section, *_), start, end in zip(self.pieces, self.inflow, self.outflow):
            bore = office.lines[line].sections[section][2]
            if line[0] in office.pipes and max(abs(start), abs(end)) > 0.95 * most * bore:
                raise Turned("turbulent")
        for name, kind, one, other, figures in self.devices:
            if kind == "source" and self.limited and (not office.can_be_limited or self.normal is None):
                raise Turned("at its capacity")
            if kind == "regulator" and name not in self.shut and self.psi(one) < figures[0] + 1.05 * LEAST:
                raise Turned("lacks pressure")
        if any(name == "low" and one not in self.fed for name, kind, one, *_ in self.all_devices if kind == "regulator"):
            raise Turned("two regulators in a row without air")
        if self.normal is None and min(self.z[node] for nodes in self.marks_at.values() for node in nodes) < 0.1 * self.outside:
            raise Turned("hardly any pressure when all is well")

    def height(self, line, metres):
        """p² − pₐ² at a place of this normal state."""
        for (of, _, near, far, resistance, lost, one, _), flow in zip(self.pieces, self.inflow):
            if of == line and near - NEAR < metres < far + NEAR:
                at = metres - near
                return self.z[one] - resistance * (flow * at - lost * at * at / 2)
        raise AssertionError((line, metres))

    def psi(self, node):
        return self.pascals(node) / PSI

    def pascals(self, node):
        return (self.outside + self.z[node]) ** 0.5 - self.outside**0.5

    def pressure(self, sensor):
        if sensor in self.office.at:
            line, metres = self.office.at[sensor]
            return self.pascals(self.node((*line, metres)))
        return self.pascals(self.node((sensor, "in")))

    def lowest(self, line):
        """The least pressure on a line, in Pa."""
        zs = []
        for number, piece in enumerate(self.pieces):
            if piece[0] == line:
                flow = self.inflow[number] * piece[4] * (piece[3] - piece[2])
                zs.append(self.course[:, 0, number] * self.z[piece[6]] + self.course[:, 1, number] * flow)
        return (self.outside + numpy.min(zs)) ** 0.5 - self.outside**0.5

    def flow(self, sensor):
        if sensor not in self.office.at:
            return self.through[sensor]
        line, metres = self.office.at[sensor]
        # What goes on from there.
        for piece, flow in zip(self.pieces, self.inflow):
            if piece[0] == line and abs(piece[2] - metres) < NEAR:
                return flow
        raise AssertionError(sensor)


def happening(chance, office, normal, taken):
    """Something that happens, as `Net` takes it and as it is written."""
    kind = chance.choice(["leaks"] * 4 + ["breaks"] * 3 + ["usage", "resistance"] * 2 + ["set", "opens", "closes", "stops"])
    if kind in ("leaks", "breaks"):
        line = chance.choice([line for line in office.lines if line not in taken])
        name, branch = line
        inside = [(a, b) for a, b in zip(normal.marks[line], normal.marks[line][1:]) if b - a > 4]
        start, end = chance.choice(inside)
        metres = round(float(chance.uniform(start + 1, end - 1)), 3)
        here = f"branch {branch} {metres!r} m" if branch else f"{metres!r} m"
        named = [place for (of, place), at in office.places.items() if of == name]
        if named and not branch and chance.random() < 0.3:
            place = chance.choice(named)
            metres, here = office.places[name, place], f"place {place}"
        taken.add(line)
        if kind == "breaks":
            return (kind, line, metres), f"{name} breaks at {here}"
        scfh = chance.choice([chance.uniform(0.3, 3), chance.uniform(3, 20)])
        return (kind, line, metres, scfh * SCFH, normal.height(line, metres)), f"{name} leaks {scfh!r} scfh at {here}"
    if kind in ("usage", "resistance"):
        line = chance.choice([line for line in office.lines if kind == "usage" or line[0] not in office.pipes])
        name, branch = line
        section = chance.randrange(len(office.lines[line].sections))
        _, _, bore, usage = office.lines[line].sections[section]
        what = name if name in office.pipes else f"{name} {f'branch {branch} ' if branch else ''}section s{section + 1}"
        if kind == "usage":
            scfh = chance.choice([0.0, chance.uniform(0.05, 3)])
            return (kind, (line, section), scfh * SCFH), f"{what} has usage {scfh!r} scfh"
        times = chance.choice([chance.uniform(0.2, 0.9), chance.uniform(1.1, 5)])
        stated = times * office.resistances[line][section]
        return (kind, (line, section), times), f"{what} has resistance {stated!r} psi/scfh/kft"
    if kind == "set":
        name = chance.choice([*office.settings])
        psi = office.settings[name][0] * chance.uniform(0.6, 1.4)
        return (kind, name, psi), f"{name} has set {psi!r} psi"
    if kind == "stops":
        name = chance.choice([*office.dryers])
        return (kind, name), f"{name} stops"
    can = [name for name, (_, stands) in office.stand.items() if stands == (kind == "closes")]
    name = chance.choice([*office.settings, *can * 3])
    return (kind, name), f"{name} {kind}"


def random_state(number):
    """An office with something that happens in it, its normal state and the other."""
    chance = random.Random(f"state {number}")
    seed = number
    while True:
        office = random_office(seed, kind=Plant)
        office.sensors_along()
        try:
            normal = Net(office)
        except Turned:
            seed += 1000
            continue
        for _ in range(30):
            taken = set()
            try:
                happen = [happening(chance, office, normal, taken) for _ in range(chance.choice([1, 1, 2, 3]))]
                if len({event[:2] for event, _ in happen}) < len(happen) or len({event[1] for event, _ in happen}) < len(happen):
                    continue
                state = Net(office, normal, [event for event, _ in happen])
            except (Turned, IndexError):
                continue
            # What surely holds and what surely does not.
            least = {name: min(state.lowest(line) for line in office.lines if line[0] == name) / PSI for name, _ in office.lines}
            said = [f"{name} above {float(psi * chance.choice([0.99, 1.01]))!r} psi" for name, psi in least.items() if psi > 0.2]
            office.say(f"when {', '.join(said for _, said in happen)} expect {', '.join(said) or 'no alarm'}")
            return office, normal, state
        seed += 1000


@pytest.fixture(scope="module")
def cases(predict):
    made = [random_state(number) for number in range(OFFICES)]
    return list(zip(made, predict([office.text for office, *_ in made]), strict=True))


def compared(cases, is_wanted):
    """What sensors read in the normal state and in the other, in Pa and m³/s: (signal, found, expected, the largest flow, what it is
    about)."""
    for (office, normal, state), record in cases:
        (said,) = record["states"]
        assert said["not_known"] is None and not said["at_capacity"] and not record["unread"], office.text
        for row in said["sensors"]:
            name, signal = row["name"], row["signal"]
            if is_wanted(office, name):
                for found, net in ((row["normal"], normal), (row["reading"], state)):
                    expected = net.pressure(name) if signal == "pressure" else net.flow(name)
                    most = max(map(abs, net.through.values()), default=0.0)
                    yield signal, found, expected, most, (name, said["when"], office.text)


def test_readings(cases):
    """To a part in 20 000, and a tenth of a pascal. The 14.696 psia that a resistance is stated for are 3.5 millionths more than the
    101 325 Pa here."""
    worst, count = collections.Counter(), collections.Counter()
    for signal, found, expected, most, what in compared(cases, lambda office, name: not office.is_inside_a_pipe(name)):
        whole = abs(expected) + 0.1 / 5e-5 if signal == "pressure" else most + 1e-9
        assert abs(found - expected) < 5e-5 * whole, (found, expected, what)
        worst[signal] = max(worst[signal], abs(found - expected) / whole)
        count[signal] += 1
    happened = collections.Counter(event[0] for (_, _, state), _ in cases for event in state.events)
    several = sum(len(state.events) > 1 for (_, _, state), _ in cases)
    high = sum(office.elevation > 1000 for (office, *_), _ in cases)
    shut = sum(state.shut != normal.shut for (_, normal, state), _ in cases)
    print(f"{len(cases)} states, {dict(count)} readings, at most {dict(worst)} apart; {dict(happened)}")
    print(f"{several} with more than one, {high} high up, {shut} in which something shuts that was open, or opens")
    assert count["pressure"] > 2000 and count["flow"] > 1000
    for kind in ("leaks", "breaks", "usage", "resistance", "set", "opens", "closes", "stops"):
        assert happened[kind] >= 8, happened
    assert several >= 40 and high >= 40 and shut >= 10


def test_lowest_pressures(cases):
    worst, count, held = 0.0, 0, collections.Counter()
    for (office, normal, state), record in cases:
        (said,) = record["states"]
        names = {f"{name} branch {branch}" if branch else name: (name, branch) for name, branch in office.lines}
        for row in said["lines"]:
            line = names[row["name"]]
            if line[0] in office.pipes:
                continue
            expected = state.lowest(line)
            worst = max(worst, abs(row["pressure_pa"] - expected) / (expected + 1000))
            assert abs(row["pressure_pa"] - expected) < 1e-4 * (expected + 1000), (row, expected, said["when"], office.text)
            count += 1
        for row in said["expected"]:
            if row["what"] != "no alarm":
                name, _, psi, _ = row["what"].split()
                least = min(state.lowest(line) for line in office.lines if line[0] == name)
                holds = least > float(psi) * PSI
                # Air that may flow back into what has stopped could undo what holds.
                assert row["holds"] == (None if holds and said["back_flow"] else holds), (row, least / PSI, said["when"], office.text)
                held[row["holds"]] += 1
                if row["holds"] is None:
                    continue
                # What is said of one that does not hold is the lowest pressure, and what it should be above.
                assert [it["bound"] for it in row["unmet"]] == pytest.approx([] if row["holds"] else [float(psi) * PSI], rel=1e-9)
                for it in row["unmet"]:
                    assert it["unit"] == "Pa" and it["name"].split()[0] == name and it["after_s"] is None, it
                    assert abs(it["computed"] - least) < 1e-4 * (least + 1000), (it, least, said["when"], office.text)
    print(f"{count} lines, at most {worst:.1e} apart; expectations that hold and do not: {dict(held)}")
    assert count > 250 and held[True] > 80 and held[False] > 80


def test_nothing_changes(predict):
    """Where a section is said to have what it has, every reading stays what it is to rounding: the leakage follows from the normal state."""
    offices = []
    for number in range(0, OFFICES, 3):
        office = random_office(number, kind=Plant)
        office.sensors_along()
        _, _, _, usage = office.lines["l1", None].sections[0]
        said = f"l1 section s1 has resistance {office.resistances['l1', None][0]!r} psi/scfh/kft"
        office.say(f"when {said}, l1 section s1 has usage {usage / SCFH!r} scfh expect l1 above 0.1 psi")
        offices.append(office)
    count = 0
    for office, record in zip(offices, predict([office.text for office in offices]), strict=True):
        (said,) = record["states"]
        most = max(abs(row["normal"]) for row in said["sensors"] if row["signal"] == "flow")
        for row in said["sensors"]:
            whole = 101_325 if row["signal"] == "pressure" else most
            assert abs(row["reading"] - row["normal"]) < 1e-9 * whole, (row, said["when"], office.text)
            count += 1
    assert count > 400, count


PIPE = """office pipe { elevation 0 m, coldest -30 degC }
dryer d1 { compressor none, delivers 10 psi, capacity 100 scfh, dew-point -40 degC }
air d1 -> f1 -> a1 with 1 in bore, 1 m
flow-sensor f1 { span 0 .. 100 scfh }
flow-sensor f2 { span 0 .. 100 scfh, at a1 0 m }
flow-sensor f3 { span 0 .. 100 scfh, at a1 640 m }
pressure-sensor p1 { span 0 .. 15 psi, at a1 640 m }
air-pipe a1 { length 1000 m, bore 0.375 in, usage 3.2 scfh }
"""


def test_inside_a_leaking_pipe(predict):
    """Once its dryer has stopped nothing flows in it, and no pressure is below that of the air; where it breaks, as much flows into its beginning
    as through the sensor before it, a metre of wide tube away. By the balance of mass."""
    stopped, broken = predict(
        [PIPE + "when d1 stops expect a1 above 1 psi\n", PIPE + "when a1 breaks at 900 m expect a1 above 1 psi\n"]
    )
    (state,) = stopped["states"]
    for row in state["sensors"]:
        assert abs(row["reading"]) < (1e-3 if row["signal"] == "pressure" else 1e-4 * SCFH), row
    assert [row["pressure_pa"] for row in state["lines"]] == pytest.approx([0], abs=1e-3)
    rows = {row["name"]: row["reading"] for row in broken["states"][0]["sensors"]}
    assert rows["f2"] == pytest.approx(rows["f1"], rel=1e-6)
    assert all(row["pressure_pa"] > -1e-3 for row in broken["states"][0]["lines"])


def test_behind_a_regulator_without_supply(predict):
    """What no source feeds any more and what loses air comes down to the surrounding air, also behind a regulator."""
    text = """office two { elevation 0 m, coldest -30 degC }
dryer d1 { compressor none, delivers 10 psi, capacity 100 scfh, dew-point -40 degC }
manifold mf { ports 3 }
regulator r1 { set 6 psi, differential 0.5 psi }
air d1 -> mf
air mf port 1 -> c1
air mf port 2 -> r1 -> c2
cable c1 { pairs 50, section s1 { buried 1000 m, resistance 0.1 psi/scfh/kft, usage 1 scfh } }
cable c2 { pairs 50, section s1 { buried 1000 m, resistance 0.1 psi/scfh/kft, usage 1 scfh } }
when d1 stops expect c1 above 1 psi, c2 above 1 psi
"""
    (record,) = predict([text])
    (state,) = record["states"]
    assert [row["pressure_pa"] for row in state["lines"]] == pytest.approx([0, 0], abs=1e-3)
    assert [row["holds"] for row in state["expected"]] == [False, False]
