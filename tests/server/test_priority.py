"""What an editor shows while somebody types does not wait for what takes long."""

import pytest
from offices import large, unwired, write_large

CANCELLED = -32800


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
    buffer.edit(0, 0, "# typed\n")
    assert buffer.results()
    assert answered(client, asked) < len(asked) / 2
    assert all("result" in client.answer(number) for number in asked)


def test_code_actions_are_about_the_text_as_it_was_when_they_were_asked_for(editing):
    client, buffer, ask = editing
    before = [client.answer(number)["result"] for number in ask()]
    asked = ask()
    buffer.set("")
    assert [client.answer(number)["result"] for number in asked] == before


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
