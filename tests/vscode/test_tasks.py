"""The tasks of the extension with their problem matcher, and its walkthrough, as a user meets them."""

import json
import pathlib
import re
import shutil
import subprocess

import pytest
from harness.command import ROOT
from playwright.sync_api import Error

from editor import Host
from installing import EXTENSION

MANIFEST = json.loads((EXTENSION / "package.json").read_text(encoding="utf-8"))
STEPS = {step["title"]: step["media"]["markdown"] for step in MANIFEST["contributes"]["walkthroughs"][0]["steps"]}


@pytest.fixture
def all_faults(tmp_path):
    return pathlib.Path(shutil.copytree(ROOT / "tests" / "faults", tmp_path / "faults", symlinks=True))


def take(window, *rows):
    """Runs a command by its whole title, and takes a row after the other in the boxes that it opens."""
    listed = window.page.locator(".quick-input-widget .monaco-list-row")

    def take_all(patience):
        for row in rows:
            listed.get_by_text(row, exact=True).first.click(timeout=patience)

    window.ask("F1", f">{rows[0]}", take_all)


@pytest.fixture
def legible(host):
    """A terminal whose text is in the page."""
    host.set(**{"terminal.integrated.gpuAcceleration": "off"})
    yield
    host.set()


def lint_prints(window, wanted, times=4):
    """Whether a text is among the last lines that the task prints. The editor loses those of a task that ends at once now and then, so
    that it may be run several times."""
    rows = window.page.locator(".terminal-wrapper.active .xterm-rows")
    shown = lambda: "\n".join(rows.all_inner_texts()).replace("\u00a0", " ")  # noqa: E731
    for time in range(times):
        if time:
            window.command("Terminal: Kill All Terminals")
            rows.first.wait_for(state="detached")
        take(window, "Tasks: Run Task", "drysheath", "drysheath: lint")
        Host.wait(lambda: re.search(r"exit code:\s+1\b", shown()), "the task did not end")
        if wanted in shown():
            return True
    return False


def problems(window):
    """How many errors, warnings and notes the list of problems has."""
    said = window.page.locator("#status\\.problems").get_attribute("aria-label")
    return tuple(map(int, re.findall(r"\d+", said)))


def found(drysheath, folder):
    """The same as the command counts them."""
    done = subprocess.run([drysheath, "lint", "--output", "json"], cwd=folder, capture_output=True, text=True)
    levels = [result["level"] for result in json.loads(done.stdout)["results"] if not result["accepted"]]
    return tuple(map(levels.count, ("error", "warning", "note")))


@pytest.mark.opens_anew
def test_the_task_prints_what_the_server_has_told_and_nothing_is_listed_twice(window, host, all_faults, drysheath, legible):
    file = all_faults / "clean.office"
    window.open(all_faults, file)
    errors, warnings, notes = wanted = found(drysheath, all_faults)
    assert errors > 100
    Host.wait(lambda: problems(window) == wanted, "the server did not tell of all files")
    assert lint_prints(window, f"{errors} errors, {warnings} warnings, {notes} notes")
    # What a matcher finds comes within moments.
    window.page.wait_for_timeout(3000)
    assert problems(window) == wanted


@pytest.mark.opens_anew
def test_without_a_server_the_task_fills_the_list_of_problems(window, host, all_faults, drysheath, legible, tmp_path):
    host.machine.parent.mkdir(exist_ok=True)
    host.machine.write_text(json.dumps({"drysheath.path": str(tmp_path / "nothing")}))
    folder = all_faults / "pairs"
    try:
        # The matcher leaves open files to the server.
        file = folder / "leased-south.office"
        window.open(folder, file)
        Host.wait(lambda: any("cannot be run" in one for one in window.notifications()), "a server runs")
        errors, warnings, notes = found(drysheath, folder)
        assert errors > 20
        assert lint_prints(window, f"{errors} errors, {warnings} warnings, {notes} notes")
        # The editor may stop reading before the last lines of a task that ends at once.
        Host.wait(lambda: problems(window)[0] > errors / 2, "the matcher found too little")
        window.command("Problems: Focus on Problems View")
        row = window.page.locator(".markers-panel .monaco-list-row").filter(has_text="`ps2` has address 17, and an input of `m1` reads addresses 1 to 16")
        said = row.inner_text().replace("\u00a0", " ").split("\n")
        line = next(at for at, text in enumerate((folder / "address-not-read.office").read_text().splitlines(), 1) if "address 17" in text)
        assert said[1:3] == ["drysheath", "address-not-read"] and said[3].startswith(f"[Ln {line}, "), said
    finally:
        host.machine.unlink()


def test_the_walkthrough_leads_to_the_sheet(window, faults):
    file = faults / "clean.office"
    window.show(file)
    window.status()
    take(window, "Welcome: Open Walkthrough...")
    box = window.page.locator(".quick-input-widget")
    box.locator("input").first.fill("Your first office")
    box.locator(".monaco-list-row").filter(has_text="Your first office").first.click()
    steps = window.page.locator(".getting-started-step")
    steps.first.wait_for()

    def views(selector):
        try:
            return [one for frame in window.page.frames for one in frame.locator(selector).all_inner_texts()]
        except Error:
            # One of them went meanwhile.
            return []

    for title, file in STEPS.items():
        steps.filter(has_text=title).click()
        heading = re.search("^# (.*)", (EXTENSION / file).read_text(encoding="utf-8"))[1]
        Host.wait(lambda: heading in views("h1"), f"{file} is not shown")
    steps.filter(has_text="Read what it finds").click()
    window.page.get_by_role("button", name="Show all results").click()
    window.page.locator(".markers-panel .monaco-list-row").first.wait_for()
    steps.filter(has_text="See the office drawn").click()
    window.page.get_by_role("button", name="Show the sheet").click()
    Host.wait(lambda: views("section[data-id=air]"), "the office is not drawn")
