"""What the server offers beyond the protocol: the drawings of an office, and pictures in hovers."""

import base64
import re
import xml.etree.ElementTree as xml

from client import Buffer, piece

def asked(client, where):
    return client.request("drysheath/sheet", {"textDocument": {"uri": where}})


def test_the_sheet_is_drawn_from_the_text_in_the_editor(session, county):
    client = session(root=county)
    office = Buffer(client, county / "offices" / "ashlar-cross.office")
    sheet = asked(client, office.uri)
    assert sheet["version"] == 1 and sheet["title"] == "Ashlar Cross"
    ids = [drawing["id"] for drawing in sheet["drawings"]]
    assert ids == ["air", "wiring", "power", "ground", "pressure c1", "pressure c2", "pressure c3", "pressure c4"]
    for drawing in sheet["drawings"]:
        read = xml.fromstring(drawing["svg"])
        assert read.tag.endswith("svg") and not list(read.iter("script"))
    office.replace("set 6 psi", "set 5 psi")
    edited = asked(client, office.uri)
    assert edited["version"] == 2
    changed = [one["id"] for one, other in zip(edited["drawings"], sheet["drawings"], strict=True) if one != other]
    assert "air" in changed and "pressure c3" in changed and "power" not in changed and "wiring" not in changed
    assert "5 psi" in drawn(edited, "air")


def drawn(sheet, wanted):
    (svg,) = (drawing["svg"] for drawing in sheet["drawings"] if drawing["id"] == wanted)
    return " ".join(xml.fromstring(svg).itertext()).replace("\u00a0", " ")


def test_each_thing_leads_to_where_it_is_declared(session, county):
    client = session(root=county)
    office = Buffer(client, county / "offices" / "ashlar-cross.office")
    things = asked(client, office.uri)["things"]
    names = [thing["name"] for thing in things]
    assert "r-pole" in names and len(names) == len(set(names))
    for thing in things:
        assert thing["location"]["uri"] == office.uri
        assert piece(office.text, thing["location"]["range"], client.encoding) == thing["name"]


def test_what_is_of_the_class_name_is_the_name_of_a_thing(session, county):
    client = session(root=county)
    office = Buffer(client, county / "offices" / "ashlar-cross.office")
    sheet = asked(client, office.uri)
    names = {thing["name"] for thing in sheet["things"]}
    headings = 0
    for drawing in sheet["drawings"]:
        for group in xml.fromstring(drawing["svg"]).iter():
            lines = [one.text.replace("\u00a0", " ") for one in group if one.tag.endswith("text") and one.get("class") == "name"]
            said = " ".join(lines)
            known = {said, "".join(lines)} | ({said.rpartition(" ")[0]} if drawing["id"] == "wiring" else set())
            assert not lines or known & names, (drawing["id"], said)
            headings += sum(one.get("class") == "heading" for one in group)
    assert headings >= 4


def test_what_is_drawn_of_an_assembly_is_declared_in_its_drawing(session, county):
    client = session(root=county)
    found = []
    for path in sorted((county / "offices").glob("*.office")):
        if "assembly" in path.read_text(encoding="utf-8"):
            office = Buffer(client, path)
            found += [thing for thing in asked(client, office.uri)["things"] if thing["location"]["uri"] != office.uri]
    assert any("/" in thing["name"] for thing in found), found


def test_a_file_of_parts_has_no_sheet(session, county):
    client = session(root=county)
    parts = Buffer(client, county / "parts" / "bays.office")
    assert asked(client, parts.uri) is None


def test_a_title_cannot_smuggle_anything_into_a_drawing(session, county):
    client = session(root=county)
    office = Buffer(client, county / "offices" / "ashlar-cross.office")
    office.replace('title           "Ashlar Cross"', 'title           "</svg><script>alert(1)</script>"')
    for drawing in asked(client, office.uri)["drawings"]:
        assert "<script" not in drawing["svg"]


def hovered(client, office, mark, inside):
    at = office.position(office.text.index(mark) + inside)
    return client.request("textDocument/hover", {"textDocument": {"uri": office.uri}, "position": at})["contents"]["value"]


def test_a_cable_shows_its_pressure_where_the_client_shows_pictures(start, county):
    client = start()
    client.initialize("vscode", county, options={"pictures": True})
    office = Buffer(client, county / "offices" / "ashlar-cross.office")
    said = hovered(client, office, "cable c1 {", len("cable "))
    picture = re.search(r"!\[pressure along c1\]\(data:image/svg\+xml;base64,([A-Za-z0-9+/=]+)\)$", said)
    svg = xml.fromstring(base64.b64decode(picture[1]))
    assert svg.tag == "{http://www.w3.org/2000/svg}svg" and "computed" in " ".join(svg.itertext())
    assert "data:" not in hovered(client, office, "regulator r-pole", len("regulator "))


def test_a_branch_shows_its_own_pressure_and_no_other_part_of_a_cable_shows_one(start, county):
    client = start()
    client.initialize("vscode", county, options={"pictures": True})
    office = Buffer(client, county / "offices" / "forkwater.office")
    declared = hovered(client, office, "branch mill {", len("branch "))
    named = hovered(client, office, "c7 branch mill 1.6 km", len("c7 branch "))
    for said in (declared, named):
        picture = re.search(r"!\[pressure along c7 branch mill\]\(data:image/svg\+xml;base64,([A-Za-z0-9+/=]+)\)$", said)
        drawn = " ".join(xml.fromstring(base64.b64decode(picture[1])).itertext())
        assert "c7 branch mill" in drawn and "ps-mill" in drawn and "ps-end" not in drawn
    for mark, word in (("section         s1", "section         "), ("place           weir", "place           "), ("c7 place weir", "c7 place ")):
        assert "data:" not in hovered(client, office, mark, len(word))


def test_others_have_it_as_text(start, county):
    client = start()
    client.initialize("vscode", county)
    office = Buffer(client, county / "offices" / "ashlar-cross.office")
    assert "data:" not in hovered(client, office, "cable c1 {", len("cable "))


def test_each_answer_is_that_of_the_text_before_it(session, county):
    client = session(root=county)
    office = Buffer(client, county / "offices" / "ashlar-cross.office")
    written = 6
    for number in (1, 2, 3, 4, 5):
        office.replace(f"{{ set {written} psi }}", f"{{ set {number} psi }}")
        written = number
        sheet = asked(client, office.uri)
        assert sheet["version"] == number + 1 and f"{number} psi" in drawn(sheet, "air")
