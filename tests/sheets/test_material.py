"""Material and expected values, against a count of the runs in the office's text and against the records, which another room writes."""

import collections
import html
import json
import os
import re
import subprocess

import pytest

from conftest import ROOT, run

OFFICES = sorted((ROOT / "tests/county/offices").glob("*.office"))
METRES = {"ft": 0.3048, "m": 1.0, "km": 1000.0, "in": 0.0254, "kft": 304.8}


def cells(sheet, part):
    """The cells of each row of a part, as text."""
    text = sheet.read_text(encoding="utf-8").replace("\u00a0", " ")
    pages = re.split(r'<section class="page"', text)[1:]
    own, here = [], None
    for page in pages:
        title = re.search(r'<h2 id="(\w+)"', page)
        here = title[1] if title else here
        if here == part:
            own += re.findall(r"<tr class=.*?</tr>", page, re.DOTALL)
    return [[html.unescape(re.sub(r"<[^>]*>", "", cell)).strip() for cell in re.findall(r"<td.*?</td>", row, re.DOTALL)] for row in own]


def runs(office):
    """The statements of an office's runs with its assemblies written out, each on one line and without comments."""
    text = re.sub(r"#.*", "", run("expand", office))
    text = re.sub(r"\n\s*(?=->|with\b|then\b)|(?<=->)\s*\n|(?<=,)\s*\n", " ", text)
    return [" ".join(line.split()) for line in text.splitlines() if re.match(r"\s*(air|power|ground|wire)\s", line)]


def counted(office):
    """Fuses by rating, and metres of power and ground conductor by size, from the text alone."""
    fuses, metres = collections.Counter(), collections.Counter()
    for line in runs(office):
        medium = line.split()[0]
        _, _, built = line.partition(" with ")
        for piece in built.split(" then "):
            fuses.update(f"fuse {found} A" for found in re.findall(r"([\d.]+) A\b", re.sub(r"limit [\d.]+ A", "", piece)) if medium == "power")
            size = re.search(r"([\d/.]+ ?(?:awg|mm2|kcmil))", piece)
            length = re.search(r"([\d.]+) (ft|m|km)\b(?!\d)", re.sub(r"[\d.]+ mm2", "", piece))
            if medium in ("power", "ground") and size and length:
                metres[f"{medium} conductor {size[1]}"] += float(length[1]) * METRES[length[2]] * (2 if medium == "power" else 1)
    return fuses, metres


@pytest.mark.parametrize("office", OFFICES, ids=lambda office: office.stem)
def test_fuses_and_conductors(county, office):
    shown = {name: amount for _, amount, name in cells(county / "offices" / f"{office.stem}.html", "material")}
    fuses, metres = counted(office)
    assert {name: int(amount) for name, amount in shown.items() if re.fullmatch(r"fuse [\d.]+ A", name)} == fuses
    own = {name: amount.split() for name, amount in shown.items() if " conductor " in name}
    assert own.keys() == metres.keys()
    for name, (value, unit) in own.items():
        # Three digits are shown.
        assert float(value) * METRES[unit] == pytest.approx(metres[name], rel=0.006), name


@pytest.mark.parametrize("office", OFFICES, ids=lambda office: office.stem)
def test_steps_expect_what_the_records_say(county, office):
    done = subprocess.run([os.environ["DRYSHEATH"], "records", office, "--output", "json"], capture_output=True, text=True)
    records = json.loads(done.stdout)["offices"][0]["records"]
    steps = cells(county / "offices" / f"{office.stem}.html", "steps")
    reads = {what: expect for _, _, what, expect, _ in steps}
    for record in records:
        if record["input_kind"] == "output":
            continue
        place = f"{record['monitor']} {record['input_kind']} {record['input']}: {record['device']}"
        own = [expect for what, expect in reads.items() if what.startswith(place + " ")]
        assert own, place
        if record["expected"] is not None and record["input_kind"] == "sensor":
            # As finely as the sensor reports: the figure is the record's, rounded to the decimals that are shown.
            shown = [found for expect in own for found in re.findall(r"-?\d+(?:\.\d+)?", expect)]
            half = {one: 0.5001 * 10 ** -len(one.partition(".")[2]) for one in shown}
            assert any(abs(record["expected"] - float(one)) <= half[one] for one in shown), (place, own, record["expected"])
        if record["loop"] is not None:
            figures = [float(found) for expect in own for found in re.findall(r"([\d.]+) ohm at 20", expect)]
            assert any(figure == pytest.approx(record["loop"]["at_20_ohm"], rel=0.006, abs=0.06) for figure in figures), (place, own)
        if record["healthy"] is not None:
            assert any(record["healthy"] in expect for expect in own), (place, own)


@pytest.mark.parametrize("office", OFFICES, ids=lambda office: office.stem)
def test_the_order_is_safe(county, office):
    """Ground before power, power out before anything is plugged, air last: as the rows stand."""
    steps = [what for _, _, what, _, _ in cells(county / "offices" / f"{office.stem}.html", "steps")]

    def first(words):
        return next((at for at, what in enumerate(steps) if words in what), None)

    ground, run_power, dead = first("no frame is grounded through another"), first("Leave the connector at the far end unplugged"), first("prove each connector dead before anything is plugged")
    plug, air = first("then plug the pairs and last the power"), first("back every regulator off, then open slowly")
    order = [at for at in (first("Take out the fuses of"), ground, run_power, dead, plug, air) if at is not None]
    assert len(order) >= 4 and order == sorted(order), order
