"""What `drysheath start` writes for other programs, and the hooks that this repository offers, in the eyes of those programs."""

import os
import pathlib
import subprocess
import sys

import pytest

from conftest import ROOT

SCHEMAS = {".github/workflows/offices.yml": "vendor.github-workflows", ".gitlab-ci.yml": "vendor.gitlab-ci"}


@pytest.fixture
def started(drysheath, tmp_path):
    drysheath("start", tmp_path / "new")
    return tmp_path / "new"


@pytest.mark.parametrize("path", SCHEMAS)
def test_steps(path, started):
    words = [sys.executable, "-m", "check_jsonschema", "--builtin-schema", SCHEMAS[path], started / path]
    checked = subprocess.run(words, capture_output=True, text=True)
    assert checked.returncode == 0, checked.stdout + checked.stderr


def pre_commit(*words, cwd, command, home):
    here = pathlib.Path(command).resolve().parent
    environment = {
        **os.environ,
        "PATH": f"{here}{os.pathsep}{os.environ['PATH']}",
        "PRE_COMMIT_HOME": str(home),
    }
    return subprocess.run(
        [sys.executable, "-m", "pre_commit", *words], cwd=cwd, env=environment, capture_output=True, text=True
    )


def test_hooks_of_a_new_repository(started, command, tmp_path):
    for words in (["init", "--quiet"], ["add", "."]):
        subprocess.run(["git", *words], cwd=started, check=True)
    run = lambda: pre_commit("run", "--all-files", cwd=started, command=command, home=tmp_path / "home")
    passed = run()
    assert passed.returncode == 0 and passed.stdout.count("Passed") == 2, passed.stdout + passed.stderr
    office = started / "offices/elm-hollow.office"
    office.write_text(office.read_text(encoding="utf-8").replace("tb pair 3 ", "tb pair 2 "), encoding="utf-8")
    failed = run()
    assert failed.returncode == 1 and "pair-assigned-twice" in failed.stdout, failed.stdout + failed.stderr


def test_hooks_on_offer(command, tmp_path):
    manifest = ROOT / ".pre-commit-hooks.yaml"
    checked = pre_commit("validate-manifest", manifest, cwd=tmp_path, command=command, home=tmp_path / "home")
    assert checked.returncode == 0, checked.stdout
