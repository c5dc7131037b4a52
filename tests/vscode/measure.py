"""How long the editor takes from a key to its character, to its squiggle and to the sheet beside the text, in a browser, with a county of
2,000 offices. Figures, no test.

    PYTHONPATH=.. python measure.py DRYSHEATH COUNTY

COUNTY is one that `cargo xtask county --offices 2000 COUNTY` has written.
"""

import pathlib
import re
import statistics
import sys
import tempfile
import time

from harness.browser import launched
from playwright.sync_api import sync_playwright

import installing
from editor import PATIENCE, Host, Window

NOTES = """() => {
    const now = () => performance.timeOrigin + performance.now();
    window.noted = [];
    addEventListener('keydown', () => { window.pressed = now(); }, true);
    const shown = document.querySelector('%s');
    new MutationObserver(() => window.noted.push(now())).observe(shown, { subtree: true, childList: true, characterData: true });
}"""
"""Notes when a key is pressed and when something in a page changes, in milliseconds by the clock of the machine."""


def first_after(frame, since):
    """When something first changed in a page after a key."""
    while True:
        for moment in frame.evaluate("window.noted"):
            if moment > since:
                return moment
        time.sleep(0.01)


def told(name, times):
    times.sort()
    share = lambda part: times[min(len(times) - 1, int(part * len(times)))]
    print(f"{name}: median {share(0.5):.0f} ms, p90 {share(0.9):.0f} ms, most {times[-1]:.0f} ms, of {len(times)}")


def to_character_and_sheet(window, text):
    """A digit is put into a pressure that a regulator is set to, and taken out again."""
    window.command("drysheath: Show the sheet beside the text")
    window.sheet().locator("section[data-id=air] svg").wait_for()
    sheet = next(frame for frame in window.page.frames if frame.locator("section[data-id=air]").count())
    sheet.evaluate(NOTES % "#sheet")
    window.page.evaluate(NOTES % ".part.editor .view-lines")
    place = re.search(r"^.*\bset (?=\d)", text, re.MULTILINE)
    window.go(text.count("\n", 0, place.start()) + 1, len(place[0]) + 1)
    characters, drawings = [], []
    for number in range(60):
        # What the edit before has set off is over.
        time.sleep(1)
        window.keys("Backspace") if number % 2 else window.type("1")
        # To ask the page meanwhile would hold it up.
        time.sleep(0.5)
        pressed = window.page.evaluate("window.pressed")
        characters.append(first_after(window.page, pressed) - pressed)
        drawings.append(first_after(sheet, pressed) - pressed)
    told("key to character", characters)
    told("key to sheet", drawings)


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
        to_character_and_sheet(window, text)
        # The editor saves by itself, after a moment.
        Host.wait(lambda: file.read_text() == text, "the office was not left as it was")
    finally:
        host.close()
