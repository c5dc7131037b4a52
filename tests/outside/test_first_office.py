"""The page for a first office, followed literally: each file is written, each command run in a shell, and what it prints compared."""

import os
import pathlib
import re
import shutil
import subprocess

import pytest

from conftest import ROOT

PAGE = ROOT / "grammar/first-office.md"
FILE = re.compile(r"`(offices/[a-z-]+\.office)`")
SHEET = re.compile(r"`(sheets/[^`]+)`")


def blocks():
    """The fenced blocks of the page: their language, their text, and the paragraph before them."""
    before, inside, found = [], None, []
    for line in PAGE.read_text(encoding="utf-8").splitlines():
        if line.startswith("```") and inside is None:
            inside = (line[3:], [])
        elif line == "```":
            found.append((inside[0], inside[1], " ".join(before)))
            before, inside = [], None
        elif inside is not None:
            inside[1].append(line)
        else:
            before = [*before, line] if line else (before if not before else [*before, ""])
    return found


def agrees(said, expected):
    """Whether lines are as expected; `…` stands for any number of lines."""
    if not expected:
        return not said
    if expected[0] == "…":
        return any(agrees(said[at:], expected[1:]) for at in range(len(said) + 1))
    return bool(said) and said[0].rstrip() == expected[0].rstrip() and agrees(said[1:], expected[1:])


@pytest.mark.skipif(os.name == "nt", reason="the commands are for a POSIX shell")
def test_every_command_does_what_the_page_says(command, tmp_path):
    environment = {**os.environ, "PATH": f"{pathlib.Path(command).resolve().parent}{os.pathsep}{os.environ['PATH']}"}
    assert shutil.which("git")
    folder, said, code, count = tmp_path, None, 0, {"sh": 0, "office": 0, "text": 0}
    for language, lines, before in blocks():
        count[language] += 1
        if language == "text":
            assert agrees(said.splitlines(), lines), said
            code = 0
            continue
        # What fails says why below.
        assert code == 0, said
        if language == "office":
            path = folder / FILE.findall(before)[-1]
            with path.open("a", encoding="utf-8") as file:
                file.write("\n".join(["", *lines] if path.exists() and path.stat().st_size else lines) + "\n")
            continue
        here = tmp_path / "here"
        script = "\n".join([*lines, "status=$?", f"pwd > '{here}'", "exit $status"])
        done = subprocess.run(["bash", "-c", script], cwd=folder, env=environment, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
        said, code, folder = done.stdout, done.returncode, pathlib.Path(here.read_text(encoding="utf-8").strip())
    assert code == 0, said
    # The picture of the page and of the README is the one that the program draws.
    assert (folder / "pictures/offices/mill-lane/c1.svg").read_bytes() == (ROOT / "grammar/mill-lane-c1.svg").read_bytes()
    assert count == {"sh": 9, "office": 2, "text": 5}
    assert (folder / "changes.html").stat().st_size > 1000
    # What the page tells a reader to open is there.
    sheets = SHEET.findall(PAGE.read_text(encoding="utf-8"))
    assert sheets and [path for path in sheets if not (folder / path).is_file()] == []


def test_another_output_would_be_seen():
    assert agrees(["a", "b", "c"], ["…", "c"]) and agrees(["a"], ["a", "…"])
    assert not agrees(["a", "b"], ["a"]) and not agrees(["a", "b"], ["…", "x"]) and not agrees([], ["a"])
