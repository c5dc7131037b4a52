"""The extension in VS Code: what a user does, by the keys and clicks of a user, and what is then to be seen."""

import json
import os
import pathlib
import shlex
import shutil
import signal
import statistics
import subprocess
import time

import pytest

from conftest import CACHE, HERE, ROOT, chromium
from editor import MODIFIER, PATIENCE, Host, Window

PICTURES = os.environ.get("PICTURES")
"""A folder for pictures of what is seen, for whoever wants to look."""

SETTINGS = {
    "workbench.startupEditor": "none",
    "security.workspace.trust.enabled": False,
    "telemetry.telemetryLevel": "off",
    "extensions.autoCheckUpdates": False,
    "window.confirmBeforeClose": "never",
    "workbench.enableExperiments": False,
    "editor.minimap.enabled": False,
    "chat.disableAIFeatures": True,
    "workbench.secondarySideBar.defaultVisibility": "hidden",
}
LIMIT_FLUID = 1.0
"""Seconds from a key to its squiggle, in the browser, at the median, on a machine that does other things too."""


@pytest.fixture(scope="module")
def host(node, package, drysheath, tmp_path_factory):
    folder = tmp_path_factory.mktemp("host")
    programs = folder / "bin"
    programs.mkdir()
    (programs / "drysheath").symlink_to(drysheath)
    host = Host(node, HERE / "node_modules" / "code-server" / "out" / "node" / "entry.js", folder, programs)
    host.settings.parent.mkdir(parents=True)
    host.settings.write_text(json.dumps(SETTINGS))
    host.install(package)
    host.start()
    yield host
    host.close()


@pytest.fixture(scope="module")
def browser():
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        # The sandbox wants rights that a container does not have; what is opened is the editor and our own files.
        started = playwright.chromium.launch(executable_path=chromium(), args=["--no-sandbox"])
        yield started
        started.close()


@pytest.fixture(scope="module")
def page(browser):
    page = browser.new_page(viewport={"width": 1500, "height": 950})
    page.set_default_timeout(PATIENCE * 1000)
    yield page
    page.close()


@pytest.fixture
def window(page, request):
    window = Window(page)
    yield window
    if PICTURES:
        pathlib.Path(PICTURES).mkdir(parents=True, exist_ok=True)
        page.screenshot(path=f"{PICTURES}/{request.node.name}.png")


@pytest.fixture
def faults(tmp_path):
    return pathlib.Path(shutil.copytree(ROOT / "tests" / "faults", tmp_path / "faults", symlinks=True))


@pytest.fixture
def county(tmp_path):
    return pathlib.Path(shutil.copytree(ROOT / "tests" / "county", tmp_path / "county"))


def at(file, text, inside=0):
    """Line and column of the only place that reads so."""
    whole = file.read_text()
    assert whole.count(text) == 1, text
    start = whole.index(text) + inside
    return whole.count("\n", 0, start) + 1, start - (whole.rfind("\n", 0, start) + 1) + 1


def saved(window, file, wanted):
    """Saves, and waits until the file on the disk is as wanted."""
    window.keys(f"{MODIFIER}+s")
    Host.wait(lambda: wanted(file.read_text()), f"{file.name} was not saved as expected: {file.read_text()}")


def test_a_doubled_pair_is_seen_mended_and_gone(window, host, faults):
    file = faults / "pairs" / "pair-assigned-twice.office"
    window.open(host.address(faults, file), file.name)
    window.shows_errors(True)
    assert "error" in window.page.locator("#drysheath\\.drysheath\\.drysheath\\.office, [id*='drysheath.office']").first.inner_text()
    window.go(*at(file, "tb pair 3        -> m1 sensor 4"))
    window.keys(f"{MODIFIER}+.")
    window.page.locator(".action-widget .monaco-list-row").first.wait_for()
    window.keys("Enter")
    window.shows_errors(False)
    saved(window, file, lambda text: "tb pair 4        -> m1 sensor 4" in text and "spare tb pair 5 .. 20" in text)


def test_a_cable_shows_its_pressure_as_a_picture(window, host, county):
    file = county / "offices" / "ashlar-cross.office"
    window.open(host.address(county, file), file.name)
    window.page.locator("[id*='drysheath.office']").first.wait_for()
    window.go(*at(file, "cable c1 {", len("cable ")))
    picture = window.hover().locator("img[src^='data:image/svg+xml']")
    picture.wait_for()
    Host.wait(lambda: picture.evaluate("one => one.naturalWidth") > 100, "the picture is not drawn")
    window.keys("Escape")


def test_the_next_free_pair_is_completed(window, host, faults):
    file = faults / "clean.office"
    window.open(host.address(faults, file), file.name)
    window.page.locator("[id*='drysheath.office']").first.wait_for()
    window.go(*at(file, "tb pair 4        -> m1 sensor 4"))
    window.keys("Shift+End", "Delete")
    window.type("tb pair ")
    window.shows_errors(True)
    window.keys(f"{MODIFIER}+Space")
    first = window.page.locator(".suggest-widget .monaco-list-row").first
    first.wait_for()
    assert first.inner_text().split()[0] == "4", first.inner_text()
    window.keys("Enter")
    window.type(" -> m1 sensor 4")
    window.keys("Escape")
    window.shows_errors(False)
    saved(window, file, lambda text: "-> tb pair 4 -> m1 sensor 4\n" in text)


def test_a_part_is_renamed_in_all_files_and_laid_out_when_saved(window, host, faults):
    file = faults / "clean.office"
    window.open(host.address(faults, file), file.name)
    window.page.locator("[id*='drysheath.office']").first.wait_for()
    window.go(*at(file, ": watcher", 3))
    window.keys("F2")
    box = window.page.locator(".rename-box input")
    box.wait_for()
    box.fill("observer")
    window.keys("Enter")
    window.page.locator(".rename-box input").wait_for(state="hidden")
    Host.wait(lambda: window.page.locator(".tab.dirty").count() > 0, "nothing was renamed")
    window.command("File: Save All Files")
    kit = faults / "parts" / "kit.office"
    Host.wait(lambda: "part monitor observer" in kit.read_text(), "the file of parts was not changed")
    assert ": observer" in file.read_text()
    host.settings.write_text(json.dumps({**SETTINGS, "editor.formatOnSave": True}))
    wanted = file.read_text()
    window.go(*at(file, ": observer"))
    window.type("    ")
    saved(window, file, lambda text: text == wanted)
    host.settings.write_text(json.dumps(SETTINGS))


def test_the_sheet_follows_an_edit_and_a_click(window, host, county):
    file = county / "offices" / "ashlar-cross.office"
    window.open(host.address(county, file), file.name)
    window.page.locator("[id*='drysheath.office']").first.wait_for()
    window.command("drysheath: Show the sheet beside the text")
    sheet = window.sheet()
    sheet.locator("section[data-id=air] svg").wait_for()
    ids = sheet.locator("section").evaluate_all("all => all.map(one => one.dataset.id)")
    assert ids[:4] == ["air", "wiring", "power", "ground"] and "pressure c1" in ids, ids
    # A click on a thing goes to its line.
    sheet.locator("[data-thing='r-pole']").first.click()
    line, _ = at(file, "regulator r-pole")
    Host.wait(lambda: window.place()[0] == line, f"the click did not lead to line {line}")
    Host.wait(lambda: sheet.locator("[data-thing='r-pole'].here").count() > 0, "the thing at the cursor is not marked")
    # An edit is drawn.
    window.go(*at(file, "set 6 psi", len("set ")))
    before = sheet.locator("section[data-id=air]").get_attribute("data-svg")
    window.keys("Delete")
    window.type("5")
    Host.wait(lambda: sheet.locator("section[data-id=air]").get_attribute("data-svg") != before, "the edit is not drawn")
    assert "set 5 psi" in sheet.locator("section[data-id=air]").inner_text().replace("\u00a0", " ")
    policy = sheet.locator("meta[http-equiv]").get_attribute("content")
    assert policy.startswith("default-src 'none'") and "unsafe" not in policy and "http" not in policy


def test_a_server_that_was_killed_starts_again(window, host, faults):
    file = faults / "pairs" / "pair-assigned-twice.office"
    window.open(host.address(faults, file), file.name)
    window.shows_errors(True)
    before = host.servers()
    assert before
    for process in before:
        os.kill(process, signal.SIGKILL)
    Host.wait(lambda: [one for one in host.servers() if one not in before], "no server was started")
    window.shows_errors(True)
    # And on request.
    again = host.servers()
    window.command("drysheath: Restart the language server")
    Host.wait(lambda: [one for one in host.servers() if one not in again], "no server was started")
    window.shows_errors(True)


def test_a_wrong_program_is_said_plainly(window, host, faults, tmp_path):
    file = faults / "clean.office"
    window.open(host.address(faults, file), file.name)
    wrong = tmp_path / "nothing"
    host.settings.write_text(json.dumps({**SETTINGS, "drysheath.path": str(wrong)}))
    said = f"The setting drysheath.path names {wrong}, which cannot be run: there is no such file"
    Host.wait(lambda: any(said in one for one in window.notifications()), "nothing was said")
    toast = window.page.locator(".notification-toast").filter(has_text="drysheath.path")
    assert toast.get_by_role("button", name="Open the setting").count() == 1
    assert toast.get_by_role("button", name="How to get drysheath").count() == 1
    host.settings.write_text(json.dumps(SETTINGS))
    window.page.locator("[id*='drysheath.office']").first.wait_for()


def test_a_county_of_two_thousand_stays_fluid(window, host, tmp_path):
    county = tmp_path / "large"
    xtask = ["cargo", "run", "--quiet", "--package", "drysheath-xtask", "--", "county", "--offices", "2000", str(county)]
    subprocess.run(xtask, cwd=ROOT, check=True)
    file = sorted((county).rglob("*.office"), key=lambda path: ("part" in str(path), str(path)))[0]
    window.open(host.address(county, file), file.name)
    window.page.locator("[id*='drysheath.office']").first.wait_for()
    line = next(number for number, text in enumerate(file.read_text().split("\n"), 1) if text.startswith("spare "))
    window.go(line, 1)
    times = []
    for _ in range(10):
        start = time.perf_counter()
        window.type("x")
        window.page.locator(".squiggly-error").first.wait_for()
        times.append(time.perf_counter() - start)
        window.keys("Backspace")
        window.shows_errors(False)
    print(f"key to squiggle: median {statistics.median(times):.3f} s, most {max(times):.3f} s")
    assert statistics.median(times) < LIMIT_FLUID, times
