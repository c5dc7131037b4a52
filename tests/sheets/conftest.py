"""The command under test, a browser, and the sheets that all tests look at.

DRYSHEATH may name the command and CHROMIUM the browser.
"""

import os
import pathlib
import subprocess

import pytest
from harness.browser import browser  # noqa: F401 (a fixture)
from harness.command import ROOT, build
from harness.debian import npm

import offices
from browsing import Tabs

HERE = pathlib.Path(__file__).resolve().parent
DAY = "2026-11-29"


def pytest_configure(config):
    build(config)


def run(*arguments, cwd=ROOT):
    done = subprocess.run([os.environ["DRYSHEATH"], *map(str, arguments)], cwd=cwd, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    return done.stdout


@pytest.fixture(scope="session")
def tabs(browser):
    return Tabs(browser)


@pytest.fixture(scope="session")
def axe():
    """The checker of accessibility, installed by its lock file."""
    source = HERE / "node_modules/axe-core/axe.min.js"
    if not source.exists():
        subprocess.run([npm(), "ci", "--silent", "--no-audit", "--no-fund", "--ignore-scripts"], cwd=HERE, check=True)
    return source.read_text(encoding="utf-8")


@pytest.fixture(scope="session")
def county(tmp_path_factory):
    """The sheets of the county and of the example office."""
    folder = tmp_path_factory.mktemp("county")
    run("sheets", "tests/county", "grammar/example.office", "--to", folder, "--today", DAY)
    return folder


@pytest.fixture(scope="session")
def generated(tmp_path_factory):
    """The sheets of large offices, of one with texts that are made to do harm, and a work order."""
    folder = tmp_path_factory.mktemp("generated")
    for name, text in offices.ALL.items():
        (folder / f"{name}.office").write_text(text, encoding="utf-8")
    run("sheets", folder, "--to", folder / "sheets", "--today", DAY)
    return folder / "sheets"


@pytest.fixture(scope="session")
def order(tmp_path_factory):
    """A work order: the example office with a sensor more, one less and a pair moved."""
    folder = tmp_path_factory.mktemp("order")
    office = folder / "elm.office"
    git = ["git", "-C", folder, "-c", "user.name=A", "-c", "user.email=a@example.org"]
    office.write_text((ROOT / "grammar/example.office").read_text(encoding="utf-8"), encoding="utf-8")
    subprocess.run([*git, "init", "--quiet"], check=True)
    subprocess.run([*git, "add", "elm.office"], check=True)
    subprocess.run([*git, "commit", "--quiet", "--message", "as it is"], check=True)
    office.write_text(offices.changed(office.read_text(encoding="utf-8")), encoding="utf-8")
    run("sheets", ".", "--to", folder / "sheets", "--today", DAY, "--since", "HEAD", cwd=folder)
    return folder / "sheets" / "elm.html"
