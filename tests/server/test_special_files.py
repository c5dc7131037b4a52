"""What is no file under the name of one: a FIFO, a socket, a device, a folder. Nothing hangs, and the client is told."""

import os
import socket

import pytest
from client import uri
from test_files import clean, codes, slip


@pytest.fixture
def folder(memory_path):
    (memory_path / "drysheath.toml").write_text("language = 1\n", encoding="utf-8")
    (memory_path / "o1.office").write_text(slip(1), encoding="utf-8")
    (memory_path / "parts").mkdir()
    return memory_path


def fifo(path):
    os.mkfifo(path)


def listening(path):
    # The path of a socket may not be long.
    here = os.getcwd()
    os.chdir(path.parent)
    try:
        socket.socket(socket.AF_UNIX).bind(path.name)
    finally:
        os.chdir(here)


def device(path):
    path.symlink_to("/dev/zero")


def directory(path):
    path.mkdir()


KINDS = [fifo, listening, device, directory]


def lives(client, folder):
    """Everything is still answered, and the other file is checked."""
    client.results_once(uri(folder / "o1.office"), lambda them: codes(them) == ["field-unknown"])
    assert client.answer(client.ask("workspace/symbol", {"query": "o1"}), 10)["result"]
    assert client.quit() == 0


def told(client, name):
    return client.until(
        lambda: [said["message"] for said in client.heard("window/logMessage") if name in said["message"]],
        "nothing was said of it", 10,
    )


@pytest.mark.parametrize("make", KINDS)
def test_one_that_is_changed_and_closed(session, folder, make):
    """While it is open, the editor's text is checked as that of any document."""
    path = folder / "odd.office"
    make(path)
    client = session("eglot", folder)
    text = client.open(path, slip(2))
    assert codes(text.results()) == ["field-unknown"]
    text.close()
    client.notify("workspace/didChangeWatchedFiles", {"changes": [{"uri": uri(path), "type": 2}]})
    client.results_once(text.uri, lambda them: them == [])
    told(client, "odd.office")
    lives(client, folder)


@pytest.mark.parametrize("make", KINDS)
def test_one_that_a_file_uses(session, folder, make):
    make(folder / "parts" / "kit.office")
    client = session("eglot", folder)
    text = client.open(folder / "o2.office", "use parts/kit\n" + clean(2))
    assert codes(text.results())[0] in ("use-not-found", "use-outside-repository")
    lives(client, folder)


@pytest.mark.parametrize("make", KINDS)
def test_one_in_place_of_settings(session, folder, make):
    (folder / "drysheath.toml").unlink()
    make(folder / "drysheath.toml")
    client = session("eglot", folder)
    told(client, "drysheath.toml")
    lives(client, folder)


def test_the_servers_own_input(session, folder):
    """Its address can be opened as that of any file, and reading it would take the client's words away."""
    client = session("eglot", folder)
    text = client.open("file:///dev/stdin", slip(3))
    assert codes(text.results()) == ["field-unknown"]
    text.close()
    for name in ("stdin", "stdin.office", "fd/0"):
        client.notify("workspace/didChangeWatchedFiles", {"changes": [{"uri": f"file:///dev/{name}", "type": 2}]})
    # It is in no folder, so that nothing is asked of it once it is closed.
    lives(client, folder)
