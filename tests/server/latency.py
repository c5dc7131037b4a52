"""How long the server takes, as an editor feels it.

    latency.py [--program drysheath] [--offices 2000 | --county FOLDER] [--rounds 200] [--only NAME] [--json]

Makes a county (`cargo xtask county`) and measures the program, or several side by side where `--program` is given again: each
section is measured of one program after the other before the next begins, so that what else runs on the machine falls on all.

* an office of about 200 lines in the county, first open alone and then with all others open too, and one of about 5,000 lines in a
  folder of its own: from the moment an edit is written to the pipe until the results of that version are read from it (one digit is
  put in and taken out again, all over the file); then every kind of question, right behind an edit where an editor asks so;
* an office with faults: code actions for a line and for 50 lines, each behind an edit so that nothing is known of the text yet, and
  what a hover and an edit take behind them;
* a part that most offices of the county use: references and renaming, and what a hover and an edit take behind them.

Times are in milliseconds. CPU is what the server's process used for each edit.
"""

import argparse
import collections
import json
import os
import pathlib
import re
import subprocess
import sys
import tempfile
import time

from client import ROOT, Client
from offices import large, unwired, write_large

TICKS = os.sysconf("SC_CLK_TCK")


def shares(times):
    """p50, p95, p99 and maximum, in milliseconds."""
    ordered = sorted(times)
    at = lambda share: round(ordered[min(len(ordered) - 1, int(share * len(ordered)))] * 1000, 3)  # noqa: E731
    return {"p50": at(0.5), "p95": at(0.95), "p99": at(0.99), "max": at(1)}


def cpu(client):
    """Seconds of CPU that the server has used."""
    fields = pathlib.Path(f"/proc/{client.server.pid}/stat").read_text().rsplit(")", 1)[1].split()
    return (int(fields[11]) + int(fields[12])) / TICKS


def megabytes(client):
    return round(client.memory() / 2**20, 1)


def arrival(client, since, fits):
    """When the first message that fits came."""

    def there():
        return next((moment for moment, message in client.said[since:] if fits(message)), None)

    return client.until(there, "nothing came")


def edited(client, buffer, at, take):
    """One edit and how long its results took."""
    since = len(client.said)
    buffer.edit(at, at + 1, "") if take else buffer.edit(at, at, "7")

    def fits(message):
        told = message.get("params") or {}
        is_results = message.get("method") == "textDocument/publishDiagnostics"
        return is_results and told["uri"] == buffer.uri and told.get("version") == buffer.version

    return arrival(client, since, fits) - client.written


def answered(client, number):
    """When a request was answered."""
    arrived = arrival(client, 0, lambda message: message.get("id") == number and "method" not in message)
    answer = client.answers[number]
    assert "error" not in answer, answer
    return arrived, answer["result"]


def asked(client, method, parameters):
    """How long the answer to a request took, and the answer."""
    since, number = len(client.said), client.ask(method, parameters)
    start = client.written
    arrived = arrival(client, since, lambda message: message.get("id") == number and "method" not in message)
    answer = client.answers[number]
    assert "error" not in answer, (method, answer)
    return arrived - start, answer["result"]


def session(program, folder, office):
    """A client that has an office open, once all files are known."""
    client = Client([program, "lsp"])
    client.initialize("kakoune", folder)
    buffer = client.open(office)
    buffer.results()
    client.request("workspace/diagnostic", {"previousResultIds": []})
    return client, buffer


def digits(buffer, rounds):
    """Places all over a text where a digit can be put in and taken out."""
    all_of_them = [at for at, character in enumerate(buffer.text) if character.isdigit() and at > 400]
    places = all_of_them[:: max(1, len(all_of_them) * 2 // rounds)]
    return [places[number % len(places)] for number in range(rounds // 2)]


def edits(client, buffer, rounds):
    """The edits of a text, and the CPU that the server used for each."""
    before, times = cpu(client), []
    for at in digits(buffer, rounds):
        times += [edited(client, buffer, at, False), edited(client, buffer, at, True)]
    return {"edit": shares(times), "CPU for an edit": round((cpu(client) - before) * 1000 / len(times), 3)}


QUESTIONS = [
    "hover", "definition", "documentHighlight", "references", "prepareRename", "rename", "codeAction", "documentSymbol", "semanticTokens/full",
    "semanticTokens/range", "inlayHint", "foldingRange", "codeLens", "documentLink", "selectionRange", "formatting", "rangeFormatting",
]  # fmt: skip
"""What an editor asks about a name in a document."""


def questions(client, buffer, rounds):
    """Every kind of question about a document, each behind an edit of it."""
    told = {}
    times = []
    for number in range(rounds):
        end = buffer.text.index("\n", wired(buffer.text, number))
        buffer.edit(end, end, " ")
        place = {"textDocument": {"uri": buffer.uri}, "position": buffer.position(end + 1)}
        took, answer = asked(client, "textDocument/completion", place)
        assert answer is not None, place
        times.append(took)
        buffer.edit(end, end + 1, "")
    told["completion"] = shares(times)
    for name in QUESTIONS:
        times = []
        for number in range(max(4, rounds // 4)):
            edited(client, buffer, 0, number % 2 == 1)
            here = buffer.position(wired(buffer.text, number))
            there = {"line": here["line"] + 50, "character": 0}
            parameters = {
                "textDocument": {"uri": buffer.uri},
                "position": here,
                "positions": [here],
                "range": {"start": here, "end": here if name == "codeAction" else there},
                "context": {"includeDeclaration": True, "diagnostics": []},
                "options": {"tabSize": 4, "insertSpaces": True},
                "newName": "n1",
            }
            times.append(asked(client, f"textDocument/{name}", parameters)[0])
        # After an odd number of edits the digit is still in.
        if number % 2 == 0:
            edited(client, buffer, 0, True)
        told[name] = shares(times)
    return told


def wired(text, number):
    """Where the name of a thing begins that a wire leads from to a block: of all of them, one after the other."""
    names = [found.start(1) for found in re.finditer(r"^wire +(\S+).*-> tb", text, re.MULTILINE)]
    return names[number % len(names)]


def one_office(program, folder, office, rounds):
    """Edits and questions of one office with no other open."""
    start = time.perf_counter()
    client, buffer = session(program, folder, office)
    with client:
        told = {"lines": buffer.text.count("\n"), "all known after": round((time.perf_counter() - start) * 1000), "RSS": megabytes(client)}
        told |= edits(client, buffer, rounds) | questions(client, buffer, rounds // 2)
        told["RSS after all this"] = megabytes(client)
        client.quit()
    return told


def among_open(program, folder, office, others, rounds):
    """The same office with all others open."""
    client, buffer = session(program, folder, office)
    with client:
        last = [client.open(other) for other in others][-1]
        last.results()
        client.request("workspace/diagnostic", {"previousResultIds": []})
        told = {"lines": buffer.text.count("\n"), "open": len(others) + 1, "RSS": megabytes(client)}
        told |= edits(client, buffer, rounds) | questions(client, buffer, rounds // 2)
        client.quit()
    return told


def with_faults(program, folder, office, rounds):
    """Code actions where there is something to act on, and what is asked behind them."""
    client, buffer = session(program, folder, office)
    with client:
        lines = sorted({result["range"]["start"]["line"] for result in buffer.results()})
        where = {"textDocument": {"uri": buffer.uri}}
        found = {"actions on one line": [], "actions on 50 lines": []}
        sizes, hovers, edits = collections.Counter(), [], []
        for number in range(max(4, rounds // 8)):
            for name, height in (("actions on one line", 0), ("actions on 50 lines", 50)):
                # Put into the first line, which is a comment: every other line stays where it is.
                edited(client, buffer, 2, number % 2 == 1)
                edited(client, buffer, 2, number % 2 == 0)
                line = lines[(number * 7) % len(lines)]
                took, actions = asked(client, "textDocument/codeAction", {**where, **span(line, height)})
                found[name].append(took)
                sizes[name] += len(actions)
            pending = client.ask("textDocument/codeAction", {**where, **span(line, 50)})
            hovers.append(asked(client, "textDocument/hover", {**where, "position": {"line": line, "character": 3}})[0])
            client.answer(pending)
            pending = client.ask("textDocument/codeAction", {**where, **span(line, 50)})
            edits.append(edited(client, buffer, 2, False))
            client.answer(pending)
            edited(client, buffer, 2, True)
        told = {"lines": buffer.text.count("\n"), "results": len(buffer.results())}
        told["actions found"] = sum(sizes.values())
        told |= {name: shares(times) for name, times in found.items()}
        told |= {"hover behind actions": shares(hovers), "edit behind actions": shares(edits)}
        client.quit()
    return told


def of_many(program, folder, offices, rounds):
    """References and renaming of the part that most offices use, and what is asked behind them."""
    texts = {office: office.read_text(encoding="utf-8") for office in offices}
    uses = collections.Counter(part for text in texts.values() for part in set(re.findall(r"\w \s*: ([a-z][\w-]*)", text)))
    part, users = uses.most_common(1)[0]
    office = next(office for office, text in texts.items() if f": {part}" in text)
    client, buffer = session(program, folder, office)
    with client:
        for other in offices[:5]:
            if other != office:
                client.open(other).results()
        at = {"textDocument": {"uri": buffer.uri}, "position": buffer.position(buffer.text.index(f": {part}") + 3)}
        here = {"textDocument": {"uri": buffer.uri}, "position": buffer.position(buffer.text.index("\noffice ") + 3)}
        references, renames, hovers, edits, waits = [], [], [], [], []
        for number in range(max(3, rounds // 20)):
            took, places = asked(client, "textDocument/references", {**at, "context": {"includeDeclaration": True}})
            references.append(took)
            took, edit = asked(client, "textDocument/rename", {**at, "newName": f"{part}-a"})
            renames.append(took)
            pending = client.ask("textDocument/references", {**at, "context": {"includeDeclaration": True}})
            hovers.append(asked(client, "textDocument/hover", here)[0])
            edits.append(edited(client, buffer, 2, number % 2 == 1))
            waits.append(asked(client, "textDocument/codeAction", {**here, "range": span(1, 0)["range"], "context": {"diagnostics": []}})[0])
            answered(client, pending)
        changed = edit.get("changes") or edit["documentChanges"]
        told = {"part": f"{part}, in {users:,} offices", "places": len(places), "files changed": len(changed)}
        told |= {"references": shares(references), "rename": shares(renames), "hover behind references": shares(hovers)}
        told |= {"edit behind references": shares(edits), "code action behind references": shares(waits)}
        client.quit()
    return told


def span(line, height):
    """The parameters of a request about some lines."""
    start, end = {"line": line, "character": 0}, {"line": line + height, "character": 10}
    return {"range": {"start": start, "end": end}, "context": {"diagnostics": []}}


def shown(figure):
    return "  ".join(f"{key} {value:>8}" for key, value in figure.items()) if isinstance(figure, dict) else str(figure)


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--program", action="append")
    parser.add_argument("--offices", type=int, default=2000)
    parser.add_argument("--county", type=pathlib.Path, help="a county that was made before")
    parser.add_argument("--rounds", type=int, default=200)
    parser.add_argument("--only", default="", help="only sections with this in their name")
    parser.add_argument("--json", action="store_true")
    options = parser.parse_args()
    programs, rounds, told = options.program or ["drysheath"], options.rounds, {}
    with tempfile.TemporaryDirectory() as folder:
        folder = pathlib.Path(folder)
        county = options.county or folder / "county"
        if not options.county:
            make = ["cargo", "xtask", "county", "--offices", str(options.offices), "--seed", "7", str(county)]
            subprocess.run(make, cwd=ROOT, check=True, stdout=sys.stderr)
        offices = sorted(county.resolve().rglob("offices/**/*.office"))
        lines = {office: office.read_text(encoding="utf-8").count("\n") for office in offices[:200]}
        usual = min(lines, key=lambda office: abs(lines[office] - 200))
        others = [office for office in offices if office != usual]
        alone = write_large(folder / "large", large(5000))
        faulty = write_large(folder / "faulty", unwired(large(5000)))
        sections = {
            "one office": lambda program: one_office(program, county, usual, rounds),
            "all open": lambda program: among_open(program, county, usual, others, rounds),
            "large": lambda program: one_office(program, alone.parent, alone, rounds),
            "faults": lambda program: with_faults(program, faulty.parent, faulty, rounds),
            "part of many": lambda program: of_many(program, county, offices, rounds),
        }
        for name, measure in sections.items():
            if options.only in name:
                told[name] = {program: measure(program) for program in programs}
    if options.json:
        print(json.dumps(told, indent=2))
        return
    for name, figures in told.items():
        print(name)
        for what in next(iter(figures.values())):
            for program in programs:
                print(f"  {what if program == programs[0] else '':<30}{shown(figures[program][what])}")


if __name__ == "__main__":
    main()
