"""How long the server takes, as an editor feels it.

    latency.py [--program drysheath] [--offices 2000] [--edits 300] [--open-all] [--json]

Makes a county (`cargo xtask county`), opens one of its offices of about 200 lines in a server that has seen none of it, and
measures, once everything is known:

* edit: from the moment an edit is written to the pipe until the results of that version are read from it; one character is put in
  and taken out again, all over the file;
* completion: the same for a completion that is asked right behind an edit, at the end of a run;
* hover: over a name, with nothing pending.

Then the same for an office of about 5,000 lines in a folder of its own, and for one of about 3,000 lines with faults how long a
hover and an edit take right behind code actions for 50 lines. CPU is what the server's process used for each edit.
"""

import argparse
import json
import os
import pathlib
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
    since, start = len(client.said), time.perf_counter()
    buffer.edit(at, at + 1, "") if take else buffer.edit(at, at, "7")

    def fits(message):
        told = message.get("params") or {}
        is_results = message.get("method") == "textDocument/publishDiagnostics"
        return is_results and told["uri"] == buffer.uri and told.get("version") == buffer.version

    return arrival(client, since, fits) - start


def asked(client, method, parameters):
    since, start = len(client.said), time.perf_counter()
    number = client.ask(method, parameters)
    return arrival(client, since, lambda message: message.get("id") == number and "method" not in message) - start


def measure(program, folder, office, edits, others=()):
    """Everything about one office in one folder."""
    start = time.perf_counter()
    client = Client([program, "lsp"])
    with client:
        client.initialize("kakoune", folder)
        opened = time.perf_counter()
        buffer = client.open(office)
        buffer.results()
        now = time.perf_counter()
        told = {
            "lines": buffer.text.count("\n"),
            "first results": {"from start": round((now - start) * 1000, 1), "from opening": round((now - opened) * 1000, 1)},
        }
        client.request("workspace/diagnostic", {"previousResultIds": []})
        told["all known after"] = round((time.perf_counter() - start) * 1000)
        told["RSS at rest"] = megabytes(client)
        runs = [at for at, line in starts(buffer.text) if line.startswith("wire ") and "-> tb" in line] or [len(buffer.text) // 2]
        digits = [at for at, character in enumerate(buffer.text) if character.isdigit() and at > 400]
        places = digits[:: max(1, len(digits) * 2 // edits)]
        before, times = cpu(client), []
        for number in range(edits // 2):
            at = places[number % len(places)]
            times += [edited(client, buffer, at, False), edited(client, buffer, at, True)]
        told["edit"] = shares(times)
        told["CPU for an edit"] = round((cpu(client) - before) * 1000 / len(times), 3)
        times = []
        for number in range(edits // 2):
            start_of_run = runs[number % len(runs)]
            end = buffer.text.index("\n", start_of_run)
            buffer.edit(end, end, " ")
            place = {"textDocument": {"uri": buffer.uri}, "position": buffer.position(end + 1)}
            times.append(asked(client, "textDocument/completion", place))
            buffer.edit(end, end + 1, "")
        told["completion after an edit"] = shares(times)
        buffer.results()
        times = []
        for number in range(edits // 2):
            place = {"textDocument": {"uri": buffer.uri}, "position": buffer.position(runs[number % len(runs)] + 6)}
            times.append(asked(client, "textDocument/hover", place))
        told["hover"] = shares(times)
        told["RSS after all this"] = megabytes(client)
        if others:
            last = [client.open(other) for other in others][-1]
            last.results()
            told["RSS with all open"] = megabytes(client)
            told["edit with all open"] = shares([edited(client, buffer, places[0], take) for take in (False, True) * 50])
        client.quit()
    return told


def behind_actions(program, folder, office, rounds=20):
    """How long a hover and the results of an edit take right behind code actions for 50 lines with results."""
    with Client([program, "lsp"]) as client:
        client.initialize("kakoune", folder)
        buffer = client.open(office)
        lines = sorted({result["range"]["start"]["line"] for result in buffer.results()})[:50]
        where = {"textDocument": {"uri": buffer.uri}}
        hovers, edits, actions = [], [], []
        for number in range(rounds):
            start = time.perf_counter()
            pending = [client.ask("textDocument/codeAction", {**where, **whole_line(line)}) for line in lines]
            hovers.append(asked(client, "textDocument/hover", {**where, "position": {"line": lines[0], "character": 3}}))
            for request in pending:
                client.answer(request)
            actions.append(time.perf_counter() - start)
            pending = [client.ask("textDocument/codeAction", {**where, **whole_line(line)}) for line in lines]
            edits.append(edited(client, buffer, 1, number % 2 == 1))
            for request in pending:
                client.answer(request)
        told = {
            "lines": buffer.text.count("\n"),
            "hover behind actions": shares(hovers),
            "edit behind actions": shares(edits),
            "all actions": shares(actions),
        }
        client.quit()
    return told


def whole_line(line):
    start, end = {"line": line, "character": 0}, {"line": line, "character": 10}
    return {"range": {"start": start, "end": end}, "context": {"diagnostics": []}}


def starts(text):
    at = 0
    for line in text.splitlines(keepends=True):
        yield at, line
        at += len(line)


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--program", default="drysheath")
    parser.add_argument("--offices", type=int, default=2000)
    parser.add_argument("--edits", type=int, default=300)
    parser.add_argument("--open-all", action="store_true", help="also open all offices of the county")
    parser.add_argument("--json", action="store_true")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        folder = pathlib.Path(folder)
        county = ["cargo", "xtask", "county", "--offices", str(options.offices), "--seed", "7", str(folder / "county")]
        subprocess.run(county, cwd=ROOT, check=True, stdout=sys.stderr)
        offices = sorted((folder / "county").rglob("offices/**/*.office"))
        lines = {office: office.read_text(encoding="utf-8").count("\n") for office in offices[:200]}
        usual = min(lines, key=lambda office: abs(lines[office] - 200))
        others = [office for office in offices if office != usual] if options.open_all else []
        told = {f"one of {len(offices):,} offices": measure(options.program, folder / "county", usual, options.edits, others)}
        alone = write_large(folder / "large", large(5000))
        told["a large office"] = measure(options.program, alone.parent, alone, options.edits)
        faulty = write_large(folder / "faulty", unwired(large(3000)))
        told["an office with faults"] = behind_actions(options.program, faulty.parent, faulty)
    if options.json:
        print(json.dumps(told, indent=2))
        return
    for name, figures in told.items():
        print(f"{name} ({figures.pop('lines'):,} lines; milliseconds and MiB)")
        for what, figure in figures.items():
            shown = "  ".join(f"{key} {value}" for key, value in figure.items()) if isinstance(figure, dict) else figure
            print(f"  {what:<26}{shown}")


if __name__ == "__main__":
    main()
