"""What the package of the extension says of itself."""

import json
import re
import subprocess
import zipfile

import pytest
from harness.command import ROOT

from installing import EXTENSION, environment, install

MANIFEST = json.loads((EXTENSION / "package.json").read_text(encoding="utf-8"))


def test_every_result_that_lint_prints_becomes_a_problem(drysheath):
    """A line of the first pattern is followed by one of the second, as the editor reads them."""
    first, second = (re.compile(pattern["regexp"]) for pattern in MANIFEST["contributes"]["problemMatchers"][0]["pattern"])

    def lint(*more):
        done = subprocess.run([drysheath, "lint", "tests/faults", *more], cwd=ROOT, capture_output=True, text=True)
        assert done.returncode == 1, done.stderr
        return done.stdout

    printed = lint("--colour", "never").split("\n")
    problems = set()
    for line, below in zip(printed, printed[1:]):
        said, there = first.match(line), second.match(below)
        if said and there:
            problems.add((*said.groups(), there[1], int(there[2]), int(there[3])))
    results = json.loads(lint("--output", "json"))["results"]
    place = lambda result: (result["place"]["file"], result["place"]["line"], result["place"]["column"])
    assert problems == {(result["level"], result["message"], result["rule"], *place(result)) for result in results if not result["accepted"]}
    assert len(problems) > 100


def test_what_is_named_is_there():
    contributed = MANIFEST["contributes"]
    commands = {command["command"] for command in contributed["commands"]}
    shown = {entry["command"] for menu in contributed["menus"].values() for entry in menu}
    assert shown <= commands
    source = "".join(path.read_text(encoding="utf-8") for path in (EXTENSION / "src").glob("*.ts"))
    registered = {f"drysheath.{name}" for name in re.findall(r"register\('([a-zA-Z]+)'", source)} | set(re.findall(r"registerCommand\('([a-zA-Z.]+)'", source))
    assert registered == commands
    settings = set(contributed["configuration"]["properties"])
    assert {f"drysheath.{name}" for name in re.findall(r"get<\w+>\('([a-zA-Z.]+)'", source)} <= settings
    for step in contributed["walkthroughs"][0]["steps"]:
        assert (EXTENSION / step["media"]["markdown"]).exists()
    # What is shown in the list of extensions is ours alone.
    assert MANIFEST["publisher"] == "drysheath" and MANIFEST["license"] == "MIT"


def inserted(body):
    """What a snippet writes, with the first of each choice and the text that each place offers."""
    text = re.sub(r"\$\{\d+\|([^,|}]*)[^}]*\|\}", r"\1", "\n".join(body))
    return re.sub(r"\$\d+", "", re.sub(r"\$\{\d+:([^{}]*)\}", r"\1", text))


def test_snippets_are_read_without_a_problem_but_names_that_nothing_has(drysheath, tmp_path):
    office = tmp_path / "x.office"
    snippets = json.loads((EXTENSION / "snippets.json").read_text(encoding="utf-8"))
    head = 'office x { title "X", site "X01", elevation 120 m, stage planned }\n'
    office.write_text(head + "\n".join(inserted(snippet["body"]) for snippet in snippets.values()), encoding="utf-8")
    printed = subprocess.run([drysheath, "lint", "--output", "json", office], capture_output=True, text=True).stdout
    results = [(result["rule"], result["message"]) for result in json.loads(printed)["results"] if result["level"] != "note"]
    unnamed = {message.split("`")[1] for rule, message in results if rule == "name-unknown"}
    assert [result for result in results if result[0] != "name-unknown"] == []
    assert unnamed == {"mf", "tb", "pdf", "m1", "d1", "thing"}


@pytest.mark.parametrize("target", ["linux-x64", ""])
def test_a_program_comes_with_the_package(node, tmp_path, target):
    install(EXTENSION)
    program, file = tmp_path / "drysheath", tmp_path / "drysheath.vsix"
    program.write_text("#!/bin/sh\necho drysheath 9.9.9\n")
    done = subprocess.run([node, "scripts/package.mjs", file, program, target], cwd=EXTENSION, env=environment(), capture_output=True, text=True)
    assert done.returncode == 0, done.stdout + done.stderr
    with zipfile.ZipFile(file) as package:
        inside = package.getinfo("extension/server/drysheath")
        assert inside.external_attr >> 16 & 0o777 == 0o755
        manifest = package.read("extension.vsixmanifest").decode()
    assert ('TargetPlatform="linux-x64"' in manifest) == bool(target), manifest
