"""One session of the real editor in a real browser, which all tests share.

DRYSHEATH may name the command and CHROMIUM the browser. PICTURES may name a folder for pictures of what is seen, for whoever wants to
look.
"""

import os
import pathlib

import pytest
from harness.browser import browser  # noqa: F401 (a fixture)
from harness.command import build

import installing
from editor import PATIENCE, Host, Window


def pytest_configure(config):
    build(config)


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
def page(browser):
    page = browser.new_page(viewport={"width": 1500, "height": 950})
    page.set_default_timeout(PATIENCE * 1000)
    yield page
    page.close()


@pytest.fixture
def window(page, request):
    window = Window(page)
    yield window
    if folder := os.environ.get("PICTURES"):
        page.screenshot(path=pathlib.Path(folder) / f"{request.node.name}.png")
