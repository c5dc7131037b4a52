"""Offices larger than anybody writes by hand."""

from client import ROOT


def large(lines):
    """A clean office of many lines: all that one office has, again and again under other names."""
    clean = (ROOT / "tests" / "faults" / "clean.office").read_text(encoding="utf-8")
    head, body = clean.split("\nbattery main", 1)
    body = "battery main" + body
    names = ["main", "ogb", "pdf", "m1", "d1", "r1", "f1", "mf", "p1", "c1", "ps1", "ps2", "tb"]
    copies = [head]
    for number in range(lines // body.count("\n")):
        words = body.replace("198.51.100.1", f"198.51.{number}.1").replace('"', ' " ').split(" ")
        copy = " ".join(f"{word}-{number}" if word.strip() in names else word for word in words).replace(' " ', '"')
        if number:
            copy = copy.replace("{ principal yes }", "") + f"ground ogb-{number} -> ogb-0 with 6 awg, 2 m\n"
        copies.append(copy)
    return "\n".join(copies)


def unwired(text):
    """An office without the wires of its pressure sensors, each of which then has results that can be fixed."""
    return "".join(line for line in text.splitlines(keepends=True) if not line.startswith("wire ps"))


def write_large(folder, text):
    """Writes an office of `large` into a folder that is a repository of its own. Its path."""
    (folder / "parts").mkdir(parents=True)
    (folder / "drysheath.toml").write_text("language = 1\n", encoding="utf-8")
    kit = ROOT / "tests" / "faults" / "parts" / "kit.office"
    (folder / "parts" / "kit.office").write_bytes(kit.read_bytes())
    office = folder / "large.office"
    office.write_text(text, encoding="utf-8")
    return office
