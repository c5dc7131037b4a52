"""The extension in VS Code: what a user does, by the keys and clicks of a user, and what is then to be seen."""

import json
import os
import signal

import pytest

from editor import MODIFIER, Host


def at(file, text, inside=0):
    """Line and column of the only place that reads so."""
    whole = file.read_text()
    assert whole.count(text) == 1, text
    start = whole.index(text) + inside
    return whole.count("\n", 0, start) + 1, start - (whole.rfind("\n", 0, start) + 1) + 1


def saved(window, file, wanted):
    """Saves, and waits until the file on the disk is as wanted. The keys are lost while something else than the text has the focus."""

    def is_saved():
        window.keys(f"{MODIFIER}+s")
        try:
            Host.wait(lambda: wanted(file.read_text()), "not yet", patience=2)
        except AssertionError:
            return False
        return True

    Host.wait(is_saved, f"{file.name} was not saved as expected")


def test_a_doubled_pair_is_seen_mended_and_gone(window, faults):
    file = faults / "pairs" / "pair-assigned-twice.office"
    window.show(file)
    window.go(*at(file, "tb pair 3        -> m1 sensor 4"))
    window.shows_errors(True)
    assert "1 error" in window.status()
    window.open_with(window.page.locator(".action-widget .monaco-list-row").first, f"{MODIFIER}+.")
    window.keys("Enter")
    window.shows_errors(False)
    saved(window, file, lambda text: "tb pair 4        -> m1 sensor 4" in text and "spare tb pair 5 .. 20" in text)


def test_a_cable_shows_its_pressure_as_a_picture(window, county):
    file = county / "offices" / "ashlar-cross.office"
    window.show(file)
    window.status()
    window.go(*at(file, "cable c1 {", len("cable ")))
    picture = window.hover().locator("img[src^='data:image/svg+xml']")
    picture.wait_for()
    Host.wait(lambda: picture.evaluate("one => one.naturalWidth") > 100, "the picture is not drawn")


def test_the_next_free_pair_is_completed(window, faults):
    file = faults / "clean.office"
    window.show(file)
    window.status()
    window.go(*at(file, "tb pair 4        -> m1 sensor 4"))
    window.keys("Shift+End", "Delete")
    window.type("tb pair ")
    window.shows_errors(True)
    first = window.open_with(window.page.locator(".suggest-widget .monaco-list-row").first, f"{MODIFIER}+Space")
    # What was offered while the words were typed may still be there.
    Host.wait(lambda: first.inner_text().split()[0] == "4", "the next free pair is not the first that is offered")
    window.keys("Enter")
    window.type(" -> m1 sensor 4")
    window.keys("Escape")
    window.shows_errors(False)
    # It is laid out when it is saved.
    saved(window, file, lambda text: "-> tb pair 4        -> m1 sensor 4\n" in text)


def test_the_sheet_follows_an_edit_and_a_click(window, county):
    file = county / "offices" / "ashlar-cross.office"
    window.show(file)
    window.status()
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
    air = sheet.locator("section[data-id=air]")
    drawn = lambda: air.inner_text().replace("\u00a0", " ")
    assert "set 6 psi" in drawn() and "set 5 psi" not in drawn()
    window.keys("Delete")
    window.type("5")
    Host.wait(lambda: "set 5 psi" in drawn(), "the edit is not drawn")
    # One that no other follows is drawn too.
    window.type("5")
    Host.wait(lambda: "set 55 psi" in drawn(), "the last edit is not drawn")
    window.keys("Backspace")
    Host.wait(lambda: "set 55 psi" not in drawn(), "the last edit is not drawn")
    policy = sheet.locator("meta[http-equiv]").get_attribute("content")
    assert policy.startswith("default-src 'none'") and "unsafe" not in policy and "http" not in policy


def test_a_server_that_was_killed_starts_again(window, host, faults):
    file = faults / "pairs" / "pair-assigned-twice.office"
    window.show(file)
    window.go(*at(file, "tb pair 3        -> m1 sensor 4"))
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
    window.show(file)
    wrong = tmp_path / "nothing"
    # Which program is run is a matter of the machine.
    host.machine.parent.mkdir(exist_ok=True)
    host.machine.write_text(json.dumps({"drysheath.path": str(wrong)}))
    try:
        said = f"The setting drysheath.path names {wrong}, which cannot be run: there is no such file"
        Host.wait(lambda: any(said in one for one in window.notifications()), "nothing was said")
        toast = window.page.locator(".notification-toast").filter(has_text="drysheath.path")
        assert toast.get_by_role("button", name="Open the setting").count() == 1
        assert toast.get_by_role("button", name="How to get drysheath").count() == 1
        # What no server says is not left standing.
        window.status_item.wait_for(state="hidden")
    finally:
        # The editor does not notice that the file is gone.
        host.machine.write_text("{}")
    window.status()


def answer(window, text):
    """Fills in what the editor asks."""
    box = window.page.locator(".quick-input-widget input").first
    box.wait_for()
    box.fill(text)
    window.keys("Enter")


def test_a_result_is_accepted_with_the_reason_that_is_asked(window, faults):
    file = faults / "pairs" / "contacts-share-input.office"
    window.show(file)
    assert "1 warning" in window.status()
    window.go(*at(file, "d1 contact power       ->"))
    window.command("drysheath: Accept a result here, with a reason")
    answer(window, 'one lamp "dryer" tells both')
    Host.wait(lambda: "1 warning" not in window.status(), "the result stayed")
    accepted = 'because "one lamp \\"dryer\\" tells both" until '
    saved(window, file, lambda text: accepted in text.split("accept contacts-share-input on ")[-1])


def test_the_next_free_input_is_taken_by_a_command(window, faults):
    file = faults / "clean.office"
    window.show(file)
    window.status()
    window.go(*at(file, "-> m1 sensor 4", len("-> m1 sensor ")))
    window.keys("Delete")
    window.type("3")
    window.shows_errors(True)
    window.command("drysheath: Take the next free pair, input or position here")
    window.shows_errors(False)
    saved(window, file, lambda text: "-> m1 sensor 4" in text)


def test_settings_of_the_repository_are_completed(window, faults):
    settings = faults / "drysheath.toml"
    settings.write_text("language = 1\n\n[levels]\n")
    file = faults / "clean.office"
    window.show(file)
    window.status()
    window.show(settings)
    window.go(4)
    window.type("pair-assigned-tw")
    rows = window.page.locator(".suggest-widget .monaco-list-row")
    window.open_with(rows.first, f"{MODIFIER}+Space")
    window.keys("Enter")
    window.open_with(rows.first, f"{MODIFIER}+Space")
    offered = {one.strip() for one in rows.all_inner_texts()}
    assert {"error"} <= offered, offered
    window.keys("Enter")
    saved(window, settings, lambda text: text.startswith('language = 1\n\n[levels]\npair-assigned-twice = "'))


def test_the_sheet_follows_an_edit_of_a_part(window, faults):
    file = faults / "clean.office"
    window.show(file)
    window.status()
    window.command("drysheath: Show the sheet beside the text")
    air = window.sheet().locator("section[data-id=air]")
    air.locator("svg").wait_for()
    drawn = lambda: air.inner_text().replace("\u00a0", " ")
    assert "delivers 30 psi" in drawn()
    window.text.click()
    window.show(faults / "parts" / "kit.office")
    window.go(*at(faults / "parts" / "kit.office", "delivers        30 psi", len("delivers        ")))
    window.keys("Delete")
    window.type("4")
    Host.wait(lambda: "delivers 40 psi" in drawn(), "the edit of the part is not drawn")


def test_a_part_is_renamed_in_all_files_and_laid_out_when_saved(window, faults):
    file = faults / "clean.office"
    window.show(file)
    window.status()
    window.go(*at(file, ": watcher", 3))
    window.open_with(window.page.locator(".rename-box input"), "F2").fill("observer")
    window.keys("Enter")
    window.page.locator(".rename-box input").wait_for(state="hidden")
    # The editor saves what it renames.
    kit = faults / "parts" / "kit.office"
    Host.wait(lambda: "part monitor observer" in kit.read_text(), "the file of parts was not changed")
    Host.wait(lambda: ": observer" in file.read_text(), "the office was not changed")
    wanted = file.read_text()
    window.go(*at(file, ": observer"))
    window.type("    ")
    saved(window, file, lambda text: text == wanted)


def test_an_office_is_predicted_and_compared(window, county):
    file = county / "offices" / "ashlar-cross.office"
    file.write_text(file.read_text().replace("set 6 psi", "set 5 psi"))
    window.show(file)
    window.status()
    window.command("drysheath: Predict this office")
    shown = window.page.locator(".tab[data-resource-name='ashlar-cross: prediction']")
    shown.wait_for()
    lines = window.page.locator(".view-lines")
    Host.wait(lambda: any("capacity" in one and "duty" in one for one in lines.all_inner_texts()), "the prediction is not shown")
    window.text.click()
    window.command("drysheath: Compare with where the branch began")
    told = window.sheet().locator("body")
    Host.wait(lambda: "r-pole" in told.inner_text(), "the comparison is not shown")


@pytest.mark.opens_anew
def test_a_folder_that_is_not_trusted_has_its_own_program_left_alone(window, host, faults):
    program, mark = faults / "program", faults / "was-run"
    program.write_text(f"#!/bin/sh\ntouch {mark}\n")
    program.chmod(0o755)
    settings = faults / ".vscode" / "settings.json"
    settings.parent.mkdir()
    settings.write_text(json.dumps({"drysheath.path": str(program)}))
    file = faults / "pairs" / "pair-assigned-twice.office"
    try:
        # A window asks this when it opens.
        host.set(**{"security.workspace.trust.enabled": True, "security.workspace.trust.startupPrompt": "never"})
        window.open(faults, file)
        # The one on the path is run.
        assert "1 error" in window.status()
        window.page.locator("#status\\.workspaceTrust, [id*='workspaceTrust']").first.wait_for()
        assert not mark.exists()
    finally:
        host.set()
