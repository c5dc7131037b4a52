"""The program under test, built once for all suites."""

import json
import os
import pathlib
import subprocess

ROOT = pathlib.Path(__file__).resolve().parents[2]

BUILD = ["cargo", "build", "--quiet", "--workspace", "--bin", "drysheath", "--example", "figures"]
"""What builds the programs as the Rust tests build them. With less named, Cargo would choose other features of the libraries and build
all of them once more."""


def build(config, wanted={"drysheath": "DRYSHEATH"}):
    """Builds the programs that no variable of the environment names, and names them there; for `pytest_configure`, which runs before
    any worker starts."""
    missing = {name: variable for name, variable in wanted.items() if variable not in os.environ}
    if not missing or config.option.collectonly:
        return
    built = subprocess.run([*BUILD, "--message-format", "json"], cwd=ROOT, check=True, stdout=subprocess.PIPE).stdout
    for one in map(json.loads, built.splitlines()):
        name = one.get("target", {}).get("name")
        if name in missing and one["executable"]:
            os.environ[missing[name]] = one["executable"]
