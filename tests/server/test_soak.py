"""Thousands of random edits with requests in between, some of them cancelled, and edits as fast as the pipe takes them.

DRYSHEATH_SOAK may say how many edits; 20000 is the full run.
"""

import os
import random

import pytest
from client import ROOT
from lint import becomes, printed, told

EDITS = int(os.environ.get("DRYSHEATH_SOAK", "2000"))
CHECK = 500
SEED = 20260507
PIECES = [
    " ", "\n", "{", "}", "->", ":", ",", "..", '"', "#", "🧭", "e\u0301", "7", "-48 V", "pair 3", "psi", "spare", "wire ", "cable c9 {",
    "\nspare tb pair 1\n", "accept pair-assigned-twice on tb because ", "\u2028", "\r\n",
]
QUESTIONS = [
    "hover", "completion", "definition", "typeDefinition", "references", "documentHighlight", "documentSymbol", "codeAction",
    "codeLens", "documentLink", "formatting", "rangeFormatting", "onTypeFormatting", "foldingRange", "selectionRange",
    "prepareCallHierarchy", "semanticTokens/full", "semanticTokens/range", "inlayHint", "diagnostic", "prepareRename", "rename",
]
CANCELLED, WRONG_PARAMETERS = -32800, -32602


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
    }
    return f"textDocument/{name}", parameters


def test_soak(session, lint, county):
    chance = random.Random(SEED)
    client = session("eglot", county)
    path = county / "offices" / office().name
    buffer = client.open(path)
    original = buffer.text
    assert buffer.results() == []
    asked, memory = [], {}
    for number in range(1, EDITS + 1):
        random_edit(chance, buffer, original)
        if chance.random() < 0.3:
            asked.append(client.ask(*question(chance, buffer)))
            if chance.random() < 0.3:
                client.cancel(chance.choice(asked[-5:]))
        if number % CHECK == 0:
            wanted = printed(lint(path, buffer.text))
            # What several files give together follows when nothing else waits.
            becomes(client, lambda: told(str(path), buffer.text, buffer.results(), client.encoding), wanted)
            for earlier in asked:
                answer = client.answer(earlier)
                # A name that cannot be given to what stands there is refused; nothing else is.
                assert "result" in answer or answer["error"]["code"] in (CANCELLED, WRONG_PARAMETERS), answer
            asked.clear()
            memory[number] = client.memory()
            # What a long session leaves in this client does not concern the server.
            client.said.clear()
            client.answers.clear()
    assert not client.heard("window/logMessage")
    early, late = memory[min(1000, max(memory))], client.memory()
    print(f"memory after 1,000 edits {early / 2**20:.1f} MiB, after {EDITS:,} {late / 2**20:.1f} MiB")
    print({number: round(size / 2**20, 1) for number, size in memory.items()})
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
