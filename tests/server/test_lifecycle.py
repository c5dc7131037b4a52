"""Initialization and end of a session, malformed messages, cancellation."""

import subprocess
import sys

import pytest
from client import PROFILES, Client, framed, uri

WRONG_JSON, WRONG_REQUEST, NO_SUCH_METHOD, WRONG_PARAMETERS = -32700, -32600, -32601, -32602
NOT_YET, CANCELLED = -32002, -32800


@pytest.fixture
def bare(program):
    """A server that has received nothing yet, without a recorder in between."""
    with Client([str(program), "lsp"]) as client:
        yield client


@pytest.mark.parametrize("name", PROFILES)
def test_capabilities_follow_those_of_each_client(session, start, county, name):
    client = start()
    result = client.initialize(name, county)
    offered = result["capabilities"]
    expected = {"neovim-0.11": "utf-8", "kakoune": "utf-8"}.get(name, "utf-16")
    assert offered["positionEncoding"] == expected
    assert offered["textDocumentSync"]["change"] == 2
    assert ("diagnosticProvider" in offered) == (name == "vscode")
    assert isinstance(offered["renameProvider"], dict) == (name in ("vscode", "neovim-0.11", "neovim-0.7"))
    assert result["serverInfo"]["name"] == "drysheath"
    assert client.quit() == 0


@pytest.mark.parametrize(
    ("offers", "agreed"),
    [
        (["utf-16", "utf-8"], "utf-8"),
        (["utf-16", "utf-32"], "utf-32"),
        (["utf-16"], "utf-16"),
        ([], "utf-16"),
        (["utf-7"], "utf-16"),
    ],
)
def test_the_encoding_is_one_that_the_client_offered(start, offers, agreed):
    result = start().initialize(capabilities={"general": {"positionEncodings": offers}})
    assert result["capabilities"]["positionEncoding"] == agreed


def test_exit_after_shutdown_is_a_success(session, county):
    assert session(root=county).quit() == 0


def test_exit_without_shutdown_is_a_failure(session, county):
    client = session(root=county)
    client.notify("exit")
    assert client.server.wait(10) == 1


def test_exit_before_initialize_is_a_failure(bare):
    bare.notify("exit")
    assert bare.server.wait(10) == 1


def test_shutdown_and_exit_in_one_write(session, county):
    client = session(root=county)
    client.send({"id": "last", "method": "shutdown"}, {"method": "exit"})
    assert client.server.wait(10) == 0
    assert client.answer("last")["result"] is None


@pytest.mark.parametrize(("shuts_down", "code"), [(True, 0), (False, 1)])
def test_a_closed_pipe_ends_the_server(session, county, shuts_down, code):
    client = session(root=county)
    if shuts_down:
        client.request("shutdown")
    client.server.stdin.close()
    assert client.server.wait(10) == code


def test_a_reader_that_is_gone_ends_the_server(program, county):
    opened = {"uri": uri(county / "x.office"), "languageId": "office", "version": 1, "text": "cable c1 {}\n"}
    talk = [
        {"id": 1, "method": "initialize", "params": {"processId": None, "rootUri": None, "capabilities": {}}},
        {"method": "initialized", "params": {}},
        *[{"method": "textDocument/didOpen", "params": {"textDocument": opened}}] * 50,
    ]
    server = subprocess.Popen([str(program), "lsp"], stdin=subprocess.PIPE, stdout=subprocess.PIPE)
    server.stdout.close()
    for message in talk:
        server.stdin.write(framed(message))
    server.stdin.close()
    assert server.wait(10) in (0, 1)


def test_a_parent_that_dies_ends_the_server(start, county):
    parent = subprocess.Popen([sys.executable, "-c", "input()"], stdin=subprocess.PIPE)
    client = start()
    client.initialize(root=county, process=parent.pid)
    parent.kill()
    parent.wait()
    assert client.server.wait(10) == 1


def test_a_parent_that_lives_keeps_the_server(start, county):
    parent = subprocess.Popen([sys.executable, "-c", "input()"], stdin=subprocess.PIPE)
    try:
        client = start()
        client.initialize(root=county, process=parent.pid)
        with pytest.raises(subprocess.TimeoutExpired):
            client.server.wait(4)
        assert client.quit() == 0
    finally:
        parent.kill()
        parent.wait()
        parent.stdin.close()


def test_nothing_is_answered_before_initialize(bare, county):
    place = {"textDocument": {"uri": uri(county / "offices" / "brackenmoor.office")}, "position": {"line": 0, "character": 0}}
    assert bare.failure("textDocument/hover", place)["code"] == NOT_YET
    assert bare.failure("shutdown")["code"] == NOT_YET
    bare.initialize(root=county)
    assert bare.quit() == 0


def test_notifications_before_initialize_are_dropped(bare, county):
    early = bare.open(county / "early.office", "office early { titel \"x\" }\n")
    bare.initialize(root=county)
    late = bare.open(county / "late.office", "office late { titel \"x\" }\n")
    assert late.results()
    assert bare.request("textDocument/hover", early.at("titel")) is None
    assert bare.published(early.uri) is None


def test_a_second_initialize_is_refused(session, county):
    client = session(root=county)
    again = {"processId": None, "rootUri": None, "capabilities": {}}
    assert client.failure("initialize", again)["code"] == WRONG_REQUEST
    assert client.quit() == 0


def test_nothing_is_answered_after_shutdown(session, county):
    client = session(root=county)
    client.request("shutdown")
    assert client.failure("workspace/symbol", {"query": ""})["code"] == WRONG_REQUEST
    client.notify("exit")
    assert client.server.wait(10) == 0


def test_unknown_requests_are_refused_and_unknown_notifications_ignored(session, county):
    client = session(root=county)
    assert client.failure("drysheath/brew", {"cups": 2})["code"] == NO_SUCH_METHOD
    assert client.failure("textDocument/implementation", {})["code"] in (NO_SUCH_METHOD, WRONG_PARAMETERS)
    client.notify("drysheath/poured", {"cups": 2})
    client.notify("$/poured", {"cups": 2})
    client.notify("$/setTrace", {"value": "verbose"})
    client.notify("workspace/didChangeConfiguration", {"settings": {}})
    client.notify("window/workDoneProgress/cancel", {"token": "none"})
    assert client.quit() == 0


@pytest.mark.parametrize("parameters", [None, [], {}, {"textDocument": 5}, {"textDocument": {"uri": "not an address"}}])
def test_invalid_parameters_are_refused(session, county, parameters):
    client = session(root=county)
    assert client.failure("textDocument/hover", parameters)["code"] == WRONG_PARAMETERS
    for told in ("didOpen", "didChange", "didClose", "didSave"):
        client.notify(f"textDocument/{told}", parameters)
    client.notify("workspace/didChangeWatchedFiles", parameters)
    client.notify("workspace/didChangeWorkspaceFolders", parameters)
    assert client.quit() == 0


def body(raw):
    return b"Content-Length: %d\r\n\r\n%s" % (len(raw), raw)


@pytest.mark.parametrize(
    "raw",
    [
        body(b'{"jsonrpc'),
        body(b"{}"),
        body(b"[]"),
        body(b"\xff\xfe\xfd\xfc"),
        body(b'{"jsonrpc":"1.0","id":7,"method":"shutdown"}'),
        body(b'{"jsonrpc":"2.0","id":7,"method":false}'),
        b"Content-Length: many\r\n\r\n",
        b"Content-Type: text/plain\r\n\r\n",
    ],
    ids=["cut short", "empty", "a list", "no text", "another protocol", "no method", "no length", "no length at all"],
)
def test_a_malformed_message_is_refused_and_the_next_one_answered(bare, county, raw):
    bare.initialize(root=county)
    before = len(bare.said)
    bare.send_bytes(raw)
    broken = bare.until(
        lambda: next((m for _, m in bare.said[before:] if "error" in m), None), "the malformed message was not answered"
    )
    assert broken["error"]["code"] in (WRONG_JSON, WRONG_REQUEST), broken
    assert bare.request("workspace/symbol", {"query": "nothing is named so"}) in ([], None)
    assert bare.quit() == 0


@pytest.mark.parametrize("length", [3, 60, 75, 200, 10**6, 10**15])
def test_a_wrong_length_costs_only_its_message(bare, county, length):
    """The next message is found, and the client is told."""
    bare.initialize(root=county)
    before = len(bare.said)
    wrong = b'{"jsonrpc":"2.0","method":"workspace/nothing","params":{}}'
    bare.send_bytes(b"Content-Length: %d\r\n\r\n%s" % (length, wrong))
    asked = bare.ask("workspace/symbol", {"query": "nothing is named so"})
    assert bare.answer(asked, 10)["result"] == []
    told = [message for _, message in bare.said[before:] if "error" in message]
    assert [(message["id"], message["error"]["code"]) for message in told] == [(None, WRONG_JSON)]
    assert bare.quit() == 0


def test_answers_to_unknown_requests_are_ignored(session, county):
    client = session(root=county)
    client.send({"id": 4711, "result": None})
    client.send({"id": "none", "error": {"code": 1, "message": "none"}})
    assert client.quit() == 0


def test_a_client_that_refuses_all_requests_is_served(start, county):
    client = start()
    client.refuses = {"client/registerCapability", "window/workDoneProgress/create", "workspace/diagnostic/refresh"}
    client.initialize("vscode", county)
    text = client.open(county / "offices" / "brackenmoor.office")
    text.replace("coldest         -20 degC", "coldest         -20 degX")
    assert any("degX" in item["message"] for item in text.pulled()["items"])
    assert client.quit() == 0


def test_cancelled_requests_are_answered_as_such_or_with_their_result(session, county):
    client = session(root=county)
    text = client.open(county / "offices" / "brackenmoor.office")
    text.results()
    whole = {"textDocument": {"uri": text.uri}}
    asked = [client.ask("textDocument/documentSymbol", whole) for _ in range(40)]
    for number in asked:
        client.cancel(number)
    client.cancel(99999)
    for number in asked:
        answer = client.answer(number)
        assert "result" in answer or answer["error"]["code"] == CANCELLED, answer
    text.edit(0, 0, "# 🧭\n")
    assert text.results() is not None
    assert client.quit() == 0


def test_a_cancelled_request_does_not_wait_for_others(session, memory_path):
    """A request that waits behind a slow one is answered as cancelled before the slow one is answered."""
    offices = [memory_path / f"o{number}.office" for number in range(300)]
    for path in offices:
        path.write_text("office o { titel 5 }\n" * 20, encoding="utf-8")
    client = session("vscode", memory_path)
    changes = [{"uri": uri(path), "type": 1} for path in offices]
    ask = {"method": "workspace/diagnostic", "params": {"previousResultIds": []}}
    client.send(
        {"method": "workspace/didChangeWatchedFiles", "params": {"changes": changes}},
        {"id": "slow", **ask},
        {"id": "last", **ask},
        {"method": "$/cancelRequest", "params": {"id": "last"}},
    )
    assert client.answer("last")["error"]["code"] == CANCELLED
    assert "slow" not in client.answers
    assert len(client.answer("slow")["result"]["items"]) == 300
