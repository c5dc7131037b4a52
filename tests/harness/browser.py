"""The browser, started once for all tests of a suite."""

import os
import shutil

import pytest

from harness import debian


def chromium():
    """Where the browser is: CHROMIUM, or Debian's."""
    named = os.environ.get("CHROMIUM")
    if named:
        return named
    debian.ensure("chromium fonts-liberation", lambda: shutil.which("chromium"))
    return shutil.which("chromium")


def launched(playwright):
    """A running browser. Its sandbox wants rights that a container does not have; what is opened is written by the tests themselves."""
    return playwright.chromium.launch(executable_path=chromium(), args=["--no-sandbox"])


@pytest.fixture(scope="session")
def browser():
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        started = launched(playwright)
        yield started
        started.close()
