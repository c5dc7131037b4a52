"""One session of the real editor in a real browser, which all tests share.

DRYSHEATH may name the command and CHROMIUM the browser. PICTURES may name a folder for pictures of what is seen, for whoever wants to
look.
"""

import os
import pathlib
import shutil
import subprocess

import pytest
from harness.browser import browser  # noqa: F401 (a fixture)
from harness.command import ROOT, build

import installing
from editor import PATIENCE, Host, Window

SOURCES = {"faults": ["air", "grounds", "hand-over", "language", "power", "records", "regulators", "spans", "borrowed.office"], "county": []}
"""What tests ask for a copy of, and what of it none of them opens: folders, and a link that leads out of it."""


def pytest_configure(config):
    build(config)


def pytest_collection_modifyitems(items):
    # One that opens the window anew leaves it with another folder, so that the next would have to open it once more.
    items.sort(key=lambda item: item.get_closest_marker("opens_anew") is not None)


@pytest.fixture(scope="session")
def drysheath():
    return os.environ["DRYSHEATH"]


@pytest.fixture(scope="session")
def node():
    """Node, with what the tests of colours use."""
    installing.install(installing.HERE)
    return installing.node()


@pytest.fixture(scope="session")
def host(drysheath, tmp_path_factory):
    folder = tmp_path_factory.mktemp("host")
    installing.package(folder / "drysheath.vsix")
    host = Host(installing.editor(), folder, drysheath)
    host.install(folder / "drysheath.vsix")
    host.start()
    yield host
    host.close()


@pytest.fixture(scope="session")
def copies(request, tmp_path_factory):
    """The folder that the window has open, on a branch of git: for each test a folder of its own name, with copies of what it asks for. All of
    them are made before the window opens, so that no test waits until the editor has seen its files."""
    folder = tmp_path_factory.mktemp("copies")
    for item in request.session.items:
        for name, left_out in SOURCES.items():
            if name in item.fixturenames:
                ignored = shutil.ignore_patterns(*left_out)
                shutil.copytree(ROOT / "tests" / name, folder / item.name / name, symlinks=True, ignore=ignored)
    git = ["git", "-c", "user.name=Test", "-c", "user.email=test@example.com", "-c", "init.defaultBranch=main"]
    for words in (["init", "--quiet"], ["add", "."], ["commit", "--quiet", "--message", "As it is"], ["switch", "--quiet", "--create", "change"]):
        subprocess.run([*git, *words], cwd=folder, check=True)
    return folder


@pytest.fixture
def faults(copies, request):
    return copies / request.node.name / "faults"


@pytest.fixture
def county(copies, request):
    return copies / request.node.name / "county"


@pytest.fixture(scope="session")
def shared_window(browser, host, copies):
    # What is drawn is drawn by the processor: the smaller, the quicker.
    page = browser.new_page(viewport={"width": 1200, "height": 760})
    page.set_default_timeout(PATIENCE * 1000)
    yield Window(page, host, copies)
    page.close()


@pytest.fixture
def window(shared_window, request):
    yield shared_window
    if folder := os.environ.get("PICTURES"):
        shared_window.page.screenshot(path=pathlib.Path(folder) / f"{request.node.name}.png")
    shared_window.clear()
