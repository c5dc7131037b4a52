"""The smallest leaks that limits report, and the stretches on which a leak trips none, by brute force.

The offices are those of `test_states.py`, with limits on some of their sensors, and dryers that may come to their capacity. At
places of their cables, branches and pipes a leak is put into the network there and solved for, larger and smaller, until the
first reading is past its limit by just the sensor's error; the search is Brent's, of scipy. `predict` should tell the same leak,
and the same limit. On a grid of places the leak of the setting `leak-size` is put in, and `lint` should name the stretches on
which no reading gets so far. What a leak is, when a limit surely trips and which limits count is as the reference says. The
figures are invented.
"""

import collections
import json
import random
import re
import subprocess

import pytest
from scipy.optimize import brentq

from offices import PSI, SCFH, random_office
from test_states import Net, Plant, Turned

OFFICES = 80
PLACES = 6  # In each of them.
LINES, GRID = 3, 10  # In each of them, and places on each; on a pipe twice as many.
LEAK_SIZE = 4.0  # scfh
UNSURE = 0.01  # As a part of the way from the normal reading to the limit.
SETTINGS = f"""language = 1
[practice]
leak-size = "{LEAK_SIZE} scfh"
[levels]
"""
# What would take the place of the result that is looked at.
OFF = """cut-trips-no-limit cable-end-unwatched limits-out-of-order limit-trips-when-well predicted-off-span low-limit-too-late
low-limit-under-minimum normal-not-as-predicted loop-without-valve regulators-same-set dryer-overdrawn""".split()


class Watched(Plant):
    """An office with dryers of small capacity and with limits."""

    can_be_limited = True

    def dryer(self, name, psi, alone=False, **rest):
        small = self.chance.choice([10_000.0, self.chance.uniform(5, 15)])
        super().dryer(name, psi, alone, capacity=10_000.0 if alone else small)

    def sensors(self):
        """A few sensors on lines, which have no limits yet."""
        for number in range(self.chance.randint(1, 4)):
            line = self.chance.choice([*self.lines])
            metres = round(self.chance.uniform(0.1, 1) * self.lines[line].length, 3)
            name = f"{self.chance.choice(['ps', 'ps', 'sw', 'fs'])}{number}"
            self._stands(name, line, metres)

    def limits(self, normal):
        """Limits of the sensors: (sensor, level, signal, normal reading, the reading at which it surely trips)."""
        chance, found = self.chance, []
        for name in [*self.at, *self.meters, "p0"]:
            kind = "flow" if name[:2] in ("fs", "fl", "lf") else "pressure"
            reading = normal.flow(name) / SCFH if kind == "flow" else normal.pressure(name) / PSI
            if name in self.at:
                (line, branch), metres = self.at[name]
                place = f"at {line} {f'branch {branch} ' if branch else ''}{metres!r} m"
            else:
                place = ""
            error, step = chance.uniform(0.05, 0.3), chance.uniform(0.02, 0.1)
            limits = {}
            if kind == "flow":
                limits["high"] = max(reading, 0) + chance.uniform(0.5, 8)
                if chance.random() < 0.3 and reading > 0.5:
                    limits["low"] = reading * chance.uniform(0.2, 0.9)
            else:
                limits["low"] = reading * chance.uniform(0.4, 0.97)
                if chance.random() < 0.3:
                    limits["low-low"] = limits["low"] * chance.uniform(0.3, 0.9)
                if chance.random() < 0.3:
                    limits["high"] = reading * 1.2
            if name not in self.at and chance.random() < 0.4:
                limits = {}
            if kind == "pressure" and chance.random() < 0.15:
                # It is past that when all is well.
                limits["low"] = reading * 1.1
            unit, thing = ("scfh", "flow-sensor") if kind == "flow" else ("psi", "pressure-sensor")
            # Now and then a limit below what can be read.
            bottom = 0.8 * reading if kind == "pressure" and chance.random() < 0.2 else 0.0
            fields = [f"span {float(bottom)!r} .. 100 {unit}"]
            if name.startswith("sw"):
                thing, fields, error, bottom = "pressure-switch", ["healthy closed"], 0.0, 0.0
                limits = {"low": limits["low"]}
            elif chance.random() < 0.7:
                fields += [f"error {error!r} {unit}", f"step {step!r} {unit}"]
            else:
                fields.append(f"step {step!r} {unit}")
                error = step
            fields += [f"limit {level} {float(limit)!r} {unit} major" for level, limit in limits.items()]
            statement = f"{thing} {name} {{ {', '.join([*fields, place] if place else fields)} }}"
            self.statements = [it for it in self.statements if it.split()[:2] != [thing, name]]
            self.say(statement)
            si = SCFH if kind == "flow" else PSI
            for level, limit in limits.items():
                surely = limit + error if level == "high" else limit - error
                is_quiet = reading < limit if level == "high" else reading > limit
                if is_quiet and limit >= bottom and (kind == "flow" or level != "high"):
                    found.append((name, level, kind, reading * si, surely * si))
        return found


def random_case(number):
    seed = number
    while True:
        office = random_office(seed, kind=Watched)
        office.sensors()
        try:
            normal = Net(office)
        except Turned:
            seed += 1000
            continue
        return office, normal, office.limits(normal)


class Probe:
    """An office with a leak at one of some places on a line."""

    def __init__(self, case, line, places):
        self.office, self.normal, self.limits = case
        marks = self.office.lines[line].marks
        self.office.lines[line].marks = marks | set(places)
        self.line, self.net = line, Net(self.office, self.normal)
        self.office.lines[line].marks = marks

    def gone(self, metres, scfh):
        """How far the limit that is farthest is gone to where it surely trips, and which that is. Pressures count by their
        squares, as is no matter where that is 1."""
        self.net.leak_at(self.net.node((*self.line, metres)), scfh * SCFH, self.normal.height(self.line, metres))
        return max(((self._gone(*limit[2:], limit[0]), limit[:2]) for limit in self.limits), default=(0.0, None))

    def _gone(self, kind, reading, surely, name):
        if kind == "flow":
            return (self.net.flow(name) - reading) / (surely - reading)
        square = lambda pascals: (self.net.outside**0.5 + pascals) ** 2  # noqa: E731
        return (square(self.net.pressure(name)) - square(reading)) / (square(surely) - square(reading))

    def is_right(self):
        """Whether the equations are those of this state."""
        try:
            self.net._check()
        except Turned:
            return False
        return True


@pytest.fixture(scope="module")
def cases(command, drysheath, tmp_path_factory):
    folder = tmp_path_factory.mktemp("leaks")
    (folder / "drysheath.toml").write_text(SETTINGS + "".join(f'{rule} = "off"\n' for rule in OFF), encoding="utf-8")
    made = [random_case(number) for number in range(OFFICES)]
    for number, (office, *_) in enumerate(made):
        (folder / f"{number:03}.office").write_text(office.text, encoding="utf-8")
    records = json.loads(drysheath("predict", folder, "--output", "json"))["offices"]
    ended = subprocess.run(
        [command, "lint", folder, "--select", "leak-trips-no-limit", "--output", "json"], stdout=subprocess.PIPE
    )
    stretches = collections.defaultdict(list)
    for result in json.loads(ended.stdout)["results"]:
        number = int(re.search(r"(\d+)\.office", result["place"]["file"]).group(1))
        stretches[number].append(told(result["message"], made[number][0]))
    assert len(records) == OFFICES
    for (office, *_), record in zip(made, records):
        assert not record["missing"] and not record["failures"] and not record["unread"], office.text
    return [(case, record, stretches[number]) for number, (case, record) in enumerate(zip(made, records))]


def told(message, office):
    """The line and the stretch that a message names."""
    said = message.split(":")[0]
    branch, name = re.search(r"(?:branch `(\w+)` of )?`(\w+)`", said).groups()
    line = name, branch
    metres = [float(value) * {"m": 1, "km": 1000}[unit] for value, unit in re.findall(r"([\d.]+) (k?m)\b", said)]
    if "anywhere on" in said:
        return line, 0.0, office.lines[line].length
    if "on the first" in said:
        return line, 0.0, metres[0]
    return line, metres[0], metres[1] if len(metres) > 1 else office.lines[line].length


def test_smallest_leaks(cases):
    """A leak to a thousandth: `predict` ends its search within a ten-thousandth of the way to the limit, and divides pipes."""
    count, worst = collections.Counter(), 0.0
    for case, record, _ in cases:
        office = case[0]
        places = record["detection"]
        for place in random.Random(office.name).sample(places, min(PLACES, len(places))):
            metres = place["distance_m"]
            probe = Probe(case, (place["line"], place["branch"]), [metres])
            cut, _ = probe.gone(metres, 1e6)
            if cut < 1 - UNSURE and probe.is_right():
                assert place["smallest_leak_m3_per_s"] is None, (place, cut, office.text)
                count["none"] += 1
            if cut < 1 + UNSURE:
                continue
            scfh = brentq(lambda scfh: probe.gone(metres, scfh)[0] - 1, 1e-6, 1e5, xtol=1e-9, rtol=1e-10)
            _, first = probe.gone(metres, scfh)
            if not probe.is_right():
                continue
            assert place["smallest_leak_m3_per_s"] == pytest.approx(scfh * SCFH, rel=1e-3), (place, scfh, first, office.text)
            assert (place["first"], place["limit"]) == first, (place, scfh, office.text)
            worst = max(worst, abs(place["smallest_leak_m3_per_s"] / SCFH / scfh - 1))
            count["found"] += 1
            count["by " + {"f": "flow", "l": "flow", "s": "switch", "p": "pressure"}[first[0][0]]] += 1
            count["in pipes"] += place["line"] in office.pipes
            count["in branches"] += place["branch"] is not None
            count["at capacity"] += bool(probe.net.limited)
    print(f"{len(cases)} offices, {dict(count)}; at most {worst:.1e} apart")
    assert count["found"] >= 250 and count["none"] >= 10
    assert min(count["by flow"], count["by pressure"], count["in branches"]) >= 40, count
    assert min(count["by switch"], count["in pipes"], count["at capacity"]) >= 10, count


def test_stretches(cases):
    """On a grid of places, but for those near the ends of stretches: they are told with three digits, and in a pipe by its pieces."""
    count = collections.Counter()
    for case, _, stretches in cases:
        office = case[0]
        lines = [*office.lines]
        random.Random(office.name).shuffle(lines)
        # Pipes first, of which there are fewer.
        for line in sorted(lines, key=lambda line: line[0] not in office.pipes)[:LINES]:
            is_pipe, length = line[0] in office.pipes, office.lines[line].length
            near = length / 16 if is_pipe else 12.0
            own = [(start, end) for of, start, end in stretches if of == line]
            steps = 2 * GRID if is_pipe else GRID
            grid = [round((step + 0.5) / steps * length, 3) for step in range(steps)]
            probe = Probe(case, line, grid)
            for metres in grid:
                if any(abs(metres - end) < near for ends in own for end in ends):
                    continue
                gone, first = probe.gone(metres, LEAK_SIZE)
                if abs(gone - 1) < UNSURE or not probe.is_right():
                    continue
                is_told = any(start <= metres <= end for start, end in own)
                assert is_told == (gone < 1), (line, metres, gone, first, own, office.text)
                count["told" if is_told else "seen"] += 1
                count["told in pipes" if is_told else "seen in pipes"] += is_pipe
    print(f"{len(cases)} offices, {dict(count)} places")
    assert count["told"] > 500 and count["seen"] > 500
    assert count["told in pipes"] >= 40 and count["seen in pipes"] >= 40, count
