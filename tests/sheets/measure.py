"""How long the index of 20,000 offices takes to open, until its free text is there, and to answer a key press. Figures, no test.

    PYTHONPATH=.. python measure.py FOLDER

FOLDER is one that `drysheath sheets tests/county --to FOLDER` has written.
"""

import pathlib
import sys
import tempfile
import time

from playwright.sync_api import sync_playwright

from browsing import focus
from harness.browser import launched
from test_index import many, names, until

county = pathlib.Path(sys.argv[1])
with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
    made = many(county, pathlib.Path(folder) / "many", 20_000)
    page = launched(playwright).new_page()
    start = time.perf_counter()
    page.goto((made / "index.html").as_uri(), wait_until="commit")
    until(page, "document.getElementById('count')?.textContent.startsWith('20000')")
    print(f"open          {time.perf_counter() - start:.2f} s")
    until(page, "document.getElementById('texts')?.textContent === ''")
    print(f"free text     {time.perf_counter() - start:.2f} s")
    focus(page, "search")
    for word in ("office 1999", "needle-9", "zzzz"):
        page.keyboard.press("Control+A")
        start = time.perf_counter()
        page.keyboard.insert_text(word)
        found = names(page)
        print(f"search        {time.perf_counter() - start:.2f} s for {word!r}: {len(found)} shown")
