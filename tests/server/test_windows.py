"""The server as it is built for Windows, run by Wine: addresses as editors there write them. On request, since a build for that target takes
minutes: DRYSHEATH_WINDOWS names the `drysheath.exe`. DEVELOPERS.md says how to build it."""

import os
import shutil
import subprocess

import pytest
from client import Client, profile
from harness.debian import give_up
from harness.wine import prepare

PROGRAM = os.environ.get("DRYSHEATH_WINDOWS")
pytestmark = [pytest.mark.on_request, pytest.mark.xdist_group("wine")]
OFFICE = """\
use parts/blocks

office {name} {{ title "Office", site "{name}01", elevation 120 m, coldest -25 degC, stage planned }}
block tb : block-5
spare tb pair rest
"""
PARTS = "part block block-5 { pairs 5 }\n"
ERROR = OFFICE.replace("stage planned", "stagge planned")
FORMS = ["file:///c%3A/work%20place", "file:///C:/work%20place", "file:///c:/work%20place"]
"""The address of one folder, as editors write it."""


@pytest.fixture(scope="session")
def wine(tmp_path_factory):
    """The environment of a Windows of its own."""
    if not PROGRAM or not shutil.which("wine"):
        give_up("this wants DRYSHEATH_WINDOWS, and wine (Debian: apt-get install wine64 wine)")
    environment = prepare(tmp_path_factory.mktemp("wine"))
    yield environment
    subprocess.run(["wineserver", "-k"], env=environment, check=False)


@pytest.fixture
def folder(wine):
    """The folder `C:\\work place`, a repository with two offices and a file of parts."""
    folder = f"{wine['WINEPREFIX']}/drive_c/work place"
    shutil.rmtree(folder, ignore_errors=True)
    for name, text in {
        "drysheath.toml": "language = 1\n",
        "offices/elm.office": OFFICE.format(name="elm"),
        "offices/oak.office": OFFICE.format(name="oak"),
        "parts/blocks.office": PARTS,
    }.items():
        path = os.path.join(folder, name)
        os.makedirs(os.path.dirname(path), exist_ok=True)
        with open(path, "w", encoding="utf-8", newline="") as file:
            file.write(text.replace("\n", "\r\n"))
    return folder


@pytest.fixture
def session(wine, folder, monkeypatch):
    """Begins a session in the folder of that address."""
    for name in ("WINEPREFIX", "WINEDEBUG"):
        monkeypatch.setenv(name, wine[name])
    clients = []

    def begin(address, client="vscode"):
        one = Client(["wine", PROGRAM, "lsp"])
        clients.append(one)
        announced = profile(client)
        one.request(
            "initialize",
            {
                "processId": None,
                "clientInfo": announced["client"],
                "capabilities": announced["capabilities"],
                "rootUri": address,
                "workspaceFolders": [{"uri": address, "name": "work place"}],
            },
        )
        one.notify("initialized", {})
        return one

    yield begin
    for one in clients:
        one.close()


def open_text(client, address, text):
    client.notify("textDocument/didOpen", {"textDocument": {"uri": address, "languageId": "office", "version": 1, "text": text}})


def pulled(client, address):
    answer = client.request("textDocument/diagnostic", {"textDocument": {"uri": address}})
    return [one["code"] for one in answer["items"]]


def same(address):
    """An address without what each side writes as it likes."""
    return address.replace("%3A", ":").replace("%3a", ":").replace("%20", " ").replace("file:///C:", "file:///c:")


@pytest.mark.parametrize("address", FORMS)
def test_one_file_is_one_file_however_its_address_is_written(session, folder, address):
    client = session(address)
    text = OFFICE.format(name="elm").replace("\n", "\r\n")
    for form in FORMS:
        # The text in the editor beats the one on the disk, whose folder the server has found in another form.
        open_text(client, f"{form}/offices/elm.office", text.replace("stage planned", "stagge planned"))
        assert pulled(client, f"{form}/offices/elm.office") == ["field-unknown"]
        client.notify("textDocument/didClose", {"textDocument": {"uri": f"{form}/offices/elm.office"}})
        assert pulled(client, f"{form}/offices/elm.office") == []


def test_what_leads_to_another_file_names_it(session):
    client = session(FORMS[0])
    elm = f"{FORMS[0]}/offices/elm.office"
    text = OFFICE.format(name="elm")
    open_text(client, elm, text)
    line = text.splitlines().index("block tb : block-5")
    place = {"textDocument": {"uri": elm}, "position": {"line": line, "character": 13}}
    found = client.request("textDocument/definition", place)
    found = found if isinstance(found, list) else [found]
    assert [same(one.get("targetUri") or one["uri"]) for one in found] == [same(f"{FORMS[0]}/parts/blocks.office")]
    links = client.request("textDocument/documentLink", {"textDocument": {"uri": elm}})
    assert same(f"{FORMS[0]}/parts/blocks.office") in [same(one["target"]) for one in links]
    renamed = client.request("textDocument/rename", {**place, "newName": "block-five"})
    changed = [one["textDocument"]["uri"] for one in renamed["documentChanges"]] if "documentChanges" in renamed else list(renamed["changes"])
    assert sorted(map(same, changed)) == [same(f"{FORMS[0]}/{name}") for name in ("offices/elm.office", "offices/oak.office", "parts/blocks.office")]


def test_a_change_on_the_disk_is_followed(session, folder):
    client = session(FORMS[0])
    oak = f"{FORMS[0]}/offices/oak.office"
    assert pulled(client, oak) == []
    with open(f"{folder}/offices/oak.office", "w", encoding="utf-8", newline="") as file:
        file.write(ERROR.format(name="oak"))
    client.notify("workspace/didChangeWatchedFiles", {"changes": [{"uri": oak, "type": 2}]})
    assert pulled(client, oak) == ["field-unknown"]
    assert client.quit() == 0
