"""The command under test, a browser, and the sheets that all tests look at.

DRYSHEATH may name the command and CHROMIUM the browser.
"""

import json
import os
import pathlib
import shutil
import subprocess

import pytest

import offices

HERE = pathlib.Path(__file__).resolve().parent
ROOT = HERE.parents[1]
DAY = "2026-11-29"

BUILD = ["cargo", "build", "--quiet", "--workspace", "--bin", "drysheath", "--example", "figures"]
"""What builds the command as the Rust tests build it. With less named, Cargo would choose other features of the libraries and build
all of them once more; the example stands for what only tests use."""


def pytest_configure(config):
    """Builds the command if none is named."""
    if "DRYSHEATH" not in os.environ and not config.option.collectonly:
        built = subprocess.run([*BUILD, "--message-format", "json"], cwd=ROOT, check=True, stdout=subprocess.PIPE).stdout
        made = [json.loads(line) for line in built.splitlines()]
        (os.environ["DRYSHEATH"],) = [one["executable"] for one in made if one.get("target", {}).get("name") == "drysheath" and one["executable"]]


def run(*arguments, cwd=ROOT):
    done = subprocess.run([os.environ["DRYSHEATH"], *map(str, arguments)], cwd=cwd, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    return done.stdout


def chromium():
    """Where the browser is; installed where that may be."""
    found = os.environ.get("CHROMIUM") or shutil.which("chromium")
    why = "Chromium is not installed (Debian: apt-get install --no-install-recommends chromium fonts-liberation)"
    if not found and shutil.which("apt-get") and os.geteuid() == 0:
        environment = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
        for words in (["update"], ["install", "--yes", "--no-install-recommends", "chromium", "fonts-liberation"]):
            done = subprocess.run(["apt-get", "--quiet", *words], env=environment, capture_output=True, text=True)
            why = f"Chromium cannot be installed: {done.stderr[-300:]}"
        found = shutil.which("chromium")
    if found:
        return found
    if os.environ.get("CI"):
        pytest.fail(why)
    pytest.skip(why)


@pytest.fixture(scope="session")
def browser():
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        # The sandbox wants rights that a container does not have; what is opened is written by the tests themselves.
        started = playwright.chromium.launch(executable_path=chromium(), args=["--no-sandbox"])
        yield started
        started.close()


@pytest.fixture(scope="session")
def axe():
    """The checker of accessibility, installed by its lock file."""
    source = HERE / "node_modules/axe-core/axe.min.js"
    if not source.exists():
        npm = shutil.which("npm")
        if not npm:
            pytest.fail("axe-core wants npm (Debian: apt-get install npm)")
        subprocess.run([npm, "ci", "--silent", "--no-audit", "--no-fund", "--ignore-scripts"], cwd=HERE, check=True)
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
