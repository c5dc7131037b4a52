"""Emacs and Eglot, with the file of editors/emacs and no other. What a user does is in eglot-test.el.

Emacs is installed where this runs as root on a Debian. Elsewhere these tests are left out, and say so; where CI is set they fail.
"""

import os
import pathlib
import re
import shutil
import subprocess

import pytest
from client import HERE, ROOT
from harness.debian import ensure

TESTS = re.findall(r"^\(ert-deftest (\S+)", (HERE / "eglot-test.el").read_text(encoding="utf-8"), re.MULTILINE)
# It may have to be installed first, once.
pytestmark = pytest.mark.xdist_group("emacs")
HAS_EGLOT = ["emacs", "--batch", "--eval", "(progn (require 'package) (package-activate-all) (require 'eglot))"]


def is_there():
    return shutil.which("emacs") and subprocess.run(HAS_EGLOT, capture_output=True).returncode == 0


@pytest.fixture(scope="session")
def emacs():
    ensure("emacs-nox elpa-eglot", is_there)
    return "emacs"


@pytest.mark.parametrize("name", TESTS)
def test_emacs(emacs, on_path, tmp_path, name):
    faults = pathlib.Path(shutil.copytree(ROOT / "tests" / "faults", tmp_path / "faults", symlinks=True))
    environment = {
        **os.environ,
        "PATH": f"{on_path}{os.pathsep}{os.environ['PATH']}",
        "FAULTS": str(faults),
        "HOME": str(tmp_path),
        "LC_ALL": "C.UTF-8",
    }
    command = [emacs, "--batch", "-L", str(ROOT / "editors" / "emacs"), "-l", str(HERE / "eglot-test.el")]
    run = [*command, "--eval", f"(ert-run-tests-batch-and-exit '(member {name}))"]
    done = subprocess.run(run, env=environment, capture_output=True, text=True, encoding="utf-8", timeout=120)
    assert done.returncode == 0, done.stderr[-4000:]
    assert "1 results as expected, 0 unexpected" in done.stderr, done.stderr[-2000:]
