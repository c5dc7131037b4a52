"""Our figures: those of offices as `drysheath predict` prints them, and those that it does not print as an example binary of the
engineering room prints them.

DRYSHEATH may name the command and DRYSHEATH_FIGURES the example; without them they are built.
"""

import json
import os
import pathlib
import subprocess

import pytest

ROOT = pathlib.Path(__file__).resolve().parents[2]


BUILD = ["cargo", "build", "--quiet", "--workspace", "--bin", "drysheath", "--example", "figures"]
"""What builds both as the Rust tests build them. With less named, Cargo would choose other features of the libraries and build
all of them once more."""


def pytest_configure(config):
    """Builds what is not named, before any worker starts."""
    wanted = {"drysheath": "DRYSHEATH", "figures": "DRYSHEATH_FIGURES"}
    missing = {name: variable for name, variable in wanted.items() if variable not in os.environ}
    if not missing or config.option.collectonly:
        return
    built = subprocess.run([*BUILD, "--message-format", "json"], cwd=ROOT, check=True, stdout=subprocess.PIPE).stdout
    for one in map(json.loads, built.splitlines()):
        name = one.get("target", {}).get("name")
        if name in missing and one["executable"]:
            os.environ[missing[name]] = one["executable"]


@pytest.fixture(scope="session")
def figures():
    return json.loads(subprocess.run([os.environ["DRYSHEATH_FIGURES"]], check=True, stdout=subprocess.PIPE).stdout)


@pytest.fixture(scope="session")
def command():
    """Where the command is."""
    return os.environ["DRYSHEATH"]


@pytest.fixture(scope="session")
def drysheath(command):
    """Runs the command and gives what it prints."""

    def run(*arguments):
        return subprocess.run([command, *map(str, arguments)], cwd=ROOT, check=True, stdout=subprocess.PIPE).stdout

    return run


@pytest.fixture(scope="session")
def predict(drysheath, tmp_path_factory):
    """The records of offices given by their texts, in one run of the command. Nothing may be missing in them, nor fail."""

    def run(texts):
        folder = tmp_path_factory.mktemp("offices")
        (folder / "drysheath.toml").write_text("language = 1\n", encoding="utf-8")
        for number, text in enumerate(texts):
            (folder / f"{number:04}.office").write_text(text, encoding="utf-8")
        records = json.loads(drysheath("predict", folder, "--output", "json"))["offices"]
        assert len(records) == len(texts)
        for record, text in zip(records, texts):
            assert not record["missing"] and not record["failures"], (text, record["missing"], record["failures"])
        return records

    return run
