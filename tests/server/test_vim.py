"""Vim with the files of editors/vim, which are copied as the page says, in an empty home folder."""

import json
import os
import shutil
import subprocess

import pytest
from client import ROOT
from harness.debian import ensure

PATIENCE = 60


@pytest.fixture(scope="session")
def vim():
    ensure("vim", lambda: shutil.which("vim"))
    return shutil.which("vim")


@pytest.mark.parametrize("folder", ["plain", "with a blank"])
def test_make_fills_the_list_of_results(vim, tmp_path, on_path, folder):
    home = tmp_path / "home"
    home.mkdir()
    page = (ROOT / "editors" / "README.md").read_text(encoding="utf-8")
    steps = page.split("## Vim", 1)[1].split("```sh\n", 1)[1].split("```", 1)[0]
    environment = {**os.environ, "HOME": str(home), "PATH": f"{on_path}{os.pathsep}{os.environ['PATH']}", "LC_ALL": "C.UTF-8"}
    subprocess.run(["sh", "-eu", "-c", steps], cwd=ROOT, env=environment, check=True)
    faults = tmp_path / folder
    shutil.copytree(ROOT / "tests" / "faults", faults, symlinks=True)
    file = faults / "pairs" / "pair-assigned-twice.office"
    found = tmp_path / "found"
    commands = [
        "filetype plugin on",
        "syntax on",
        f"edit {str(file).replace(' ', chr(92) + ' ')}",
        "silent make!",
        "let list = map(filter(getqflist(), 'v:val.valid'), '[bufname(v:val.bufnr), v:val.lnum, v:val.col, v:val.type, v:val.text]')",
        f"call writefile([json_encode([list, b:current_syntax])], '{found}')",
        "qall!",
    ]
    command = [vim, "-N", "-i", "NONE", "-es", *(word for one in commands for word in ("-c", one))]
    subprocess.run(command, env=environment, capture_output=True, timeout=PATIENCE, cwd=tmp_path)
    assert found.exists(), "Vim ended early"
    list_, syntax = json.loads(found.read_text(encoding="utf-8"))
    assert syntax == "office"
    assert len(list_) == 1, list_
    name, line, column, level, text = list_[0]
    assert name.endswith("pair-assigned-twice.office") and (line, column, level.lower()) == (50, 52, "e"), list_
    assert text.startswith("pair 3 of `tb` already carries another signal"), text
