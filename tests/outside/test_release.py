"""What `cargo xtask dist` writes: the same bytes twice, all that a user installs, and a bill of materials by its published schema."""

import hashlib
import json
import pathlib
import re
import subprocess
import tarfile
import tomllib
import zipfile

import pytest

from conftest import ROOT
from late import Late

cyclonedx, validation = Late("cyclonedx.schema"), Late("cyclonedx.validation.json")


@pytest.fixture(scope="module")
def program(command, tmp_path_factory):
    """The program without its symbols, which are most of it and take long to pack."""
    stripped = tmp_path_factory.mktemp("program") / "drysheath"
    subprocess.run(["strip", "-o", stripped, command], check=True)
    return stripped


@pytest.fixture(scope="module")
def written(program, tmp_path_factory):
    """Two archives of a program that is built already: to build it for release takes minutes."""
    folders = [tmp_path_factory.mktemp(name) for name in ("one", "other")]
    for folder in folders:
        words = ["cargo", "xtask", "dist", "--program", program, "--to", folder]
        done = subprocess.run(words, cwd=ROOT, capture_output=True, text=True)
        assert done.returncode == 0, done.stderr
        assert re.search(r"^start: [0-9.]+ ms", done.stdout, re.MULTILINE), done.stdout
    return folders


@pytest.fixture(scope="module")
def files(written):
    """What is in the archive, by path below its own folder."""
    (path,) = written[0].glob("*.tar.gz")
    with tarfile.open(path) as archive:
        members = archive.getmembers()
        name = path.name.removesuffix(".tar.gz")
        assert all(one.isfile() and one.name.startswith(f"{name}/") and ".." not in one.name for one in members)
        assert [one.name for one in members] == sorted(one.name for one in members)
        assert {(one.uid, one.gid, one.uname) for one in members} == {(0, 0, "")} and len({one.mtime for one in members}) == 1
        assert [one.name for one in members if one.mode & 0o111] == [f"{name}/drysheath"]
        return {one.name.removeprefix(f"{name}/"): archive.extractfile(one).read() for one in members}


def test_the_same_bytes_twice(written):
    one, other = ({path.name: path.read_bytes() for path in folder.iterdir()} for folder in written)
    assert len(one) == 2 and one == other


def test_the_checksum_is_that_of_the_archive(written):
    (sums,) = written[0].glob("*.sha256")
    digest, name = sums.read_text(encoding="utf-8").split()
    assert hashlib.sha256((written[0] / name).read_bytes()).hexdigest() == digest


def test_windows_gets_the_same_as_a_zip(files, program, tmp_path):
    target = "x86_64-pc-windows-gnu"
    for name in ("one", "other"):
        # Which program it is makes no difference to the archive. Without one for the manual pages, Cargo would build all libraries
        # once more, without the features that only tests want.
        words = ["cargo", "xtask", "dist", "--program", program, "--manuals-of", program, "--target", target]
        words += ["--to", tmp_path / name]
        done = subprocess.run(words, cwd=ROOT, capture_output=True, text=True)
        assert done.returncode == 0, done.stderr
    one, other = ({path.name: path.read_bytes() for path in (tmp_path / name).iterdir()} for name in ("one", "other"))
    assert one == other
    (path,) = (tmp_path / "one").glob("*.zip")
    with zipfile.ZipFile(path) as archive:
        assert archive.testzip() is None
        members = archive.infolist()
    assert len({one.date_time for one in members}) == 1 and members[0].date_time[0] > 2000
    names = {one.filename.removeprefix(f"{path.stem}/") for one in members}
    assert names == (files.keys() - {"drysheath"}) | {"drysheath.exe"}


def test_all_that_is_installed_is_there(files, command, program):
    assert files["drysheath"] == program.read_bytes()
    helped = subprocess.run([command, "--help"], check=True, capture_output=True, text=True).stdout
    commands = set(re.findall(r"^  ([a-z-]+) ", helped.split("Commands:")[1].split("Options:")[0], re.MULTILINE)) - {"help"}
    assert len(commands) > 10
    pages = {path.removeprefix("man/man1/") for path in files if path.startswith("man/")}
    assert pages == {"drysheath.1"} | {f"drysheath-{name}.1" for name in commands}
    assert len([path for path in files if path.startswith("completions/")]) == 5
    tracked = subprocess.run(["git", "ls-files", "editors"], cwd=ROOT, check=True, capture_output=True, text=True).stdout.split()
    assert {path for path in files if path.startswith("editors/")} == {path for path in tracked if not path.startswith("editors/vscode/")}
    for path in ("LICENSE", "README.md", "CHANGES.md", "LICENCES.md", "libraries.cdx.json"):
        assert files[path], path


def test_the_libraries_are_those_of_the_lock_file_by_the_published_schema(files):
    text = files["libraries.cdx.json"].decode()
    assert validation.JsonStrictValidator(cyclonedx.SchemaVersion.V1_6).validate_str(text) is None
    document = json.loads(text)
    locked = {(one["name"], one["version"]): one.get("checksum") for one in tomllib.loads((ROOT / "Cargo.lock").read_text(encoding="utf-8"))["package"]}
    listed = {(one["name"], one["version"]): one["hashes"][0]["content"] for one in document["components"]}
    assert len(listed) > 100 and listed.items() <= locked.items()
    # What only tests and builds use is not in the program.
    names = {name for name, _ in listed}
    assert {"clap", "tower-lsp", "libmimalloc-sys"} <= names and not names & {"proptest", "bolero", "divan", "cc", "tar"}
    # Every reference leads to a component.
    known = {one["bom-ref"] for one in document["components"]} | {document["metadata"]["component"]["bom-ref"]}
    assert {one["ref"] for one in document["dependencies"]} == known
    assert {used for one in document["dependencies"] for used in one["dependsOn"]} <= known


def test_every_library_has_its_licence(files):
    page = files["LICENCES.md"].decode()
    components = json.loads(files["libraries.cdx.json"])["components"]
    for one in components:
        called = f"{one['name']} {one['version']}"
        assert f"| {called} | {one['licenses'][0]['expression']} |" in page
        # Beside the table: above a text, or where it is said whose text it has.
        assert len(re.findall(rf"(^|[ ,]){re.escape(called)}\b", page, re.MULTILINE)) >= 2, called


def test_no_path_of_the_machine_is_in_it(files):
    home = str(pathlib.Path.home()).encode()
    for path, content in files.items():
        # A program for development has its sources' places in it.
        assert path == "drysheath" or (str(ROOT).encode() not in content and home + b"/.cargo" not in content), path
