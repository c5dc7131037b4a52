"""Our figures: those of offices as `drysheath predict` prints them, and those that it does not print as an example binary of the
engineering room prints them.

DRYSHEATH may name the command and DRYSHEATH_FIGURES the example; without them they are built.
"""

import json
import os
import subprocess

import pytest
from harness.command import ROOT, build

# The matrices are small: threads of the algebra library only wait for each other, on a busy machine for minutes.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
os.environ.setdefault("OMP_NUM_THREADS", "1")


def pytest_configure(config):
    build(config, {"drysheath": "DRYSHEATH", "figures": "DRYSHEATH_FIGURES"})


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
