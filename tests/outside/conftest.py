"""Our figures, as the example binary of the engineering room prints them.

DRYSHEATH_FIGURES may name a file that holds them already; without it the example is built and run.
"""

import json
import os
import pathlib
import subprocess

import pytest

ROOT = pathlib.Path(__file__).resolve().parents[2]
EXAMPLE = ["cargo", "run", "-q", "-p", "drysheath-engineering", "--example", "figures"]


@pytest.fixture(scope="session")
def figures():
    ready = os.environ.get("DRYSHEATH_FIGURES")
    if ready:
        return json.loads(pathlib.Path(ready).read_text(encoding="utf-8"))
    run = subprocess.run(EXAMPLE, cwd=ROOT, check=True, stdout=subprocess.PIPE)
    return json.loads(run.stdout)
