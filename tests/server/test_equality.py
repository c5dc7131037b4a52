"""The server and the command report the same results for every file of the county and of the faults, whatever the client."""

import pathlib
import shutil
from urllib.parse import unquote, urlparse

import pytest
from client import PROFILES, ROOT
from lint import becomes, printed, told

FOLDERS = ["county", "faults"]


@pytest.fixture(scope="session")
def expected(program):
    """What the command says of a whole folder, by file. It reads the same files on the same day."""
    import subprocess

    def run(folder):
        done = subprocess.run(
            [str(program), "lint", ".", "--output", "json"], cwd=folder, capture_output=True, text=True, encoding="utf-8"
        )
        assert done.returncode in (0, 1), done.stderr
        return printed(done.stdout)

    return run


def text_of(path):
    return path.read_bytes().decode("utf-8", errors="replace")


def path_of(address):
    return pathlib.Path(unquote(urlparse(address).path))


def all_told(folder, by_address, encoding):
    results = []
    for address, diagnostics in by_address.items():
        path = path_of(address)
        results += told(str(path.relative_to(folder)), text_of(path), diagnostics, encoding)
    return sorted(results)


@pytest.mark.parametrize("name", PROFILES)
@pytest.mark.parametrize("folder", FOLDERS)
def test_closed_files(session, tmp_path, expected, folder, name):
    """What nobody has open is found by itself."""
    folder = pathlib.Path(shutil.copytree(ROOT / "tests" / folder, tmp_path / folder, symlinks=True))
    wanted = expected(folder)
    client = session(name, folder)

    def now():
        if name == "vscode":
            report = client.request("workspace/diagnostic", {"previousResultIds": []})
            by_address = {item["uri"]: item["items"] for item in report["items"] if item["kind"] == "full"}
        else:
            by_address = {it["uri"]: it["diagnostics"] for it in client.heard("textDocument/publishDiagnostics")}
        return all_told(folder, by_address, client.encoding)

    becomes(client, now, wanted)


@pytest.mark.parametrize("name", ["ale", "kakoune", "vscode"])
@pytest.mark.parametrize("folder", FOLDERS)
def test_open_files(session, tmp_path, expected, folder, name):
    """What is open gives the same, now by the editor's text."""
    folder = pathlib.Path(shutil.copytree(ROOT / "tests" / folder, tmp_path / folder, symlinks=True))
    wanted = expected(folder)
    unreadable = {result.file for result in wanted if result.rule in ("text-not-utf8", "text-with-mark")}
    client = session(name, folder)
    files = [path for path in sorted(folder.rglob("*.office")) if not path.is_symlink()]
    texts = {path: client.open(path, text_of(path)) for path in files if str(path.relative_to(folder)) not in unreadable}
    assert len(texts) > 15

    def now(path):
        items = texts[path].pulled()["items"] if name == "vscode" else texts[path].results()
        return told(str(path.relative_to(folder)), texts[path].text, items, client.encoding)

    for path in texts:
        of_file = [result for result in wanted if result.file == str(path.relative_to(folder))]
        becomes(client, lambda path=path: now(path), of_file)


@pytest.mark.parametrize("name", PROFILES)
def test_behind_wide_characters(session, lint, tmp_path, name):
    """A slip behind an emoji and a combining accent in the same line: the ranges are counted as agreed."""
    path = tmp_path / "wide.office"
    text = '# 👩🏽‍🔧 ﬁrst\noffice wide { title "Bru\u0308cke 🧭 é", stagge installed, site "WIDE01" }\ncable c1 { pears 50 } # 🧵\n'
    path.write_text(text, encoding="utf-8")
    client = session(name, tmp_path)
    buffer = client.open(path)
    results = buffer.pulled()["items"] if name == "vscode" else buffer.results()
    pieces = {buffer.piece(one["range"]) for one in results}
    assert {"stagge", "pears"} <= pieces, pieces
    assert told(str(path), text, results, client.encoding) == printed(lint(path))
    # Edits behind them arrive where they are meant.
    buffer.replace("stagge installed", "stage installed")
    buffer.replace("pears 50", "pairs 50")
    buffer.replace("é", "🧶é")
    after = buffer.pulled()["items"] if name == "vscode" else buffer.results()
    assert told(str(path), buffer.text, after, client.encoding) == printed(lint(path, buffer.text))
