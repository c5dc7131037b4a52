"""Files that come, go and change: in the editor, on the disk, and in each other's sight."""

import shutil

import pytest
from client import ROOT, Lost, uri

CLEAN = 'office {name} {{ title "Office {number}", site "OFF{number:04}", elevation 120 m, coldest -25 degC, stage planned }}\nblock tb {{ pairs 5 }}\nspare tb pair rest\n'
WATCHING, UNWATCHED = "eglot", "kakoune"


def codes(diagnostics):
    return [one["code"] for one in diagnostics]


def clean(number):
    return CLEAN.format(name=f"o{number}", number=number)


def slip(number):
    return clean(number).replace("stage planned", "stagge planned")


def unknown_height(number):
    """An office with a result whose level is a matter of settings."""
    return clean(number).replace("elevation 120 m, ", "")


def write(folder, numbers, text):
    for number in numbers:
        (folder / f"o{number}.office").write_text(text(number), encoding="utf-8")


@pytest.fixture
def offices(tmp_path):
    """A repository of a few small offices without results."""
    folder = tmp_path / "offices"
    folder.mkdir()
    (folder / "drysheath.toml").write_text("language = 1\n", encoding="utf-8")
    write(folder, range(5), clean)
    return folder


def showing(client, folder):
    """The files below a folder that show results, with their rules."""
    start = uri(folder) + "/"
    return {where.removeprefix(start): codes(client.shown[where]["diagnostics"]) for where in client.troubled}


def shows(client, folder, expected):
    """Waits until exactly these files show exactly these results."""
    def there():
        return len(client.troubled) == len(expected) and showing(client, folder) == expected

    try:
        client.until(there, "never", 30)
    except Lost:
        found = showing(client, folder)
        wrong = {name for name in {*found, *expected} if found.get(name) != expected.get(name)}
        raise AssertionError(f"wrong of {sorted(wrong)[:5]}: {[(found.get(n), expected.get(n)) for n in sorted(wrong)[:5]]}") from None


# What an editor has open.


def test_an_open_text_beats_the_disk(session, offices):
    client = session(WATCHING, offices)
    path = offices / "o1.office"
    text = client.open(path)
    assert text.results() == []
    text.set(slip(1))
    assert codes(text.results()) == ["field-unknown"]
    path.write_text(clean(1) + "cable c1 { pears 50 }\n", encoding="utf-8")
    client.notify("workspace/didChangeWatchedFiles", {"changes": [{"uri": uri(path), "type": 2}]})
    text.edit(0, 0, "# a word\n")
    assert codes(text.results()) == ["field-unknown"]
    path.unlink()
    client.notify("workspace/didChangeWatchedFiles", {"changes": [{"uri": uri(path), "type": 3}]})
    text.edit(0, 0, "# and another\n")
    assert codes(text.results()) == ["field-unknown"]


def test_closing_gives_the_file_back_to_the_disk(session, offices):
    client = session(WATCHING, offices)
    text = client.open(offices / "o1.office", slip(1))
    assert codes(text.results()) == ["field-unknown"]
    text.close()
    shows(client, offices, {})
    assert client.published(text.uri).get("version") is None


@pytest.mark.parametrize("name", [WATCHING, "vscode"])
def test_files_that_are_opened_and_closed_at_once_keep_their_results(session, offices, name):
    write(offices, range(100), slip)
    client = session(name, offices)
    expected = {f"o{number}.office": ["field-unknown"] for number in range(100)}

    def pulled():
        report = client.request("workspace/diagnostic", {"previousResultIds": []})
        return {item["uri"].removeprefix(uri(offices) + "/"): codes(item["items"]) for item in report["items"] if item["items"]}

    if name == "vscode":
        assert pulled() == expected
    else:
        shows(client, offices, expected)
    for number in range(100):
        client.open(offices / f"o{number}.office").close()
    # It waits until everything has been looked at.
    client.request("workspace/symbol", {"query": "nothing is named so"})
    if name == "vscode":
        assert pulled() == expected
    else:
        # An answer may be written before results that were ready earlier.
        client.until(lambda: showing(client, offices) == expected, "some were lost", 5)


def test_a_file_that_was_never_saved_is_cleared_when_closed(session, offices):
    client = session(WATCHING, offices)
    for path in (offices / "new.office", "untitled:Untitled-1"):
        text = client.open(path, slip(9))
        assert codes(text.results()) == ["field-unknown"]
        assert client.request("textDocument/hover", {"textDocument": {"uri": text.uri}, "position": text.position(9)}) or True
        text.close()
        client.results_once(text.uri, lambda results: results == [])


def test_a_file_is_deleted_and_then_closed(session, offices):
    client = session(WATCHING, offices)
    path = offices / "o1.office"
    text = client.open(path, slip(1))
    assert codes(text.results()) == ["field-unknown"]
    path.unlink()
    client.notify("workspace/didChangeWatchedFiles", {"changes": [{"uri": uri(path), "type": 3}]})
    text.close()
    shows(client, offices, {})


def test_opening_twice_and_closing_what_is_not_open(session, offices):
    client = session(WATCHING, offices)
    text = client.open(offices / "o1.office")
    text.close()
    text.close()
    text.edit(0, 0, "never heard\n")
    again = client.open(offices / "o1.office", slip(1))
    assert codes(again.results()) == ["field-unknown"]
    assert client.quit() == 0


def test_several_changes_in_one_message_follow_one_another(session, offices):
    client = session(WATCHING, offices)
    text = client.open(offices / "o1.office", "cable c1 { }\n")
    start = {"line": 0, "character": 11}
    changes = [
        {"range": {"start": start, "end": start}, "text": "pears 5"},
        {"range": {"start": {"line": 0, "character": 18}, "end": {"line": 0, "character": 18}}, "text": "0 "},
        {"range": {"start": start, "end": {"line": 0, "character": 16}}, "text": "pairs"},
    ]
    text.text = "cable c1 { pairs 50  }\n"
    text._tell(changes)
    assert "field-unknown" not in codes(text.results())
    text._tell([{"text": "gone"}, {"text": slip(1)}])
    text.text = slip(1)
    assert codes(text.results()) == ["field-unknown"]


def test_positions_outside_the_text_are_brought_in(session, offices):
    client = session(WATCHING, offices)
    text = client.open(offices / "o1.office", clean(1))
    far = {"line": 900, "character": 900}
    text._tell([{"range": {"start": far, "end": far}, "text": "cable c1 { pears 50 }\n"}])
    assert "field-unknown" in codes(text.results())
    text._tell([{"range": {"start": {"line": 0, "character": 0}, "end": far}, "text": clean(1)}])
    assert text.results() == []
    text._tell([{"range": {"start": {"line": 0, "character": 9}, "end": {"line": 0, "character": 2}}, "text": ""}])
    assert client.quit() == 0


# What changes outside.


def test_a_client_that_can_is_asked_to_watch(session, offices):
    client = session(WATCHING, offices)
    asked = client.until(lambda: client.heard("client/registerCapability"), "nothing was registered")
    (registered,) = asked[0]["registrations"]
    assert registered["method"] == "workspace/didChangeWatchedFiles"
    patterns = {watcher["globPattern"] for watcher in registered["registerOptions"]["watchers"]}
    assert patterns == {"**/*.office", "**/drysheath.toml"}


def test_a_client_that_cannot_is_not_asked(session, offices):
    client = session(UNWATCHED, offices)
    assert client.open(offices / "o1.office").results() == []
    assert client.heard("client/registerCapability") == []


@pytest.mark.parametrize("name", [WATCHING, UNWATCHED])
def test_a_branch_switch_of_two_thousand_files(session, memory_path, name):
    folder = memory_path / "county"
    folder.mkdir()
    (folder / "drysheath.toml").write_text("language = 1\n", encoding="utf-8")
    numbers = range(2000)
    write(folder, numbers, clean)
    client = session(name, folder)
    text = client.open(folder / "o0.office")
    assert text.results() == []

    def switch(kind):
        if name == WATCHING:
            changes = [{"uri": uri(folder / f"o{number}.office"), "type": kind} for number in numbers]
            client.notify("workspace/didChangeWatchedFiles", {"changes": changes})
        else:
            text.save()
        # Whoever types meanwhile does not wait for two thousand files.
        text.edit(0, 0, "# 🧭\n")
        assert text.results() == []

    write(folder, numbers, slip)
    switch(2)
    shows(client, folder, {f"o{number}.office": ["field-unknown"] for number in numbers if number})
    write(folder, numbers, clean)
    switch(2)
    shows(client, folder, {})
    write(folder, numbers, slip)
    switch(2)
    shows(client, folder, {f"o{number}.office": ["field-unknown"] for number in numbers if number})
    for number in numbers:
        (folder / f"o{number}.office").unlink()
    switch(3)
    shows(client, folder, {})


@pytest.mark.parametrize("name", [WATCHING, UNWATCHED])
def test_files_come_and_go_with_their_folder(session, offices, name):
    client = session(name, offices)
    text = client.open(offices / "o1.office")
    assert text.results() == []

    def told(kind, path):
        if name == WATCHING:
            client.notify("workspace/didChangeWatchedFiles", {"changes": [{"uri": uri(path), "type": kind}]})
        else:
            text.save()

    (offices / "more").mkdir()
    write(offices / "more", [7], slip)
    told(1, offices / "more")
    shows(client, offices, {"more/o7.office": ["field-unknown"]})
    shutil.rmtree(offices / "more")
    told(3, offices / "more")
    shows(client, offices, {})


def test_an_equal_length_on_the_disk_moves_the_lines(session, offices):
    """The bytes of each result stay where they are, and a line end comes before them."""
    path = offices / "o1.office"
    path.write_text("# a word\n" + slip(1), encoding="utf-8")
    client = session(WATCHING, offices)

    def lines():
        return [one["range"]["start"]["line"] for one in (client.published(uri(path)) or {"diagnostics": []})["diagnostics"]]

    client.until(lambda: lines() == [1], "never")
    path.write_text("#\n#word#\n" + slip(1), encoding="utf-8")
    client.notify("workspace/didChangeWatchedFiles", {"changes": [{"uri": uri(path), "type": 2}]})
    client.until(lambda: lines() == [2], "the lines stay those of the text before", 10)


def test_a_folder_that_is_gone_takes_its_parts_with_it(session, offices):
    """The client names the file when it comes, and only the folder when it goes."""
    client = session(WATCHING, offices)
    user = client.open(offices / "o1.office", "use parts/kit\n" + clean(1) + "cable c1 : \n")
    folder = offices / "parts"

    def told(kind, path):
        client.notify("workspace/didChangeWatchedFiles", {"changes": [{"uri": uri(path), "type": kind}]})
        client.request("workspace/symbol", {"query": "nothing is named so"})

    def offered():
        items = client.request("textDocument/completion", user.at("cable c1 : ", 11))["items"]
        return "lead-cable" in [item["label"] for item in items]

    assert not offered()
    folder.mkdir()
    (folder / "kit.office").write_text("part cable lead-cable { pairs 10 }\n", encoding="utf-8")
    told(1, folder / "kit.office")
    assert offered()
    shutil.rmtree(folder)
    told(3, folder)
    assert not offered()
    assert "use-not-found" in codes(client.results_once(user.uri, lambda them: "use-not-found" in codes(them)))


@pytest.mark.parametrize("what", ["files that are not read", "folders"])
def test_a_storm_of_events_holds_no_answer_up(session, memory_path, what):
    """Two thousand events are looked at together, while questions are answered."""
    (memory_path / "drysheath.toml").write_text("language = 1\n", encoding="utf-8")
    write(memory_path, range(1000), clean)
    client = session(WATCHING, memory_path)
    text = client.open(memory_path / "o1.office")
    client.request("workspace/symbol", {"query": "nothing is named so"})
    count = 2000 if what.startswith("files") else 300
    for number in range(count):
        path = memory_path / f"{what[:4]}{number}"
        if what == "folders":
            path.mkdir()
        client.notify("workspace/didChangeWatchedFiles", {"changes": [{"uri": uri(path), "type": 1}]})
    (memory_path / "fold7" if what == "folders" else memory_path / "new").mkdir(exist_ok=True)
    write(memory_path / ("fold7" if what == "folders" else "new"), [2001], slip)
    client.notify("workspace/didChangeWatchedFiles", {"changes": [{"uri": uri(memory_path / "new"), "type": 1}]})
    asked = client.ask("textDocument/hover", text.at("office", 2))
    assert client.answer(asked, 4)["result"]
    client.until(lambda: len(client.troubled) == 1, "the new folder was not looked into", 20)


def test_what_cannot_be_read_is_said_and_not_taken_for_clean(session, offices):
    (offices / "odd.office").mkdir()
    client = session(WATCHING, offices)
    for _ in range(2):
        client.notify("workspace/didChangeWatchedFiles", {"changes": [{"uri": uri(offices / "odd.office"), "type": 1}]})
    client.request("workspace/symbol", {"query": "nothing is named so"})

    def told():
        return [said["message"] for said in client.heard("window/logMessage")]

    client.until(told, "nothing was said", 10)
    assert len(told()) == 1 and "odd.office" in told()[0], told()


# Folders.


def test_folders_are_added_and_taken_away(session, tmp_path):
    for name in ("one", "two", "three"):
        (tmp_path / name).mkdir()
        (tmp_path / name / "drysheath.toml").write_text("language = 1\n", encoding="utf-8")
        write(tmp_path / name, [1], slip)
    client = session(WATCHING, [tmp_path / "one", tmp_path / "two"])
    shows(client, tmp_path, {"one/o1.office": ["field-unknown"], "two/o1.office": ["field-unknown"]})

    def change(added, removed):
        named = lambda names: [{"uri": uri(tmp_path / name), "name": name} for name in names]  # noqa: E731
        event = {"added": named(added), "removed": named(removed)}
        client.notify("workspace/didChangeWorkspaceFolders", {"event": event})

    change(["three"], ["one"])
    shows(client, tmp_path, {"two/o1.office": ["field-unknown"], "three/o1.office": ["field-unknown"]})
    change([], ["two", "three"])
    shows(client, tmp_path, {})
    change(["one"], [])
    shows(client, tmp_path, {"one/o1.office": ["field-unknown"]})


def test_hundreds_of_folders_hold_no_answer_up(session, memory_path):
    folders = [memory_path / f"f{number}" for number in range(300)]
    for folder in folders:
        folder.mkdir()
        write(folder, range(3), clean)
    client = session("vscode", folders)
    text = client.open(folders[0] / "o1.office")
    assert text.pulled()["items"] == []
    names = [{"uri": uri(folder), "name": folder.name} for folder in folders[1:]]
    for named in (names, *([name] for name in names[:50])):
        for event in ({"added": [], "removed": named}, {"added": named, "removed": []}):
            client.notify("workspace/didChangeWorkspaceFolders", {"event": event})
    asked = client.ask("textDocument/hover", text.at("office", 2))
    assert client.answer(asked, 8)["result"]


def test_an_open_file_of_a_folder_that_is_taken_away_stays(session, offices):
    client = session(WATCHING, offices)
    text = client.open(offices / "o1.office", slip(1))
    text.results()
    client.notify("workspace/didChangeWorkspaceFolders", {"event": {"added": [], "removed": [{"uri": uri(offices), "name": "offices"}]}})
    text.edit(0, 0, "# still here\n")
    assert codes(text.results()) == ["field-unknown"]


def test_a_single_file_without_a_folder_finds_its_repository(session):
    """Settings and parts are found above the file, though nobody named a folder."""
    client = session("neovim-0.11")
    path = ROOT / "tests" / "faults" / "pairs" / "pair-assigned-twice.office"
    text = client.open(path)
    assert "pair-assigned-twice" in codes(text.results())
    assert "use-not-found" not in codes(text.results())
    # Nothing was said of files that nobody asked about.
    text.edit(0, 0, "# a word\n")
    text.results()
    assert {told["uri"] for told in client.heard("textDocument/publishDiagnostics")} == {text.uri}


# Settings.


@pytest.mark.parametrize("name", [WATCHING, UNWATCHED])
def test_settings_are_read_again_when_they_change(session, offices, name):
    # Whoever watches nothing has to have looked once before it can see that something has changed.
    write(offices, [3], unknown_height)
    client = session(name, offices)
    text = client.open(offices / "o1.office", unknown_height(1))
    shows(client, offices, {"o1.office": ["elevation-missing"], "o3.office": ["elevation-missing"]})
    assert [one["severity"] for one in text.results()] == [2]
    settings = offices / "drysheath.toml"

    def change(content):
        since = len(client.said)
        settings.write_text(content, encoding="utf-8")
        if name == WATCHING:
            client.notify("workspace/didChangeWatchedFiles", {"changes": [{"uri": uri(settings), "type": 2}]})
        else:
            text.save()
        return since

    since = change('language = 1\n[levels]\nelevation-missing = "note"\n')
    client.results_once(text.uri, lambda them: [one["severity"] for one in them] == [3], since)
    since = change('language = 1\n[levels]\nelevation-missing = "off"\n')
    client.results_once(text.uri, lambda them: them == [], since)
    since = change('language = 1\n[levels]\nelevation-missing = "loud"\n')
    client.results_once(uri(settings), lambda them: codes(them) == ["settings-unreadable"], since)
    since = change("language = 1\n")
    client.results_once(uri(settings), lambda them: them == [], since)
    client.results_once(text.uri, lambda them: [one["severity"] for one in them] == [2])


def test_settings_that_are_open_count_before_the_disks(session, offices):
    client = session(WATCHING, offices)
    text = client.open(offices / "o1.office", unknown_height(1))
    assert codes(text.results()) == ["elevation-missing"]
    settings = client.open(offices / "drysheath.toml", 'language = 1\n[levels]\nelevation-missing = "off"\n')
    client.results_once(text.uri, lambda them: them == [])
    settings.set('language = 1\n[levels]\nelevation-mising = "off"\n')
    assert codes(client.results_once(settings.uri, bool)) == ["settings-unreadable"]
    client.results_once(text.uri, bool)
    settings.close()
    client.results_once(settings.uri, lambda them: them == [])
    client.results_once(text.uri, bool)


QUESTIONS = ["hover", "documentSymbol", "semanticTokens/full", "codeLens", "foldingRange", "diagnostic"]


@pytest.mark.parametrize("opened", [False, True])
@pytest.mark.parametrize("name", [WATCHING, "vscode"])
def test_questions_about_settings_do_not_keep_their_text(session, offices, name, opened):
    """Each state of the settings gives results at its own places, whatever was asked about the one before."""
    path = offices / "drysheath.toml"
    text = 'language = 1\n[levels]\nfield-unknown = "loud"\n'
    path.write_text(text, encoding="utf-8")
    client = session(name, offices)
    buffer = client.open(path) if opened else None

    def lines():
        if name == "vscode":
            report = client.request("workspace/diagnostic", {"previousResultIds": []})
            items = [one for item in report["items"] if item["uri"] == uri(path) for one in item["items"]]
        else:
            items = (client.published(uri(path)) or {"diagnostics": []})["diagnostics"]
        return [one["range"]["start"]["line"] for one in items]

    def ask():
        place = {"textDocument": {"uri": uri(path)}, "position": {"line": 0, "character": 2}}
        for question in QUESTIONS:
            client.answer(client.ask(f"textDocument/{question}", place))

    for number in range(1, 4):
        if name == "vscode":
            assert lines() == [number + 1]
        else:
            client.until(lambda: lines() == [number + 1], f"after {number - 1} changes", 10)
        ask()
        changed = "\n" * number + text
        if buffer:
            buffer.set(changed)
        else:
            path.write_text(changed, encoding="utf-8")
            client.notify("workspace/didChangeWatchedFiles", {"changes": [{"uri": uri(path), "type": 2}]})


def test_settings_that_come_make_a_repository_of_their_folder(session, tmp_path):
    (tmp_path / "inner" / "parts").mkdir(parents=True)
    write(tmp_path / "inner", [1], lambda number: "use parts/kit\n" + clean(number) + "block tb : strip\n")
    (tmp_path / "inner" / "parts" / "kit.office").write_text("part block strip { pairs 10 }\n", encoding="utf-8")
    client = session(WATCHING, tmp_path)
    text = client.open(tmp_path / "inner" / "o1.office")
    assert "use-not-found" in codes(text.results())
    settings = tmp_path / "inner" / "drysheath.toml"
    settings.touch()
    client.notify("workspace/didChangeWatchedFiles", {"changes": [{"uri": uri(settings), "type": 1}]})
    client.results_once(text.uri, lambda them: "use-not-found" not in codes(them))
    settings.unlink()
    client.notify("workspace/didChangeWatchedFiles", {"changes": [{"uri": uri(settings), "type": 3}]})
    client.results_once(text.uri, lambda them: "use-not-found" in codes(them))


# One file in another's sight.


@pytest.fixture
def faults(tmp_path):
    return shutil.copytree(ROOT / "tests" / "faults", tmp_path / "faults", symlinks=True)


@pytest.mark.parametrize("name", [WATCHING, UNWATCHED])
def test_a_part_that_changes_in_another_buffer_reaches_its_users(session, faults, name):
    client = session(name, faults)
    user = client.open(faults / "clean.office")
    before = codes(user.results())
    parts = client.open(faults / "parts" / "kit.office")
    since = len(client.said)
    parts.replace("part monitor watcher {\n    sensors         8", "part monitor watcher {\n    sensors         3")
    now = codes(client.results_once(user.uri, lambda them: "input-out-of-range" in codes(them), since))
    assert now != before
    assert client.published(user.uri)["version"] == user.version
    # Closed users hear of it as well.
    closed = uri(faults / "pairs" / "dead-end.office")
    client.results_once(closed, lambda them: "input-out-of-range" in codes(them), since)
    parts.close()
    client.results_once(user.uri, lambda them: codes(them) == before)
    client.results_once(closed, lambda them: "input-out-of-range" not in codes(them))


def test_a_client_that_pulls_is_told_to_ask_again(session, faults):
    client = session("vscode", faults)
    user = client.open(faults / "clean.office")
    before = user.pulled()
    parts = client.open(faults / "parts" / "kit.office")
    parts.pulled()
    refreshes = len(client.heard("workspace/diagnostic/refresh"))
    parts.replace("part monitor watcher {\n    sensors         8", "part monitor watcher {\n    sensors         3")
    client.until(lambda: len(client.heard("workspace/diagnostic/refresh")) > refreshes, "never told to ask again")
    after = user.pulled(before["resultId"])
    assert after["kind"] == "full"
    assert "input-out-of-range" in codes(after["items"])
    assert user.pulled(after["resultId"])["kind"] == "unchanged"
    assert client.heard("textDocument/publishDiagnostics") == []


def test_a_client_that_pulls_hears_of_what_two_open_files_give_together(session, offices):
    client = session("vscode", offices)
    one, two = (client.open(offices / f"o{number}.office") for number in (1, 2))
    for text in (one, two):
        assert text.pulled()["items"] == []
    # Let the first looks be over, of which there may be refreshes too.
    client.request("workspace/diagnostic", {"previousResultIds": []})
    two.replace("OFF0002", "OFF0001")

    def found():
        return [one["code"] for text in (one, two) for one in text.pulled()["items"]] == ["site-code-twice"]

    client.until(found, "the doubled site code was never found")
    refreshes = len(client.heard("workspace/diagnostic/refresh"))
    one.replace("OFF0001", "OFF0007")
    client.until(lambda: len(client.heard("workspace/diagnostic/refresh")) > refreshes, "never told to ask again")
    assert one.pulled()["items"] == two.pulled()["items"] == []


def test_hints_of_a_part_are_asked_for_again_when_it_changes(session, faults):
    client = session("neovim-0.11", faults)
    client.open(faults / "clean.office").results()
    parts = client.open(faults / "parts" / "kit.office")
    refreshes = len(client.heard("workspace/inlayHint/refresh"))
    parts.replace("part monitor watcher {\n    sensors         8", "part monitor watcher {\n    sensors         3")
    client.until(lambda: len(client.heard("workspace/inlayHint/refresh")) > refreshes, "never told to ask again")


def test_what_only_two_files_together_give_comes_and_goes(session, offices):
    client = session(WATCHING, offices)
    one, two = (client.open(offices / f"o{number}.office") for number in (1, 2))
    assert one.results() == two.results() == []
    two.replace("OFF0002", "OFF0001")
    shown = client.until(lambda: showing(client, offices), "the doubled site code was never found")
    assert list(shown.values()) == [["site-code-twice"]]
    one.replace("OFF0001", "OFF0007")
    shows(client, offices, {})


def test_parts_appear_and_vanish_on_the_disk(session, faults):
    client = session(WATCHING, faults)
    user = client.open(faults / "clean.office")
    before = codes(user.results())
    kit = faults / "parts" / "kit.office"
    content = kit.read_bytes()
    kit.unlink()
    client.notify("workspace/didChangeWatchedFiles", {"changes": [{"uri": uri(kit), "type": 3}]})
    client.results_once(user.uri, lambda them: "use-not-found" in codes(them))
    kit.write_bytes(content)
    client.notify("workspace/didChangeWatchedFiles", {"changes": [{"uri": uri(kit), "type": 1}]})
    client.results_once(user.uri, lambda them: codes(them) == before)


# Addresses.


@pytest.mark.parametrize("name", ["with blank", "ümläut", "🧭", "50%25 off", "a+b(c)"])
def test_names_that_addresses_must_escape(session, tmp_path, name):
    folder = tmp_path / name
    folder.mkdir()
    (folder / "drysheath.toml").write_text("language = 1\n", encoding="utf-8")
    (folder / "p a.office").write_text("part cable c { pears 50 }\n", encoding="utf-8")
    client = session(WATCHING, folder)
    text = client.open(folder / f"{name}.office", slip(1))
    assert codes(text.results()) == ["field-unknown"]
    client.until(lambda: len(client.troubled) == 2, "the other file was not found")
    text.set(clean(1))
    assert text.results() == []


def test_progress_of_the_first_scan_is_shown_to_who_can(session, offices):
    client = session("vscode", offices)
    client.until(lambda: len(client.heard("$/progress")) == 2, "no beginning and end")
    begin, end = (told["value"] for told in client.heard("$/progress"))
    assert (begin["kind"], end["kind"]) == ("begin", "end")
    assert begin["title"]
