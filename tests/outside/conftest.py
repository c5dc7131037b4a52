"""Our figures: those of offices as `drysheath predict` prints them, and those that it does not print as an example binary of the
engineering room prints them.

DRYSHEATH may name the command and DRYSHEATH_FIGURES the example; without them they are built.
"""

import gc
import json
import os
import subprocess

import pytest
from harness.command import ROOT, build
from xdist.scheduler import LoadFileScheduling

# The matrices are small: threads of the algebra library only wait for each other, on a busy machine for minutes.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
os.environ.setdefault("OMP_NUM_THREADS", "1")


def pytest_configure(config):
    build(config, {"drysheath": "DRYSHEATH", "figures": "DRYSHEATH_FIGURES"})


TOGETHER = {
    **dict.fromkeys(["test_decay.py", "test_moisture.py", "test_standard.py"], "CoolProp"),
    **dict.fromkeys(["test_release.py", "test_start.py"], "JSON Schema in Python"),
}
"""Files that one worker checks, since they use a library that takes seconds to load."""


class Files(LoadFileScheduling):
    """A file at a time on each worker, and some of them together."""

    def _split_scope(self, nodeid):
        file = super()._split_scope(nodeid)
        return TOGETHER.get(file, file)


def pytest_xdist_make_scheduler(config, log):
    return Files(config, log)


def pytest_collection_finish():
    # The libraries stay: to look through them again and again for what is no longer used takes seconds.
    gc.freeze()


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
