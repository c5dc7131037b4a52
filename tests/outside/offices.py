"""Offices made up for the checks: their text, and beside it the air network that the reference says it means."""

import math
import random
from dataclasses import dataclass, field

GAS = 287.05287  # J/(kg·K), ISO 2533
SEA_LEVEL = 101325.0  # Pa
STANDARD_KELVINS = (60 + 459.67) / 1.8
STANDARD = SEA_LEVEL / (GAS * STANDARD_KELVINS)  # kg in one m³ of flow
FOOT, INCH = 0.3048, 0.0254  # m
PSI = 6894.757293168361  # Pa
SCFH = FOOT**3 / 3600  # m³/s
PER_KFT = PSI / SCFH / (1000 * FOOT)  # Pa·s/m⁴ in one psi/scfh/kft


def viscosity(kelvins):
    """Sutherland's law with the constants of ISO 2533."""
    return 1.458e-6 * kelvins**1.5 / (kelvins + 110.4)


def round_bore(resistance, kelvins=STANDARD_KELVINS, pascals=SEA_LEVEL):
    """The bore that resists as a cable does: Hagen and Poiseuille's law for an ideal gas, at the state that the resistance is
    stated for."""
    here = 128 * viscosity(kelvins) / math.pi * (SEA_LEVEL / pascals) * (kelvins / STANDARD_KELVINS)
    return (here / (resistance * PER_KFT)) ** 0.25


@dataclass
class Line:
    """A cable, a branch of one, or a pipe: the bores and usages of its sections, and the places where something happens."""

    sections: list  # (from, to, bore, usage of the whole section)
    marks: set = field(default_factory=set)

    @property
    def length(self):
        return self.sections[-1][1]

    def pieces(self):
        """(from, to, bore, usage) of what lies between neighbouring marks."""
        for start, end, bore, usage in self.sections:
            cuts = sorted({start, end, *(mark for mark in self.marks if start + 0.005 < mark < end - 0.005)})
            for near, far in zip(cuts, cuts[1:]):
                yield near, far, bore, usage * (far - near) / (end - start)


class Office:
    """An office's text, statement by statement, and the same as a network. Nodes are what `end` gives; tubes lie between nodes
    in the order of the text, joints make two nodes one."""

    def __init__(self, name, elevation=0.0, kelvins=STANDARD_KELVINS, halves=False, resistance=1.0):
        """`halves` writes each section of cable as two halves of it; `resistance` multiplies that of every section."""
        self.name, self.elevation, self.kelvins, self.halves, self.resistance = name, elevation, kelvins, halves, resistance
        said = f"elevation {elevation!r} m, air-temperature {kelvins!r} K, coldest -30 degC"
        self.statements = [f"office {name} {{ {said} }}"]
        self.lines, self.places = {}, {}
        self.tubes, self.joints = [], []  # (from, to, bore, length), (from, to)
        self.sources = {}  # node: Pa above the surrounding air that it holds, unless more comes from elsewhere
        self.alone = set()  # sources that nothing can back up
        self.regulators = []
        self.valves = {}  # check valve: the tube in front of it

    @property
    def text(self):
        return "\n".join(self.statements) + "\n"

    def say(self, statement):
        self.statements.append(statement)

    def dryer(self, name, psi, alone=False, dew_point="-40 degC", capacity=100.0):
        self.say(f"dryer {name} {{ compressor none, delivers {psi!r} psi, capacity {capacity!r} scfh, dew-point {dew_point} }}")
        self._source(name, psi, alone)

    def regulator(self, name, psi, droop=0.0, scfh=0.0, alone=False, differential=0.5):
        """`scfh` is what is known to pass through it, where it droops."""
        self.say(f"regulator {name} {{ set {psi!r} psi, differential {differential!r} psi, droop {droop!r} psi/scfh }}")
        self.regulators.append(name)
        self._source(name, psi - droop * scfh, alone)

    def _source(self, name, psi, alone):
        self.sources[name, "out"] = psi * PSI
        if alone:
            self.alone.add((name, "out"))

    def manifold(self, name, ports):
        self.say(f"manifold {name} {{ ports {ports} }}")
        self.joints.append(((name, "in"), (name, "out")))

    def flow_sensor(self, name):
        self.say(f"flow-sensor {name} {{ span 0 .. 100 scfh }}")
        self.joints.append(((name, "in"), (name, "out")))

    def valve(self, name, function, stands="open"):
        self.say(f"valve {name} {{ function {function}, stands {stands} }}")
        if stands == "open" and function == "check":
            self.valves[name] = None
        elif stands == "open":
            self.joints.append(((name, "in"), (name, "out")))

    def pipe(self, name, metres, bore, scfh=0.0, places=None, roughness=0.0):
        """A bore in inches, places as names and metres, roughness as a part of the bore."""
        self.lines[name, None] = Line([(0.0, metres, bore * INCH, scfh * SCFH)])
        said = [f"length {metres!r} m", f"bore {bore!r} in", f"usage {scfh!r} scfh", *self._places(name, places)]
        self._block(f"air-pipe {name}", [*said, f"roughness {roughness * bore!r} in"])

    def cable(self, name, sections, branches=None, places=None):
        """Sections as (metres, psi/scfh/kft, scfh, what else is said of it, its bore if what else is said changes it); branches
        as name: (metres from the office, sections)."""
        said = self._sections(name, None, sections)
        for branch, (start, its) in (branches or {}).items():
            inner = self._sections(name, branch, its)
            said.append(f"branch {branch} {{ from {start!r} m, {', '.join(inner)} }}")
            self.lines[name, None].marks.add(start)
            self.joints.append(((name, None, start), (name, branch, 0.0)))
        self._block(f"cable {name}", ["pairs 50", *said, *self._places(name, places)])

    def _sections(self, name, branch, sections):
        start, laid, said = 0.0, [], []
        for number, (metres, resistance, scfh, *more) in enumerate(sections, 1):
            rest, bore = more or ("", round_bore(resistance))
            laid.append((start, start + metres, bore, scfh * SCFH))
            start += metres
            parts = 2 if self.halves else 1
            fields = f"buried {metres / parts!r} m, resistance {self.resistance * resistance!r} psi/scfh/kft"
            fields += f", usage {scfh / parts!r} scfh{rest}"
            said += [f"section s{number}{half} {{ {fields} }}" for half in ("", "-far")[:parts]]
        self.lines[name, branch] = Line(laid)
        return said

    def _places(self, name, places):
        for place, metres in (places or {}).items():
            self.places[name, place] = metres
            yield f"place {place} {{ at {metres!r} m }}"

    def _block(self, head, fields):
        self.say(head + " {\n" + "".join(f"    {field}\n" for field in fields) + "}")

    def end(self, said, arriving):
        """The node of an end of a run."""
        name, *port = said.split()
        if (name, None) not in self.lines:
            return name, "in" if arriving and not port else "out"
        line = self.lines[name, None]
        at = line.length if port == ["end"] or not (port or arriving) else 0.0
        if port[:1] == ["place"]:
            at = self.places[name, port[1]]
        line.marks.add(at)
        return name, None, at

    def air(self, *ends, bore=None, metres=None):
        """A run, as a tube where it has a bore in inches and a length, or else as a joint."""
        tube = f" with {bore!r} in bore, {metres!r} m" if bore else ""
        self.say("air " + " -> ".join(ends) + tube)
        for near, far in zip(ends, ends[1:]):
            start, end = self.end(near, False), self.end(far, True)
            if bore:
                if far in self.valves:
                    self.valves[far] = len(self.tubes)
                self.tubes.append((start, end, bore * INCH, metres / (len(ends) - 1)))
            else:
                self.joints.append((start, end))

    def pressure_sensor(self, name, at=None):
        self.say(f"pressure-sensor {name} {{ span 0 .. 100 psi{', at ' + at if at else ''} }}")
        self.joints.append(((name, "in"), (name, "out")))


def line_of(record, name, branch=None):
    (found,) = (line for line in record["lines"] if (line["name"], line["branch"]) == (name, branch))
    return found


def point(record, name, what, branch=None):
    """The point of a line that is called `what` among other names."""
    (found,) = (point for point in line_of(record, name, branch)["points"] if what in point["what"].split(", "))
    return found


def named(rows, name):
    (found,) = (row for row in rows if row["name"] == name)
    return found


TEMPERATURES = [268.15, STANDARD_KELVINS, 305.0]


def random_office(number, kind=Office, **variant):
    """One to three sources, some behind regulators; manifolds; cables with sections and branches and pipes, fed from ports or
    from places and ends of others; in every other office loops closed by tubes, some of them through valves; and cables behind a
    regulator of their own. Flows are so small that all is laminar."""
    chance = random.Random(number)
    elevation = float(chance.choice([0, 0, 300, 1609, 2500]))
    office = kind(f"office-{number}", elevation, chance.choice(TEMPERATURES), **variant)
    psi, stem = chance.uniform(7, 12), []
    office.manifold("mf", 40)
    for source in range(1, 1 + chance.choice([1, 1, 2, 3])):
        here = psi + chance.uniform(0, chance.choice([0.0, 0.005, 0.3]))
        tube = {"bore": chance.choice([0.25, 0.375]), "metres": chance.uniform(2, 60)}
        behind = chance.random() < 0.6
        office.dryer(f"d{source}", here + 15 if behind else here, alone=behind)
        if behind:
            office.regulator(f"r{source}", here)
            office.air(f"d{source}", f"r{source}", **tube)
        office.air(f"r{source}" if behind else f"d{source}", "mf" if source == 1 else f"mf port {30 + source}", **tube)
    ports = (f"mf port {port}" for port in range(1, 31))
    for line in range(1, chance.randint(2, 5)):
        name = f"l{line}"
        stem += add_line(chance, office, name, chance.choice([None, None, *stem]) or next(ports))
        if chance.random() < 0.3:
            office.pressure_sensor(f"p{line}", f"{name} {chance.uniform(0, office.lines[name, None].length)!r} m")
    for loop in range(1, 1 + number % 2 * chance.choice([1, 1, 2, 3])):
        one, other = chance.sample([*stem, next(ports)], 2)
        tube = {"bore": chance.choice([0.25, 0.375]), "metres": chance.uniform(15, 400)}
        between = []
        if chance.random() < 0.4:
            between = [f"v{loop}"]
            office.valve(f"v{loop}", chance.choice(["check", "check", "shut-off"]), chance.choice(["open", "open", "closed"]))
        office.air(one, *between, other, **tube)
    if chance.random() < 0.4:
        # A cable at a lower pressure. Nothing else feeds it, so what passes its regulator is what it uses.
        scfh = chance.uniform(0.3, 1.5)
        office.regulator("low", psi - chance.uniform(2, 4), chance.uniform(0, 0.3), scfh, alone=True)
        office.air(next(ports), "low", bore=0.25, metres=3.0)
        office.cable("lc", [(800.0, 0.1, 0.25 * scfh), (300.0, 0.2, 0.75 * scfh)])
        office.flow_sensor("lf")
        office.air("low", "lf", "lc", bore=0.25, metres=4.0)
    office.manifold("m2", 4)
    office.air(next(ports), "m2", bore=0.25, metres=2.5)
    office.pressure_sensor("p0")
    office.air("m2 port 1", "p0", bore=0.17, metres=1.0)
    return office


def add_line(chance, office, name, start):
    """A cable or a pipe, its start joined to what there is; gives its places and its end."""
    places = {f"h{place}": chance.uniform(0.05, 0.95) for place in range(chance.randint(0, 3))}
    if chance.random() < 0.7 or name == "l1":
        laid = sections(chance, chance.randint(1, 4))
        length = sum(section[0] for section in laid)
        branches = {
            f"b{branch}": (round(chance.uniform(0.1, 1) * length, 3), sections(chance, chance.randint(1, 2)))
            for branch in range(chance.choice([0, 0, 1, 2]))
        }
        # Some air is used on every cable.
        metres, resistance, _, *more = laid[-1]
        laid[-1] = (metres, resistance, chance.uniform(0.1, 0.8), *more)
        office.cable(name, laid, branches, {place: round(part * length, 3) for place, part in places.items()})
    else:
        length = float(chance.randint(200, 2000))
        places = {place: round(part * length, 3) for place, part in places.items()}
        office.pipe(name, length, chance.choice([0.25, 0.375]), chance.choice([0.0, chance.uniform(0.05, 1)]), places)
    tube = {"bore": chance.choice([0.25, 0.375]), "metres": chance.uniform(2, 30)}
    way = chance.random()
    if way < 0.4:
        office.flow_sensor(f"f{name}")
        office.air(start, f"f{name}", name, **tube)
    else:
        office.air(start, name, **(tube if way < 0.8 else {}))
    return [f"{name} place {place}" for place in places] + [f"{name} end"]


def sections(chance, count):
    """Sections of cable, some with a resistance stated for another state of the air."""
    laid = []
    for _ in range(count):
        resistance, more = chance.uniform(0.03, 0.3), []
        if chance.random() < 0.3:
            psia, kelvins = chance.uniform(12, 22), chance.uniform(270, 310)
            said = f", reference-pressure {psia!r} psia, reference-temperature {kelvins!r} K"
            more = [said, round_bore(resistance, kelvins, psia * PSI)]
        scfh = chance.choice([0.0, chance.uniform(0.05, 0.8)])
        laid.append((float(chance.randint(100, 1500)), resistance, scfh, *more))
    return laid
