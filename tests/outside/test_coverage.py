"""How much lint says that it has checked, counted again from what predict prints of the same offices."""

import json
import re
import subprocess

import pytest

from conftest import ROOT


def shared_cables():
    """The names of the cables that routes between offices of the county have."""
    routes = (ROOT / "tests/county/routes").glob("*.office")
    return {name for route in routes for name in re.findall(r"^cable (\S+)", route.read_text(), re.M)}


def counted(report, shared):
    """For each comparison what there is of it, and of how much both figures are printed. `shared` are cables of routes."""
    lines = [line for office in report["offices"] for line in office["lines"]]
    # What another office feeds too is not judged by the sensors of one; and where the normal pressures are not known, neither command says
    # anything of leaks.
    holes = {(office["file"], it["line"], it["branch"]) for office in report["offices"] for it in office["detection"]}
    looked_at = [
        line
        for office in report["offices"]
        for line in office["lines"]
        if line["name"] not in shared and (office["file"], line["name"], line["branch"]) in holes
    ]
    sections = [section for line in lines for section in line["sections"]]
    minimums = [it for it in sections if it["surroundings"] is not None or it["minimum_pa"] is not None]
    under_ground = [it for it in sections if it["surroundings"] in ("underground", "buried")]
    has_elevation = lambda office: office["conditions"]["elevation_m"] is not None
    sensors = [(sensor, has_elevation(office)) for office in report["offices"] for sensor in office["sensors"]]
    expected = [sensor for sensor, is_held in sensors if is_held and sensor["expected"] is not None]
    # A switch has a limit, and no span; so has a contact of a dryer or of bottles.
    measuring = [sensor for sensor, _ in sensors if sensor["signal"].split()[0] != "contact"]
    loops = [loop for office in report["offices"] for loop in office["loops"]]
    feeds = [feed for office in report["offices"] for feed in office["feeds"]]
    both = lambda items, *names: sum(all(item[name] is not None for name in names) for item in items)
    return {
        "minimum-pressure": (both(minimums, "minimum_pa", "lowest_pa"), len(minimums)),
        "water-head": (both(under_ground, "water_head_pa", "lowest_pa"), len(under_ground)),
        "sensor-span": (sum(bool(sensor["span"]) and sensor["span"][0] < sensor["span"][1] for sensor in expected), len(measuring)),
        "alarm-limits": (sum(bool(sensor["limits"]) for sensor in expected), len(sensors)),
        "leak-alarm": (len(looked_at), len(lines)),
        # What is not computed is not printed, so that only the first number is the same.
        "supply-voltage": (both(feeds, "least_v"), None),
        "loop-resistance": (both(loops, "limit_ohm"), None),
    }


SIZE = r"with .*?\b[\d/.]+ (awg|kcmil|mm2)\b"


def present(text):
    """An office's text without the runs that name something which has gone."""
    gone = re.findall(r"^\S+ (\S+)[^\n{]*\{[^}]*\bstage\s+disused\b", text, re.M)
    return "\n".join(line for line in text.split("\n") if not any(re.search(rf"\s{name}\b", line) for name in gone))


def written(folder):
    """The same of wires, fuses and grounds, counted in the texts. Of the ground of a dryer, which no fuse of the office feeds,
    only the least size is known."""
    path = ROOT / folder
    files = sorted(path.rglob("*.office")) if path.is_dir() else [path]
    text = "\n".join(present(file.read_text()) for file in files)
    feeds = re.findall(r"^power .*", text, re.M)
    grounds = re.findall(r"^ground (.*?) -> .*", text, re.M)
    dryers = set(re.findall(r"^dryer (\S+)", text, re.M))
    fed = [name for name in grounds if name.split()[0] not in dryers]
    assert all(re.search(SIZE, feed) and re.search(r"with [\d.]+ A,", feed) for feed in feeds), "the feeds of these are complete"
    return {
        "wire-protection": (len(feeds), len(feeds)),
        "fuse-load": (None, len(feeds)),
        "ground-size": (len(fed), None),
    }


FOLDERS = [
    "tests/county/offices",
    "tests/faults/air",
    "tests/faults/spans",
    "tests/faults/pairs",
    "tests/faults/records/elevation-missing.office",
    "grammar",
]


@pytest.mark.parametrize("folder", FOLDERS)
def test_counts(command, drysheath, folder):
    report = json.loads(drysheath("predict", folder, "--output", "json"))
    ended = subprocess.run([command, "lint", folder, "--output", "json"], cwd=ROOT, stdout=subprocess.PIPE)
    assert ended.returncode in (0, 1)
    said = {it["comparison"]: it for it in json.loads(ended.stdout)["coverage"]}
    for comparison, (compared, subjects) in (counted(report, shared_cables()) | written(folder)).items():
        told = said[comparison]
        assert told["compared"] == compared or compared is None, comparison
        assert told["subjects"] == subjects or subjects is None, comparison
    for told in said.values():
        assert told["compared"] + sum(left["subjects"] for left in told["left_out"]) == told["subjects"], told
        assert told["subjects"] > 0 and all(left["subjects"] > 0 for left in told["left_out"]), told
