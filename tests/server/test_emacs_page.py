"""Emacs set up as its page says in an empty home folder, in a terminal, driven by the keys of the page."""

import os
import shutil
import subprocess
import time

import pytest
from client import ROOT
from harness.debian import ensure
from terminal import PATIENCE, Terminal
from test_emacs import is_there

# It may have to be installed first, once.
pytestmark = pytest.mark.xdist_group("emacs")
# An Emacs that compiles its own libraries at the first start of a user would show what it thinks of them, over everything else, and take
# more time for them than for the test.
QUIET = "(setq native-comp-deferred-compilation nil native-comp-jit-compilation nil native-comp-async-report-warnings-errors nil)"
PAGE = ROOT / "editors" / "emacs" / "README.md"


def blocks(language):
    return [piece.split("```", 1)[0] for piece in PAGE.read_text(encoding="utf-8").split(f"```{language}\n")[1:]]


@pytest.fixture(scope="session")
def installed():
    ensure("emacs-nox elpa-eglot tmux", lambda: is_there() and shutil.which("tmux"))


@pytest.fixture
def emacs(installed, tmp_path, on_path):
    """Starts Emacs with some blocks of the page in its init file."""
    home = tmp_path / "home"
    home.mkdir()
    path = f"{on_path}{os.pathsep}{os.environ['PATH']}"
    environment = {**os.environ, "HOME": str(home), "PATH": path, "TERM": "xterm-256color", "LC_ALL": "C.UTF-8"}
    for name in ("XDG_CONFIG_HOME", "TMUX"):
        environment.pop(name, None)
    subprocess.run(["sh", "-eu", "-c", blocks("sh")[0]], cwd=ROOT, env=environment, check=True)
    started = []

    def run(file, *init):
        (home / ".emacs.d" / "init.el").write_text("\n".join(init), encoding="utf-8")
        (home / ".emacs.d" / "early-init.el").write_text(QUIET, encoding="utf-8")
        started.append(Terminal(environment, "emacs", "-nw", str(file)))
        return started[-1]

    yield run
    for terminal in started:
        terminal.runs("kill-server")


def command(terminal, name):
    terminal.keys("M-x")
    terminal.shows("\nM-x")
    terminal.type(name)
    terminal.keys("Enter")


def test_an_office_is_opened_and_the_results_are_there(emacs, faults):
    terminal = emacs(faults / "pairs" / "pair-assigned-twice.office", blocks("elisp")[0])
    terminal.shows("(Office Flymake[1 0]")
    command(terminal, "flymake-show-buffer-diagnostics")
    terminal.shows("*Flymake diagnostics")
    terminal.keys("C-x", "o", "C-x", "1")
    terminal.shows("pair 3 of `tb` already carries another signal")


def test_what_a_sensor_should_read_is_in_the_echo_area(emacs, faults):
    terminal = emacs(faults / "clean.office", blocks("elisp")[0])
    terminal.shows("(Office Flymake[0 0]")
    terminal.keys("C-s")
    terminal.type("wire ps1")
    terminal.keys("Enter", "C-b")
    terminal.shows("should read 9.1 psi")


def test_a_file_is_laid_out_whenever_it_is_saved(emacs, faults, program):
    file = faults / "clean.office"
    first, saving, *_ = blocks("elisp")
    terminal = emacs(file, first, saving)
    terminal.shows("(Office Flymake[0 0]")
    before = file.read_text(encoding="utf-8")
    terminal.keys("M->")
    terminal.type("    joint   j1   {}")
    terminal.keys("Enter")
    terminal.keys("C-x", "C-s")
    end = time.monotonic() + PATIENCE
    while (saved := file.read_text(encoding="utf-8")) == before:
        assert time.monotonic() < end, "it was not saved"
        time.sleep(0.1)
    arguments = [str(program), "format", "-"]
    text = before + "    joint   j1   {}\n"
    laid_out = subprocess.run(arguments, input=text, capture_output=True, text=True, encoding="utf-8", check=True).stdout
    assert saved == laid_out != text
