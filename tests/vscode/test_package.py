"""What the package of the extension says of itself."""

import json
import re
import subprocess

from harness.command import ROOT

from installing import EXTENSION

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
