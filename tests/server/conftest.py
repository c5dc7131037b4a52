"""Fixtures of all suites: the program under test, copies of the county, and sessions that end with their test.

DRYSHEATH may name a program that is built already. DRYSHEATH_TRAFFIC may name a folder in which every session is recorded
(record.py), whichever client it is with.
"""

import os
import pathlib
import shlex
import shutil
import subprocess
import sys
import tempfile

import pytest
from client import HERE, ROOT, Client
from harness.command import build


def pytest_configure(config):
    build(config)


@pytest.fixture(scope="session")
def program():
    """The path of the drysheath under test."""
    return pathlib.Path(os.environ["DRYSHEATH"]).resolve()


@pytest.fixture(scope="session")
def command(program):
    """What starts the server."""
    if os.environ.get("DRYSHEATH_TRAFFIC"):
        return [sys.executable, str(HERE / "record.py"), str(program), "lsp"]
    return [str(program), "lsp"]


@pytest.fixture
def on_path(tmp_path, command, program):
    """A folder in which editors find `drysheath`."""
    folder = tmp_path / "bin"
    folder.mkdir()
    script = folder / "drysheath"
    words = " ".join(map(shlex.quote, command))
    # Only the server speaks in messages that can be recorded.
    script.write_text(f'#!/bin/sh\n[ "$1" = lsp ] && exec {words}\nexec {shlex.quote(str(program))} "$@"\n', encoding="utf-8")
    script.chmod(0o755)
    return folder


@pytest.fixture
def lint(program):
    """Lints a path, or a text that stands for one, and gives what is printed as JSON."""

    def run(path, text=None, cwd=None):
        arguments = [str(path)] if text is None else ["-", "--as", str(path)]
        done = subprocess.run(
            [str(program), "lint", "--output", "json", *arguments],
            input=text, capture_output=True, text=True, encoding="utf-8", cwd=cwd,
        )
        assert done.returncode in (0, 1), done.stderr
        return done.stdout

    return run


@pytest.fixture
def county(tmp_path):
    """A copy of the county to change things in."""
    return pathlib.Path(shutil.copytree(ROOT / "tests" / "county", tmp_path / "county"))


@pytest.fixture
def faults(tmp_path):
    """A copy of the faults."""
    return pathlib.Path(shutil.copytree(ROOT / "tests" / "faults", tmp_path / "faults", symlinks=True))


@pytest.fixture
def memory_path(tmp_path):
    """A folder in memory where there is one: disks take seconds for thousands of files."""
    memory = pathlib.Path("/dev/shm")
    if not os.access(memory, os.W_OK):
        yield tmp_path
        return
    with tempfile.TemporaryDirectory(dir=memory) as folder:
        yield pathlib.Path(folder)


@pytest.fixture
def start(command):
    """Starts servers, which end with the test."""
    started = []

    def run(**options):
        client = Client(command, **options)
        started.append(client)
        return client

    yield run
    for client in started:
        client.close()


@pytest.fixture
def session(start):
    """Starts a server and initializes it as a client would."""

    def run(name="neovim-0.7", root=None, **options):
        client = start()
        client.initialize(name, root, **options)
        return client

    return run
