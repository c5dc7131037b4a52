"""A repository whose texts, names of files and settings try to act on whatever shows them: a terminal, a log of a CI host, a page of
Markdown, a spreadsheet, a picture. Every output of every command is read by a library that such a reader could use, and must hold nothing
but text."""

import csv
import io
import json
import re
import shutil
import subprocess
import unicodedata

import pytest
from lxml import etree
from markdown_it import MarkdownIt

from conftest import ROOT

HOSTILE = [
    "\x1b]0;owned\x07\x1b[2J\x1b[8m",
    "\x9b31m and \x90q\x9c",
    "over\x08\x08\x08\x7f",
    "a\u202egnirts\u2066\u2028b\u200b",
    "::error file=x,line=1::y",
    "##vso[task.setvariable variable=x]y ##[command]z",
    "##teamcity[buildStatus status='SUCCESS']",
    "[a](http://192.0.2.1) ![b](http://192.0.2.1/b.png)",
    "<img src=http://192.0.2.1> <script>alert(1)</script> </details>",
    "@everyone #1 https://192.0.2.1 www.example.org a@example.org",
    "` | `a|b` \\\\| ``` c",
    "=cmd|' /C calc'!A0",
    "+1-1@SUM(1)",
    "/close",
    "# head",
    "&lt;b&gt; &#0; ]]> <!-- ",
    "**bold** _soft_ ~~gone~~ $x$",
]

OFFICE = """\
use parts/dryers
use parts/room-sensors

office h{number} {{
    title "{text}"
    site "{text}"
    elevation 3000 ft
    stage in-service
    note "{text}"
    {text}
}}

dryer d1 : piston-150 {{ note "{text}" title "{text}" }}
monitor m1 {{ sensors 4 contacts 4 window 40 V .. 57 V link lan "{text}" }}
pressure-sensor ps1 {{ span 0 .. 15 psi link lan "{text}" }}
battery main {{ nominal -48 V }}
cable c1 {{ note "{text}" }}
air d1 supply -> c1
air d1 -> "{text}"
accept fuse-missing on m1 until 2099-01-01 because "{text}"
accept {text}
"""


def names_of_files():
    return [text.replace("/", "\u2215") for text in HOSTILE]


@pytest.fixture(scope="module")
def repository(tmp_path_factory):
    folder = tmp_path_factory.mktemp("hostile") / "##vso[x]"
    shutil.copytree(ROOT / "tests/county", folder)
    for number, (text, name) in enumerate(zip(HOSTILE, names_of_files())):
        (folder / "offices" / f"{name}.office").write_text(OFFICE.format(number=number, text=text), encoding="utf-8")
        (folder / "offices" / f"\n::error::{number}.office").write_text(OFFICE.format(number=f"{number}n", text=text), encoding="utf-8")
        if '"' not in text and "\\" not in text and all(unicodedata.category(one) != "Cc" for one in text):
            with open(folder / "drysheath.toml", "a", encoding="utf-8") as settings:
                settings.write(f'"{text}" = "{text}"\n')
    # A good office whose texts are hostile too, since a damaged one is left out of records and predictions.
    good = (folder / "offices/ashlar-cross.office").read_text(encoding="utf-8")
    for number, text in enumerate(HOSTILE):
        other = good.replace("office ashlar-cross", f"office good{number}").replace('"ASHX01"', f'"AS{number}{text}"')
        other = other.replace('"Ashlar Cross"', f'"{text}"').replace('"203.0.113.31"', f'"{text}"')
        (folder / "offices" / f"good{number}{text.replace('/', '')}.office").write_text(other, encoding="utf-8")
    git = ["git", "-c", "user.name=A", "-c", "user.email=a@example.org", "-C", folder]
    for words in (["init", "-q"], ["add", "-A"], ["commit", "-q", "-m", "x"]):
        subprocess.run([*git, *words], check=True)
    for path in (folder / "offices").glob("good*.office"):
        path.write_text(path.read_text(encoding="utf-8").replace("30 A", "20 A").replace("8 ft", "80 ft"), encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def printed(command, repository):
    """What a command prints on both its streams."""

    def run(*arguments):
        ended = subprocess.run([command, *arguments], cwd=repository, capture_output=True)
        assert ended.returncode in (0, 1, 2), ended.stderr
        assert b"panicked" not in ended.stderr
        return ended.stdout.decode("utf-8"), ended.stderr.decode("utf-8")

    return run


COMMANDS = {
    "lint": ["lint", "."],
    "lint in colour": ["lint", ".", "--colour", "always"],
    "lint as SARIF": ["lint", ".", "--output", "sarif"],
    "lint as JSON": ["lint", ".", "--output", "json"],
    "lint as JUnit": ["lint", ".", "--output", "junit"],
    "lint as Markdown": ["lint", ".", "--output", "markdown"],
    "lint as Code Quality": ["lint", ".", "--output", "code-quality"],
    "lint counted": ["lint", ".", "--output", "counts"],
    "lint fixed": ["lint", ".", "--fix", "--diff"],
    "lint of what changed": ["lint", ".", "--since", "HEAD"],
    "predict": ["predict", "."],
    "predict as JSON": ["predict", ".", "--output", "json"],
    "how": ["predict", ".", "--how", "d1"],
    "records": ["records", "."],
    "records as CSV": ["records", ".", "--output", "csv"],
    "records as JSON": ["records", ".", "--output", "json"],
    "records since": ["records", ".", "--since", "HEAD"],
    "note": ["records", ".", "--note"],
    "compare": ["compare", "HEAD"],
    "compare in full": ["compare", "HEAD", "--all"],
    "compare as Markdown": ["compare", "HEAD", "--output", "markdown"],
    "compare as Markdown in full": ["compare", "HEAD", "--output", "markdown", "--all"],
    "compare as JSON": ["compare", "HEAD", "--output", "json"],
    "format": ["format", "--check", "."],
    "format differences": ["format", "--diff", "."],
    "names that are not there": ["lint", "\x1b]0;x\x07\n::error::", "predict"],
}


def acts_on_a_terminal(text, colours):
    """What in a text would act on a terminal or on the host of a job."""
    if colours:
        text = re.sub(r"\x1b\[[0-9;]*m", "", text)
    found = [one for one in text if unicodedata.category(one) in ("Cc", "Cf", "Zl", "Zp") and one not in "\n\t"]
    found += re.findall(r"##[a-z]*\[", text)
    found += [line for line in text.splitlines() if line.lstrip().startswith("::")]
    return found


@pytest.mark.parametrize("name", COMMANDS)
def test_nothing_acts_on_a_terminal(printed, name):
    out, err = printed(*COMMANDS[name])
    assert out or err
    # CSV ends its lines so by RFC 4180.
    out = out.replace("\r\n", "\n") if "CSV" in name else out
    assert not acts_on_a_terminal(out, colours="colour" in name)
    assert not acts_on_a_terminal(err, colours=False)


def test_annotations_are_the_commands_that_they_are_meant_to_be(printed):
    out, _ = printed("lint", ".", "--output", "annotations")
    # Nothing in a result ends its command, begins another, or sets another property of it.
    command = re.compile(r"::(error|warning|notice) (file=[^,:]+,line=\d+,endLine=\d+,title=[a-z-]+|title=drysheath)::[^\r\n]*")
    lines = out.splitlines()
    assert lines and all(command.fullmatch(line) for line in lines), out
    assert not acts_on_a_terminal("\n".join(line.lstrip(":") for line in lines), colours=False)


def test_an_accepted_reason_and_all_texts_are_still_there_for_programs(printed):
    log = json.loads(printed(*COMMANDS["predict as JSON"])[0])
    titles = {office["title"] for office in log["offices"]}
    assert set(HOSTILE[:4]) <= titles


@pytest.mark.parametrize("name", [name for name in COMMANDS if "Markdown" in name] + ["records", "records since"])
def test_markdown_holds_only_words(printed, name):
    out, _ = printed(*COMMANDS[name])
    parser = MarkdownIt("commonmark").enable("table").enable("strikethrough")
    tokens = [token for block in parser.parse(out) for token in [block, *(block.children or [])]]
    kinds = {token.type for token in tokens}
    assert "table_open" in kinds
    assert not kinds & {"image", "link_open", "html_inline", "s_open", "strong_open", "fence", "code_block"}
    html = {token.content.strip() for token in tokens if token.type == "html_block"}
    assert all(re.fullmatch(r"<details><summary>[A-Za-z ]+: \d+</summary>|</details>", block) for block in html), html
    words = "".join(token.content for token in tokens if token.type == "text")
    # What a host would make of words after the page is parsed: mentions, references, addresses.
    assert not re.search(r"@\w|#\d|://|www\.", words)
    # No cell was torn: each row has as many as its head.
    columns = None
    for token in parser.parse(out):
        if token.type == "tr_open":
            columns = 0
        if token.type in ("th_open", "td_open"):
            columns += 1
        if token.type == "tr_close":
            assert columns > 1


def test_no_cell_is_a_formula(printed):
    out, _ = printed(*COMMANDS["records as CSV"])
    cells = [cell for row in csv.reader(io.StringIO(out)) for cell in row]
    assert any(cell.startswith("'=cmd") for cell in cells)
    signed = [cell for cell in cells if cell.lstrip()[:1] in set("=+-@")]
    assert all(re.fullmatch(r"[-+]\d[\w .%°/-]*", cell) for cell in signed), signed


def test_junit_and_pictures_are_well_formed(printed, repository):
    suites = etree.fromstring(printed(*COMMANDS["lint as JUnit"])[0].encode())
    assert len(suites) > len(HOSTILE)
    printed("predict", "offices", "--pictures", "pictures")
    pictures = list((repository / "pictures").rglob("*.svg"))
    assert len(pictures) > len(HOSTILE)
    for picture in pictures:
        drawn = etree.parse(picture)
        tags = {etree.QName(element).localname for element in drawn.iter()}
        assert tags <= {"svg", "g", "title", "style", "rect", "text", "line", "polyline", "polygon", "circle"}
    shutil.rmtree(repository / "pictures")
