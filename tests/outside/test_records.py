"""The records that are handed over, read back by others: CSV by Python's reader, JSON by its schema, Markdown by a renderer."""

import csv
import io
import json
import shutil
import subprocess

import pytest

import forms
from conftest import ROOT

DAY = "2026-11-01"


@pytest.fixture(scope="module")
def told(command, tmp_path_factory):
    """What each form says of the county, alone and against a revision in which it was another."""
    county = tmp_path_factory.mktemp("county") / "county"
    shutil.copytree(ROOT / "tests/county", county)

    def git(*words):
        who = ["-c", "user.name=Nobody", "-c", "user.email=nobody@example.com"]
        subprocess.run(["git", *who, *words], cwd=county, check=True, stdout=subprocess.DEVNULL)

    git("init", "--quiet")
    git("add", ".")
    git("commit", "--quiet", "--message", "before")
    # A part that many use, a device's name, and an office that is no more.
    parts = county / "parts/field-sensors.office"
    parts.write_text(parts.read_text(encoding="utf-8").replace("0.1 psi", "0.05 psi"), encoding="utf-8")
    cross = county / "offices/ashlar-cross.office"
    cross.write_text(cross.read_text(encoding="utf-8").replace("ps-4", "ps-four"), encoding="utf-8")
    (county / "offices/gorse-bank.office").unlink()

    def run(*words):
        words = [command, "records", "offices", "--today", DAY, *words]
        return subprocess.run(words, cwd=county, stdout=subprocess.PIPE).stdout.decode("utf-8")

    forms_of = lambda *words: {name: run("--output", name, *words) for name in ("csv", "json", "markdown")}
    # Markdown shows the changed records alone unless all are wanted.
    return forms_of(), forms_of("--since", "HEAD", "--all")


@pytest.mark.parametrize("since", [0, 1])
def test_forms(since, told):
    told = told[since]
    report = json.loads(told["json"])
    assert not forms.json_complaints(report, "records.schema.json")
    records = [record for office in report["offices"] for record in office["records"]]
    withdrawn = report["since"]["withdrawn"] if since else []
    rows = list(csv.DictReader(io.StringIO(told["csv"], newline="")))
    assert all(None not in row and None not in row.values() for row in rows)
    assert [row["key"] for row in rows] == [record["key"] for record in [*records, *withdrawn]]
    assert len({record["key"] for record in records}) == len(records)
    for row, record in zip(rows, records):
        assert (row["monitor"], int(row["input"])) == (record["monitor"], record["input"])
        assert (row["span_to"] and float(row["span_to"])) == (record["span"][1] if record["span"] else "")
        assert row["block_pair"] == "; ".join(str(pair["pair"]) for pair in record["block_pairs"])
    tables = forms.tables(told["markdown"])
    for table in tables:
        assert len({len(row) for row in table}) == 1
    shown = [row for table in tables if table[0][1] == "record" and table[0][2] == "device" for row in table[1:]]
    assert [row[1] for row in shown] == [record["key"] for record in records]


def test_difference(told):
    since = json.loads(told[1]["json"])["since"]
    counts = since["counts"]
    before = [record for office in json.loads(told[0]["json"])["offices"] for record in office["records"]]
    assert counts["before"] + counts["new"] - counts["withdrawn"] == counts["after"] == len(before)
    assert counts["new"] + counts["changed"] + counts["unchanged"] == counts["after"]
    assert counts["new"] == 0 and counts["renamed"] == 1
    assert {record["office"] for record in since["withdrawn"]} == {"gorse-bank"}
    (renamed,) = [changed for changed in since["changed"] if changed["was_key"]]
    assert renamed["key"] == "ASHX01/ps-four/pressure" and renamed["was_key"] == "ASHX01/ps-4/pressure"
    others = [changed for changed in since["changed"] if not changed["was_key"]]
    # What is expected is written as finely as the sensor reports.
    fields = [{field["field"] for field in changed["fields"]} - {"expected"} for changed in others]
    assert fields and all(one == {"step"} for one in fields)
    rows = list(csv.DictReader(io.StringIO(told[1]["csv"], newline="")))
    states = [row["state"] for row in rows]
    assert states.count("withdrawn") == counts["withdrawn"] and states.count("changed") == counts["changed"]
