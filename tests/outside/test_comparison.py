"""What compare writes: its JSON by its schema and with counts that balance, its Markdown as a renderer sees it."""

import json
import shutil
import subprocess

import pytest

import forms
from conftest import ROOT

DAY = "2026-11-01"


@pytest.fixture(scope="module")
def folders(tmp_path_factory):
    """A county before and after changes of every sort."""
    before = tmp_path_factory.mktemp("before") / "county"
    shutil.copytree(ROOT / "tests/county", before)
    after = tmp_path_factory.mktemp("after") / "county"
    shutil.copytree(before, after)

    def edit(path, old, new):
        text = (after / path).read_text(encoding="utf-8")
        assert old in text, (path, old)
        (after / path).write_text(text.replace(old, new, 1), encoding="utf-8")

    edit("parts/field-sensors.office", "0 .. 10 psi", "0 .. 4 psi")
    edit("offices/gorse-bank.office", "set 6 psi", "set 5 psi")
    edit("offices/gorse-bank.office", "contact door ", "contact gate ")
    edit("offices/gorse-bank.office", "wire door ", "wire gate ")
    edit("offices/gorse-bank.office", "c1 pair 25", "c1 pair 1")
    edit("offices/ashlar-cross.office", "\n", "\n# A bar | and <b>brackets</b>.\n")
    (after / "offices/brackenmoor.office").rename(after / "offices/moved.office")
    (after / "offices/dunlin-marsh.office").unlink()
    faulty = (ROOT / "tests/faults/several-slips.office").read_text(encoding="utf-8")
    (after / "offices/new.office").write_text(faulty, encoding="utf-8")
    edit("drysheath.toml", "language = 1\n", "language = 1\n[practice]\nleak-size = \"4 scfh\"\n")
    return before, after


@pytest.fixture(scope="module")
def compare(command, folders):
    def run(form, *arguments, folders=folders):
        words = [command, "compare", *map(str, folders), "--today", DAY, "--output", form, *arguments]
        ended = subprocess.run(words, cwd=ROOT, stdout=subprocess.PIPE, check=False)
        return ended.returncode, ended.stdout.decode("utf-8")

    return run


def test_schema(compare, folders):
    code, told = compare("json")
    assert code == 0
    assert not forms.json_complaints(json.loads(told), "comparison.schema.json")
    same = compare("json", folders=folders[:1] * 2)[1]
    assert not forms.json_complaints(json.loads(same), "comparison.schema.json")


def test_counts_balance(compare):
    told = json.loads(compare("json")[1])
    summary = told["summary"]
    kept = summary["changed"] + summary["same_meaning"] + summary["touched"] + summary["not_compared"] + summary["untouched"]
    assert summary["offices_after"] == kept + summary["added"]
    assert summary["offices_before"] == kept + summary["removed"]
    results = [office["results"] for office in told["offices"] + told["parts_files"]] + [told["across_files"]]
    assert sum(summary["new"].values()) == sum(len(one["new"]) for one in results) > 0
    assert summary["gone"] == sum(len(one["gone"]) for one in results)
    (part,) = (part for file in told["parts_files"] for part in file["parts"])
    touched = [office for office in told["offices"] if part["name"] in office["parts"]]
    assert part["offices"] == len(touched) > 1
    assert part["worse"] == sum(office["worse"] for office in touched) > 0
    assert compare("text", "--fail-on", "note")[0] == 1


def test_turned_round(compare, folders):
    """What is new one way is gone the other way."""
    there = json.loads(compare("json")[1])
    back = json.loads(compare("json", folders=folders[::-1])[1])
    assert sum(there["summary"]["new"].values()) == back["summary"]["gone"]
    assert sum(back["summary"]["new"].values()) == there["summary"]["gone"]
    assert there["summary"]["added"] == back["summary"]["removed"]
    assert there["summary"]["changed"] == back["summary"]["changed"]


def test_markdown(compare):
    code, told = compare("markdown")
    assert code == 0 and len(told) < 60_000
    tables = forms.tables(told)
    rows = forms.written_rows(told)
    # Each table has a line of dashes between its head and its rows.
    assert sum(map(len, tables)) + len(tables) == len(rows)
    for table in tables:
        assert len({len(row) for row in table}) == 1, table[0]
    heads = [table[0] for table in tables]
    assert ["office", "what", "which", "before", "now"] in heads
    assert any("c1 pair 25" in cell for table in tables for row in table for cell in row)
