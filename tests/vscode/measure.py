"""How long the editor takes from a key to its squiggle, in a browser, with a county of 2,000 offices. Figures, no test.

    PYTHONPATH=.. python measure.py DRYSHEATH COUNTY

COUNTY is one that `cargo xtask county --offices 2000 COUNTY` has written.
"""

import pathlib
import statistics
import sys
import tempfile
import time

from harness.browser import launched
from playwright.sync_api import sync_playwright

import installing
from editor import PATIENCE, Host, Window

drysheath, county = sys.argv[1], pathlib.Path(sys.argv[2]).resolve()
with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
    package = pathlib.Path(folder) / "drysheath.vsix"
    installing.package(package)
    host = Host(installing.editor(), pathlib.Path(folder), drysheath)
    host.install(package)
    host.start()
    try:
        file = next(path for path in sorted(county.rglob("*.office")) if "\nspare " in path.read_text())
        page = launched(playwright).new_page(viewport={"width": 1500, "height": 950})
        page.set_default_timeout(PATIENCE * 1000)
        window = Window(page, host, county)
        start = time.perf_counter()
        window.open(county, file)
        window.status()
        print(f"open to first figures: {time.perf_counter() - start:.2f} s")
        text = file.read_text()
        window.go(text[: text.index("\nspare ") + 1].count("\n") + 1)
        times = []
        for _ in range(30):
            start = time.perf_counter()
            window.type("x")
            window.page.locator(".squiggly-error").first.wait_for()
            times.append(time.perf_counter() - start)
            window.keys("Backspace")
            window.shows_errors(False)
        times.sort()
        print(f"key to squiggle: median {statistics.median(times):.3f} s, p90 {times[26]:.3f} s, most {times[-1]:.3f} s, of {len(times)}")
    finally:
        host.close()
