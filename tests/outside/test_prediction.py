"""What predict prints of every office there is: its JSON by its schema, its pictures as XML."""

import json
import pathlib
import xml.etree.ElementTree as xml

import pytest

import forms
from conftest import ROOT

SVG = "{http://www.w3.org/2000/svg}"
OFFICES = [ROOT / "tests/county/offices", ROOT / "grammar/example.office"]


@pytest.fixture(scope="module")
def printed(drysheath, tmp_path_factory):
    pictures = tmp_path_factory.mktemp("pictures")
    return json.loads(drysheath("predict", *OFFICES, "--output", "json", "--pictures", pictures)), pictures


def test_schema(printed):
    report, _ = printed
    errors = forms.json_complaints(report, "prediction.schema.json")
    assert not errors, errors[:3]
    assert len(report["offices"]) == len(list(OFFICES[0].rglob("*.office"))) + 1


def test_pictures(printed):
    report, pictures = printed
    left = {path.relative_to(pictures) for path in pictures.rglob("*.svg")}
    for office in report["offices"]:
        for line in office["lines"]:
            if all(point["pressure_pa"] is None for point in line["points"]):
                continue
            # Each office has a folder of its own, by the path that its file has in its repository.
            folder = pathlib.Path(office["file"]).relative_to(ROOT).with_suffix("")
            folder = folder.relative_to("tests/county") if folder.is_relative_to("tests/county") else pathlib.Path(folder.name)
            name = folder / (".".join(filter(None, (line["name"], line["branch"]))) + ".svg")
            left.remove(name)
            drawn = xml.parse(pictures / name).getroot()
            assert drawn.tag == f"{SVG}svg"
            (curve,) = drawn.iter(f"{SVG}polyline")
            places = [tuple(map(float, place.split(","))) for place in curve.get("points").split()]
            # From the beginning of the line to its end, inside the picture.
            assert places == sorted(places, key=lambda place: place[0])
            _, _, width, height = map(float, drawn.get("viewBox").split())
            assert all(0 <= x <= width and 0 <= y <= height for x, y in places), name
            texts = {text.text.strip() for text in drawn.iter(f"{SVG}text")}
            for sensor in office["sensors"]:
                if (sensor["line"], sensor["branch"], sensor["unit"]) == (line["name"], line["branch"], "Pa"):
                    assert any(sensor["name"] in text.split(", ") for text in texts), (name, sensor["name"], texts)
    assert not left
