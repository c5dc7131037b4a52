"""Our figures, as the example binaries of the engineering room print them.

DRYSHEATH_FIGURES may name a file that holds the figures already, and DRYSHEATH_NETWORK the program that solves networks; without
them the examples are built and run.
"""

import json
import os
import pathlib
import subprocess

import pytest

ROOT = pathlib.Path(__file__).resolve().parents[2]
EXAMPLE = ["cargo", "run", "-q", "-p", "drysheath-engineering", "--example"]


@pytest.fixture(scope="session")
def figures():
    ready = os.environ.get("DRYSHEATH_FIGURES")
    if ready:
        return json.loads(pathlib.Path(ready).read_text(encoding="utf-8"))
    run = subprocess.run([*EXAMPLE, "figures"], cwd=ROOT, check=True, stdout=subprocess.PIPE)
    return json.loads(run.stdout)


@pytest.fixture(scope="session")
def solve():
    """Solves a list of networks, in the form that crates/engineering/examples/network.rs describes."""
    ready = os.environ.get("DRYSHEATH_NETWORK")
    command = [ready] if ready else [*EXAMPLE, "network"]

    def run(networks):
        text = json.dumps(networks).encode()
        done = subprocess.run(command, cwd=ROOT, check=True, input=text, stdout=subprocess.PIPE)
        return json.loads(done.stdout)

    return run
