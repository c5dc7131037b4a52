"""The TextMate grammar, before a server answers: what it says of a word is what the server's semantic tokens say."""

import json
import subprocess
import sys

import pytest
from harness.command import ROOT

from installing import HERE

sys.path.insert(0, str(ROOT / "tests" / "server"))
from client import Client, uri  # noqa: E402

GRAMMAR = ROOT / "grammar" / "office.tmLanguage.json"

TYPES = {
    "keyword.control.office": {"keyword"},
    "entity.name.type.office": {"type"},
    "variable.other.thing.office": {"variable"},
    "variable.parameter.office": {"parameter"},
    "entity.name.class.office": {"class"},
    "variable.other.property.office": {"property"},
    "constant.language.office": {"enumMember"},
    "constant.numeric.office": {"number"},
    "keyword.other.unit.office": {"macro"},
    "string.quoted.double.office": {"string"},
    "comment.line.number-sign.office": {"comment"},
    "entity.name.function.office": {"function"},
    "entity.name.namespace.office": {"namespace"},
    "keyword.operator.office": {"operator"},
}
"""For each scope what the server may call the same word."""

FOLDERS = ["county", "faults"]
LEAST_SHARE = 0.6
"""Of the words that the server colours, so many have a scope of the grammar: one that says nothing contradicts nothing either."""


def semantic(client, path):
    """What the server says: line, start, end and type."""
    client.open(path)
    answer = client.request("textDocument/semanticTokens/full", {"textDocument": {"uri": uri(path)}})
    line = start = 0
    found = []
    data = answer["data"]
    for at in range(0, len(data), 5):
        down, right, length, kind, _ = data[at : at + 5]
        line, start = line + down, right if down else start + right
        found.append((line, start, start + length, kind))
    return found


@pytest.fixture(scope="module")
def offices():
    files = [path for folder in FOLDERS for path in sorted((ROOT / "tests" / folder).rglob("*.office"))]
    # A byte that is not UTF-8 has no column.
    return [path for path in files if readable(path)]


def readable(path):
    try:
        path.read_text(encoding="utf-8")
    except (UnicodeDecodeError, FileNotFoundError):
        return False
    return True


def test_the_grammar_never_contradicts_the_server(node, drysheath, offices):
    run = [node, HERE / "tokens.mjs", GRAMMAR, *offices]
    scopes = json.loads(subprocess.run(run, check=True, capture_output=True, text=True, cwd=HERE).stdout)
    client = Client([drysheath, "lsp"])
    answer = client.initialize("vscode", ROOT / "tests")
    legend = answer["capabilities"]["semanticTokensProvider"]["legend"]["tokenTypes"]
    contradictions, coloured, said = [], 0, 0
    for path, found in zip(offices, scopes, strict=True):
        text = path.read_text(encoding="utf-8").removeprefix("\ufeff").split("\n")
        of_line = {}
        for line, start, end, scope in found:
            of_line.setdefault(line, []).append((start, end, scope))
        for line, start, end, kind in semantic(client, path):
            said += 1
            touching = [one for one in of_line.get(line, []) if one[0] < end and start < one[1] and one[2] in TYPES]
            coloured += bool(touching)
            for _, _, scope in touching:
                if legend[kind] not in TYPES[scope]:
                    contradictions.append(f"{path.relative_to(ROOT)}:{line + 1}: `{text[line][start:end]}` is {legend[kind]}, and {scope}")
    client.close()
    assert not contradictions, "\n".join(contradictions[:60]) + f"\n{len(contradictions)} of {said}"
    assert coloured / said > LEAST_SHARE, f"{coloured} of {said}"


def test_examples_are_coloured_as_recorded(node):
    program = HERE / "node_modules" / "vscode-tmgrammar-test" / "dist" / "unit.js"
    done = subprocess.run([node, program, "--grammar", GRAMMAR, "colours/*.office"], cwd=HERE, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout + done.stderr


def test_the_examples_are_offices(drysheath):
    examples = list((HERE / "colours").glob("*.office"))
    assert examples
    for path in examples:
        done = subprocess.run([drysheath, "lint", "--select", "statement-unreadable", path], capture_output=True, text=True)
        assert done.returncode == 0, done.stdout
