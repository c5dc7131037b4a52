"""A long session: thousands of random edits, with questions of all kinds, files and folders that come and go, branch switches,
and settings that change in between. And edits as fast as the pipe takes them.

DRYSHEATH_SOAK may say how many edits; 100000 is the full run.
"""

import os
import pathlib
import random
import shutil
import statistics
import time

import pytest
from client import ROOT, uri
from lint import becomes, printed, told
from test_equality import all_told
from test_files import clean, slip, unknown_height

EDITS = int(os.environ.get("DRYSHEATH_SOAK", "2000"))
IS_FULL = EDITS > 10_000
CHECK = 2000 if IS_FULL else 500
BRANCH = 2000 if IS_FULL else 200
"""Files that a branch switch changes."""
SEED = 20260507
PIECES = [
    " ", "\n", "{", "}", "->", ":", ",", "..", '"', "#", "🧭", "e\u0301", "7", "-48 V", "pair 3", "psi", "spare", "wire ", "cable c9 {",
    "\nspare tb pair 1\n", "accept pair-assigned-twice on tb because ", "\u2028", "\r\n",
]
QUESTIONS = [
    "hover", "completion", "definition", "typeDefinition", "references", "documentHighlight", "documentSymbol", "codeAction",
    "codeLens", "documentLink", "formatting", "rangeFormatting", "onTypeFormatting", "foldingRange", "selectionRange",
    "prepareCallHierarchy", "semanticTokens/full", "semanticTokens/range", "inlayHint", "diagnostic", "prepareRename", "rename",
    "workspace/symbol", "workspace/diagnostic",
]
REFUSALS = {-32800: "cancelled", -32801: "made stale by an edit", -32602: "a name that cannot be given"}


def office():
    """An office of about 200 lines."""
    return max((ROOT / "tests" / "county" / "offices").glob("*.office"), key=lambda path: path.stat().st_size)


def random_edit(chance, buffer, original):
    """One edit of the kinds that people make; now and then everything is undone."""
    text = buffer.text
    kind = chance.random()
    at = chance.randrange(len(text) + 1)
    if kind < 0.01 or len(text) > 2 * len(original):
        buffer.set(original)
    elif kind < 0.35:
        buffer.edit(at, at, chance.choice(PIECES))
    elif kind < 0.6:
        buffer.edit(at, min(len(text), at + chance.randrange(1, 12)), "")
    elif kind < 0.7:
        lines = text.splitlines(keepends=True)
        start = sum(map(len, lines[: chance.randrange(len(lines) + 1)]))
        end = text.find("\n", start) + 1 or len(text)
        buffer.edit(start, start, text[start:end])
    elif kind < 0.8:
        start = text.rfind("\n", 0, at) + 1
        end = text.find("\n", at) + 1 or len(text)
        buffer.edit(start, end, "")
    else:
        buffer.edit(at, min(len(text), at + 1), chance.choice("abcdefgh0123456789 .{}\n"))


def question(chance, buffer):
    """A question about somewhere."""
    name = chance.choice(QUESTIONS)
    here = buffer.position(chance.randrange(len(buffer.text) + 1))
    there = buffer.position(chance.randrange(len(buffer.text) + 1))
    start, end = sorted((here, there), key=lambda where: (where["line"], where["character"]))
    parameters = {
        "textDocument": {"uri": buffer.uri},
        "position": here,
        "positions": [here, there],
        "range": {"start": start, "end": end},
        "context": {"includeDeclaration": True, "diagnostics": [], "triggerKind": 1},
        "options": {"tabSize": 4, "insertSpaces": True},
        "newName": "n1",
        "ch": "\n",
        "query": chance.choice(["", "m1", "o1", "nothing is named so"]),
        "previousResultIds": [],
    }
    return name if name.startswith("workspace/") else f"textDocument/{name}", parameters


class Session:
    """A repository, an editor that works in it, and whatever else happens to it."""

    def __init__(self, chance, client, folder):
        self.chance, self.client, self.folder = chance, client, folder
        self.branch = folder / "branch"
        self.branch.mkdir()
        self.numbers = range(BRANCH)
        for number in self.numbers:
            self.office(number).write_text(clean(number), encoding="utf-8")
        self.main = client.open(folder / "offices" / office().name)
        self.original = self.main.text
        self.others = {}
        """Further open texts, and what each was in the beginning."""

    def office(self, number):
        return self.branch / f"o{number}.office"

    def told(self, kind, *paths):
        self.client.notify("workspace/didChangeWatchedFiles", {"changes": [{"uri": uri(path), "type": kind} for path in paths]})

    def edit(self):
        if self.others and self.chance.random() < 0.2:
            random_edit(self.chance, *self.chance.choice(list(self.others.values())))
        else:
            random_edit(self.chance, self.main, self.original)

    def opened(self):
        return [self.main, *(buffer for buffer, _ in self.others.values())]

    def open_or_close(self):
        """A further file is opened, now and then closed at once; or one is closed without being saved."""
        if len(self.others) > 3 or (self.others and self.chance.random() < 0.4):
            path = self.chance.choice(list(self.others))
            self.others.pop(path)[0].close()
            return
        parts = sorted((self.folder / "parts").glob("*.office"))
        path = self.chance.choice([self.office(self.chance.choice(self.numbers)), self.chance.choice(parts)])
        if path in self.others or not path.exists():
            return
        buffer = self.client.open(path)
        if self.chance.random() < 0.3:
            buffer.close()
        else:
            self.others[path] = (buffer, buffer.text)

    def storm(self):
        """Folders come or go, of which only the folders are named; and files that are not read come by the dozen."""
        for number in range(self.chance.randrange(1, 12)):
            path = self.folder / f"storm{number}"
            if path.exists():
                shutil.rmtree(path)
                self.told(3, path)
            else:
                path.mkdir()
                for inner in range(self.chance.randrange(6)):
                    text = self.chance.choice([clean, slip])(10_000 + 10 * number + inner)
                    (path / f"s{inner}.office").write_text(text, encoding="utf-8")
                self.told(1, path)
        self.told(2, *(self.folder / f"notes{number}" for number in range(50)))

    def switch(self):
        """Another branch: every file is another one, and some are not there."""
        for number in self.numbers:
            path, kind = self.office(number), self.chance.random()
            if kind < 0.1:
                path.unlink(missing_ok=True)
            else:
                text = slip if kind < 0.2 else unknown_height if kind < 0.3 else clean
                path.write_text(text(number), encoding="utf-8")
        self.told(2, *map(self.office, self.numbers))

    def settings(self):
        path = self.folder / "drysheath.toml"
        level = self.chance.choice(["error", "note", "warning", "off"])
        lines = [line for line in path.read_text(encoding="utf-8").splitlines() if not line.startswith("elevation-missing")]
        at = lines.index("[levels]") + 1 if "[levels]" in lines else len(lines)
        lines[at:at] = ([] if at < len(lines) or "[levels]" in lines else ["[levels]"]) + [f'elevation-missing = "{level}"']
        path.write_text("\n".join(lines) + "\n", encoding="utf-8")
        self.told(2, path)

    def save(self):
        """What is open is saved, so that the command reads the same."""
        for buffer in self.opened():
            path = self.folder / buffer.uri.removeprefix(uri(self.folder) + "/")
            path.write_bytes(buffer.text.encode())
            buffer.save()
            self.told(2, path)


def test_soak(session, lint, memory_path):
    chance = random.Random(SEED)
    county = pathlib.Path(shutil.copytree(ROOT / "tests" / "county", memory_path / "county"))
    client = session("eglot", county)
    living = Session(chance, client, county)
    assert living.main.results() == []
    asked, memory, refused, begin = [], {}, dict.fromkeys(REFUSALS, 0), time.monotonic()
    happenings = [(0.02, living.open_or_close), (0.003, living.storm), (0.001, living.settings)]
    for number in range(1, EDITS + 1):
        living.edit()
        for likely, happen in happenings:
            if chance.random() < likely:
                happen()
        if chance.random() < 0.3:
            asked.append(client.ask(*question(chance, chance.choice(living.opened()))))
            if chance.random() < 0.3:
                client.cancel(chance.choice(asked[-5:]))
        if number % (2 * CHECK) == CHECK // 2:
            living.switch()
        if number % CHECK == 0:
            living.save()
            client.request("workspace/symbol", {"query": "nothing is named so"})
            everything = printed(lint(".", cwd=county))
            shows = lambda: all_told(county, {at: client.shown[at]["diagnostics"] for at in client.troubled}, client.encoding)  # noqa: E731
            becomes(client, shows, everything)
            assert everything
            for earlier in asked:
                answer = client.answer(earlier)
                if "error" in answer:
                    assert answer["error"]["code"] in REFUSALS, answer
                    refused[answer["error"]["code"]] += 1
            asked.clear()
            memory[number] = client.memory()
            # What a long session leaves in this client does not concern the server.
            client.said.clear()
            client.answers.clear()
    # A folder may go while it is walked.
    assert all("No such file" in said["message"] for said in client.heard("window/logMessage"))
    rate = EDITS / (time.monotonic() - begin)
    print(f"{EDITS:,} edits at {rate:.0f} in a second; {len(everything)} results in the end; refused: {refused}")
    print("memory in MiB:", {number: round(size / 2**20, 1) for number, size in memory.items()})
    sizes = list(memory.values())
    fifth = max(1, len(sizes) // 5)
    early, late = statistics.median(sizes[fifth : 2 * fifth]), statistics.median(sizes[-fifth:])
    assert late < early * 1.1 + 4 * 2**20, memory


@pytest.mark.parametrize("name", ["eglot", "vscode", "kakoune"])
def test_storm(session, lint, county, name):
    """Edits without waiting for anything in between: none is lost, and the last state is right."""
    chance = random.Random(SEED)
    client = session(name, county)
    path = county / "offices" / office().name
    buffer = client.open(path)
    start = buffer.text
    for number in range(3000):
        at = chance.randrange(len(start) + 1)
        if number % 2 == 0:
            buffer.edit(at, at, chance.choice(PIECES))
        else:
            buffer.edit(at, min(len(buffer.text), at + 3), "")

    def now():
        results = buffer.pulled()["items"] if name == "vscode" else buffer.results()
        return told(str(path), buffer.text, results, client.encoding)

    becomes(client, now, printed(lint(path, buffer.text)))
    versions = [shown["version"] for shown in client.heard("textDocument/publishDiagnostics") if shown["uri"] == buffer.uri]
    assert versions == sorted(versions), "an older version was told after a newer one"
    buffer.set(start)
    becomes(client, now, [])
