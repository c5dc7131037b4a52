"""What an editor shows while somebody types does not wait for what takes long."""

import pathlib
import time
from urllib.parse import unquote, urlparse

import pytest
from offices import large, unwired, write_large

CANCELLED, CONTENT_MODIFIED = -32800, -32801


@pytest.fixture
def office(memory_path):
    """An office of 3,000 lines with results that can be fixed all over it."""
    return write_large(memory_path / "repository", unwired(large(3000)))


@pytest.fixture
def editing(session, office):
    """The office in an editor, and a function that asks for code actions at 50 of its results."""
    client = session(root=office.parent)
    buffer = client.open(office)
    lines = sorted({result["range"]["start"]["line"] for result in buffer.results()})[:50]
    assert len(lines) == 50

    def ask():
        ranges = [{"start": {"line": line, "character": 0}, "end": {"line": line, "character": 9}} for line in lines]
        where = {"textDocument": {"uri": buffer.uri}, "context": {"diagnostics": []}}
        return [client.ask("textDocument/codeAction", {**where, "range": wanted}) for wanted in ranges]

    return client, buffer, ask


def answered(client, asked):
    with client.changed:
        return sum(number in client.answers for number in asked)


def test_a_hover_does_not_wait_for_code_actions(editing):
    client, buffer, ask = editing
    asked = ask()
    assert client.request("textDocument/hover", buffer.at("cable c1-0", 6))
    assert answered(client, asked) < len(asked) / 2
    assert all("result" in client.answer(number) for number in asked)


def test_the_results_of_an_edit_do_not_wait_for_code_actions(editing):
    client, buffer, ask = editing
    asked = ask()
    other = client.open(pathlib.Path(unquote(urlparse(buffer.uri).path)).with_name("other.office"), "office o { titel 5 }\n")
    assert other.results()
    assert answered(client, asked) < len(asked) / 2
    assert all("result" in client.answer(number) for number in asked)


def test_code_actions_that_an_edit_makes_stale_are_given_up(editing):
    """Their edits would be those of a text that is no more: the client is told to ask again, and soon."""
    client, buffer, ask = editing
    before = [client.answer(number)["result"] for number in ask()]
    asked = ask()
    buffer.edit(len(buffer.text), len(buffer.text), "# typed\n")
    begin = time.monotonic()
    ends = [client.answer(number) for number in asked]
    took = time.monotonic() - begin
    stale = [end for end in ends if "error" in end]
    assert all(end["error"]["code"] == CONTENT_MODIFIED for end in stale)
    assert len(stale) > len(asked) / 2
    for end, earlier in zip(ends, before):
        assert "error" in end or end["result"] == earlier
    again = time.monotonic()
    assert all("result" in client.answer(number) for number in ask())
    assert took < (time.monotonic() - again) / 2


@pytest.mark.parametrize(
    ("stop", "code"),
    [
        (lambda client, _, number: client.cancel(number), CANCELLED),
        (lambda _, buffer, __: buffer.edit(0, 0, "\n"), CONTENT_MODIFIED),
    ],
    ids=["cancelled", "edited"],
)
def test_a_code_action_that_runs_is_interrupted(session, memory_path, stop, code):
    """One question about a whole office with hundreds of results takes long; given up, it makes room at once."""
    office = write_large(memory_path / "repository", unwired(large(3000)))
    client = session(root=office.parent)
    buffer = client.open(office)
    buffer.results()
    where = {"textDocument": {"uri": buffer.uri}, "context": {"diagnostics": []}}
    whole = {**where, "range": {"start": {"line": 0, "character": 0}, "end": buffer.position(len(buffer.text))}}
    start = {**where, "range": {"start": {"line": 0, "character": 0}, "end": {"line": 0, "character": 0}}}
    running = [client.ask("textDocument/codeAction", whole) for _ in range(4)]
    time.sleep(0.1)
    assert answered(client, running) == 0, "it is too short to be interrupted"
    for number in running:
        stop(client, buffer, number)
    begin = time.monotonic()
    assert "result" in client.answer(client.ask("textDocument/codeAction", start))
    assert time.monotonic() - begin < 2
    assert [client.answer(number)["error"]["code"] for number in running] == [code] * 4


def test_code_actions_that_were_cancelled_hold_nothing_up(editing):
    client, _, ask = editing
    asked = ask()
    last = ask()[0]
    for number in asked:
        client.cancel(number)
    assert client.answer(last)["result"]
    ends = [client.answer(number) for number in asked]
    cancelled = [end for end in ends if "error" in end]
    assert all(end["error"]["code"] == CANCELLED for end in cancelled)
    assert len(cancelled) > len(asked) / 2


@pytest.fixture
def shared(session, memory_path):
    """An office in an editor that takes a part which 300 other offices take, and a function that asks where it is used and for other
    names of it."""
    folder = memory_path / "repository"
    (folder / "parts").mkdir(parents=True)
    (folder / "drysheath.toml").write_text("language = 1\n", encoding="utf-8")
    (folder / "parts" / "gauges.office").write_text("part pressure-sensor gauge { span 0 .. 15 psi }\n", encoding="utf-8")
    sensors = "".join(f"pressure-sensor p{number} : gauge\n" for number in range(40))
    for number in range(301):
        text = f'use parts/gauges\noffice o{number} {{ title "O{number}" }}\n{sensors}'
        (folder / f"o{number}.office").write_text(text, encoding="utf-8")
    client = session(root=folder)
    buffer = client.open(folder / "o0.office")
    buffer.results()
    client.request("workspace/symbol", {"query": "nothing is named so"})

    def ask():
        place = buffer.at("p7 : gauge", 5)
        references = client.ask("textDocument/references", {**place, "context": {"includeDeclaration": True}})
        return [references, client.ask("textDocument/rename", {**place, "newName": "gauge-15"})]

    return client, buffer, ask


def test_nothing_waits_for_a_part_that_many_offices_use(shared):
    client, buffer, ask = shared
    asked = [number for _ in range(15) for number in ask()]
    assert client.request("textDocument/hover", buffer.at("p7 : gauge", 5))
    assert answered(client, asked) < len(asked) / 2
    folder = pathlib.Path(unquote(urlparse(buffer.uri).path)).parent
    other = client.open(folder / "o1.office")
    other.edit(0, 0, "#\n")
    assert other.results() is not None
    assert answered(client, asked) < len(asked)
    for number in asked[::2]:
        assert len(client.answer(number)["result"]) == 1 + 40 * 301


def test_another_name_of_a_part_reaches_all_offices_that_use_it(shared):
    client, _, ask = shared
    _, rename = ask()
    edit = client.answer(rename)["result"]
    changes = edit.get("changes") or {it["textDocument"]["uri"]: it["edits"] for it in edit["documentChanges"]}
    assert len(changes) == 302
    assert sum(map(len, changes.values())) == 1 + 40 * 301
