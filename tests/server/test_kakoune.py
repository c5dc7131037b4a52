"""Kakoune with kak-lsp, set up as its page says in an empty home folder, and driven by keys in a terminal. On request: its client is built from
source, which takes minutes."""

import os
import pathlib
import shutil
import subprocess
import time

import pytest
from client import HERE, ROOT
from harness.debian import ensure
from terminal import Terminal

PATIENCE = 60
CLIENT = "22.0.0"
pytestmark = [pytest.mark.on_request, pytest.mark.xdist_group("display")]


@pytest.fixture(scope="session")
def client():
    """The folder that has kak-lsp."""
    ensure("kakoune tmux", lambda: shutil.which("kak") and shutil.which("tmux"))
    folder = HERE / ".cache" / f"kak-lsp-{CLIENT}"
    if not (folder / "bin" / "kak-lsp").exists():
        subprocess.run(["cargo", "install", "--quiet", "--locked", "kak-lsp", "--version", CLIENT, "--root", str(folder)], cwd=HERE, check=True)
    return folder / "bin"


@pytest.fixture
def home(tmp_path):
    """A home folder with what the page has for `kakrc`."""
    page = (ROOT / "editors" / "kakoune" / "README.md").read_text(encoding="utf-8")
    (settings,) = [piece.split("```", 1)[0] for piece in page.split("```kak\n")[1:]]
    home = tmp_path / "home"
    kakrc = home / ".config" / "kak" / "kakrc"
    kakrc.parent.mkdir(parents=True)
    kakrc.write_text(settings, encoding="utf-8")
    (home / "run").mkdir(mode=0o700)
    return home


@pytest.fixture
def terminal(client, home, on_path, tmp_path):
    faults = pathlib.Path(shutil.copytree(ROOT / "tests" / "faults", tmp_path / "faults", symlinks=True))
    path = os.pathsep.join(map(str, (on_path, client, os.environ["PATH"])))
    environment = {**os.environ, "HOME": str(home), "XDG_RUNTIME_DIR": str(home / "run"), "PATH": path, "TERM": "xterm-256color", "LC_ALL": "C.UTF-8"}
    for name in ("XDG_CONFIG_HOME", "TMUX"):
        environment.pop(name, None)
    file = faults / "pairs" / "pair-assigned-twice.office"
    terminal = Terminal(environment, "kak", str(file), "+50:52")
    terminal.file = file
    yield terminal
    terminal.runs("kill-server")


def saved_after(terminal, action, wanted):
    """Takes an action of the menu, waits for what it writes, and gives the file as it is then saved."""
    before = terminal.file.read_text(encoding="utf-8")
    terminal.keys(":lsp-code-actions", "Enter")
    terminal.shows(action)
    terminal.type(action)
    terminal.keys("Enter")
    terminal.shows(wanted)
    terminal.keys(":w", "Enter")
    end = time.monotonic() + PATIENCE
    while (text := terminal.file.read_text(encoding="utf-8")) == before:
        assert time.monotonic() < end, "nothing was saved"
        time.sleep(0.1)
    return text


def test_its_page_leads_from_an_empty_home_folder_to_a_fix(terminal):
    before = terminal.file.read_text(encoding="utf-8")
    # The line with the result is marked beside its number.
    terminal.shows("*wire ps2")
    terminal.keys(":lsp-hover", "Enter")
    terminal.shows("pair 3 of `tb` already carries another signal")
    terminal.shows("21 of 25 pairs free")
    # A key right behind Escape would be one with Alt.
    terminal.keys("Escape")
    time.sleep(1)
    after = saved_after(terminal, "Use `tb pair 4`, which is free", "-> tb pair 4        -> m1 sensor 4")
    assert after == before.replace("tb pair 3        -> m1 sensor 4", "tb pair 4        -> m1 sensor 4").replace("spare tb pair 4 .. 20", "spare tb pair 5 .. 20")


def test_what_is_added_at_the_end_has_its_own_line(terminal):
    before = terminal.file.read_text(encoding="utf-8")
    terminal.shows("*wire ps2")
    after = saved_after(terminal, "Accept pair-assigned-twice on `tb`, with a reason", "accept pair-assigned-twice on tb")
    assert after.startswith(before) and after.removeprefix(before).startswith("accept pair-assigned-twice on tb because")
