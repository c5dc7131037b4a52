"""What lint writes for programs and for pull requests: valid in the eyes of others, the same whatever the order and the threads, and
true to a baseline."""

import collections
import json
import re
import shutil
import subprocess

import pytest
from lxml import etree

import forms
from conftest import ROOT

FOLDERS = ["county", "faults"]
DAY = "2026-11-01"


@pytest.fixture(scope="session")
def lint(command, tmp_path_factory):
    """Lints, and gives the exit code and what each form says."""
    out = tmp_path_factory.mktemp("out")

    def run(folder, *arguments, paths=(".",), names=("sarif", "json", "markdown", "junit")):
        files = {name: out / name for name in names}
        outputs = [word for name, path in files.items() for word in ("--output", f"{name}={path}")]
        words = [command, "lint", *map(str, paths), "--today", DAY, *map(str, arguments), *outputs]
        ended = subprocess.run(words, cwd=folder, stderr=subprocess.DEVNULL)
        return ended.returncode, {name: path.read_bytes().decode("utf-8") for name, path in files.items()}

    return run


@pytest.fixture
def county(tmp_path):
    shutil.copytree(ROOT / "tests/county", tmp_path / "county")
    return tmp_path / "county"


def many(folder, offices):
    """A folder with many offices that have four results each."""
    shutil.copytree(ROOT / "tests/faults/parts", folder / "parts")
    (folder / "drysheath.toml").write_text("language = 1\n", encoding="utf-8")
    text = (ROOT / "tests/faults/several-slips.office").read_text(encoding="utf-8")
    for number in range(offices):
        text_of_this = text.replace("FLT099", f"M{number:05}").replace("several-slips", f"office-{number:05}")
        (folder / f"{number:05}.office").write_text(text_of_this, encoding="utf-8")


def awkward(folder):
    """A folder with what forms trip over: names and texts with bars, brackets, quotes and other alphabets, a file that is not
    UTF-8, one without results, settings that cannot be understood."""
    folder.mkdir(exist_ok=True)
    (folder / "drysheath.toml").write_text("language = 1\n[levels]\nno-such-rule = 3\n", encoding="utf-8")
    (folder / "a | b.office").write_text('office a { title "x | y <b> & \\\\| \\"z\\" 漏" stage planned }\r\nvalve v1 { }\r\n', encoding="utf-8")
    (folder / "größe.office").write_text('office b { title "\U0001f600 é" stage plannd }\nvalve v1 { rating 3 }\n', encoding="utf-8")
    (folder / "bad.office").write_bytes(b'office c {\n  title "caf\xe9"\n}\n')
    (folder / "empty.office").write_text("", encoding="utf-8")


@pytest.fixture(scope="session")
def logs(lint, tmp_path_factory):
    """SARIF logs of all sorts."""
    made = tmp_path_factory.mktemp("logs")
    odd = tmp_path_factory.mktemp("odd") / "two words"
    awkward(odd)
    told = {name: lint(ROOT / "tests" / name, names=["sarif"])[1]["sarif"] for name in FOLDERS}
    told["whole-paths"] = lint(odd, paths=[ROOT / "tests/faults/pairs"], names=["sarif"])[1]["sarif"]
    told["awkward"] = lint(odd, names=["sarif"])[1]["sarif"]
    told["unreadable"] = lint(odd, paths=["empty.office", "gone | é.office"], names=["sarif"])[1]["sarif"]
    told["nothing"] = lint(odd, paths=["empty.office"], names=["sarif"])[1]["sarif"]
    paths = {}
    for name, log in told.items():
        paths[name] = made / f"{name}.sarif"
        paths[name].write_text(log, encoding="utf-8")
    # Half of it known, half of it new, and something gone.
    log = json.loads(told["faults"])
    results = log["runs"][0]["results"]
    for result in results[::2]:
        result["partialFingerprints"]["drysheath/v1"] += "0"
    baseline = made / "baseline.json"
    baseline.write_text(json.dumps(log), encoding="utf-8")
    _, told = lint(ROOT / "tests/faults", "--baseline", baseline, names=["sarif"])
    paths["baseline"] = made / "with-baseline.sarif"
    paths["baseline"].write_text(told["sarif"], encoding="utf-8")
    return paths


BROKEN = {"ruleIndex": 5000, "level": "grave", "message": {}}
"""What a result may not say, each of which makes a log wrong."""


@pytest.fixture(scope="session")
def sarif(logs, tmp_path_factory):
    """What the checkers say of those logs, of one with a single result, and of wrong ones made from that: all at once, since the checker of
    npm takes long to start and to read the texts of all rules."""
    made = tmp_path_factory.mktemp("broken")
    single = json.loads(logs["faults"].read_text(encoding="utf-8"))
    run = single["runs"][0]
    result, driver = run["results"][0], run["tool"]["driver"]
    run["results"], driver["rules"], result["ruleIndex"] = [result], [driver["rules"][result["ruleIndex"]]], 0
    paths = {**logs, **{name: made / f"{name}.sarif" for name in ("single", *BROKEN)}}
    paths["single"].write_text(json.dumps(single), encoding="utf-8")
    for key, value in BROKEN.items():
        run["results"] = [{**result, key: value}]
        paths[key].write_text(json.dumps(single), encoding="utf-8")
    complaints = forms.sarif_complaints(list(paths.values()))
    return {name: complaints[path] for name, path in paths.items()}


def test_sarif(logs, sarif):
    assert not [complaint for name in [*logs, "single"] for complaint in sarif[name]]


@pytest.mark.parametrize("key", BROKEN)
def test_sarif_checkers_can_complain(key, sarif):
    assert sarif[key]


def test_sarif_holds_what_it_should(logs):
    run = json.loads(logs["faults"].read_text(encoding="utf-8"))["runs"][0]
    rules = run["tool"]["driver"]["rules"]
    texts = {}
    for result in run["results"]:
        assert rules[result["ruleIndex"]]["id"] == result["ruleId"]
        assert result["partialFingerprints"]["drysheath/v1"]
        place = result["locations"][0]["physicalLocation"]
        path = ROOT / "tests/faults" / place["artifactLocation"]["uri"]
        region = place["region"]
        text = texts.setdefault(path, path.read_bytes())
        marked = text[region["byteOffset"] :][: region["byteLength"]]
        if path.name == "text-not-utf8.office":
            continue
        whole = text.decode("utf-8")
        assert marked.decode("utf-8") == whole[region["charOffset"] :][: region["charLength"]]
        lines = whole[: region["charOffset"]].split("\n")
        assert (len(lines), len(lines[-1]) + 1) == (region["startLine"], region["startColumn"])
    fingerprints = [result["partialFingerprints"]["drysheath/v1"] for result in run["results"]]
    assert len(set(fingerprints)) == len(fingerprints)
    county = json.loads(logs["county"].read_text(encoding="utf-8"))["runs"][0]["results"]
    accepted = [result for result in county if "suppressions" in result]
    assert accepted and all(result["suppressions"][0]["justification"] for result in accepted)
    assert any("fixes" in result for result in run["results"])
    assert any("relatedLocations" in result for result in run["results"])
    for rule in rules:
        assert rule["help"]["markdown"] and rule["helpUri"] and rule["defaultConfiguration"]["level"]
    assert all(artifact["hashes"]["sha-256"] for artifact in run["artifacts"])
    unreadable = json.loads(logs["unreadable"].read_text(encoding="utf-8"))["runs"][0]["invocations"][0]
    (notification,) = unreadable["toolExecutionNotifications"]
    assert not unreadable["executionSuccessful"] and "gone" in notification["message"]["text"]
    assert notification["locations"][0]["physicalLocation"]["artifactLocation"]["uri"] == "gone%20%7C%20%C3%A9.office"
    states = collections.Counter(
        result["baselineState"]
        for result in json.loads(logs["baseline"].read_text(encoding="utf-8"))["runs"][0]["results"]
    )
    assert set(states) == {"new", "unchanged", "absent"}, states


@pytest.mark.parametrize("name", [*FOLDERS, "awkward"])
def test_json_markdown_junit(name, lint, tmp_path):
    folder = ROOT / "tests" / name
    if name == "awkward":
        folder = tmp_path / name
        awkward(folder)
    _, told = lint(folder)
    assert not forms.json_complaints(json.loads(told["json"]), "results.schema.json")
    assert not forms.junit_complaints(told["junit"].encode())
    found = json.loads(told["json"])
    failing = [result for result in found["results"] if result["level"] == "error" and not result["accepted"]]
    assert int(etree.fromstring(told["junit"].encode()).get("failures")) == len(failing)
    shown = [result for result in found["results"] if not result["accepted"]]
    check_markdown(told["markdown"], len(shown))


def is_coverage(table):
    """Whether a table counts comparisons and lists no results."""
    return table[0][0] == "what is compared"


def check_markdown(page, results):
    tables = forms.tables(page)
    rows = [row for table in tables if not is_coverage(table) for row in table[1:]]
    # What does not fit into a comment is counted in its last line.
    left_out = re.search(r"(\d+) lines more did not fit", page.splitlines()[-1])
    assert len(rows) + (int(left_out[1]) if left_out else 0) == results
    for table in tables:
        assert {len(row) for row in table} == {4}
    for row in forms.written_rows(page):
        assert len(row) == 4, row
    assert len(page) < 60_000


def test_markdown_is_cut_and_says_so(lint, tmp_path):
    many(tmp_path, 1250)
    _, told = lint(tmp_path, names=["json", "markdown"])
    results = len(json.loads(told["json"])["results"])
    assert results >= 5000
    page = told["markdown"]
    assert 55_000 < len(page) < 60_000
    rows = [row for table in forms.tables(page) if not is_coverage(table) for row in table[1:]]
    left_out = results - len(rows)
    assert f"{left_out} lines more did not fit" in page.splitlines()[-1], page[-300:]
    # A cut page is still whole: nothing opened stays open, and a baseline's three parts all get their word.
    log = tmp_path / "baseline.sarif"
    log.write_text(lint(tmp_path, names=["sarif"])[1]["sarif"], encoding="utf-8")
    _, told = lint(tmp_path, "--baseline", log, names=["markdown"])
    page = told["markdown"]
    assert page.count("<details>") == page.count("</details>") == 2 and len(page) < 60_000
    assert f"As before: {results}" in page and "did not fit" in page


def baseline(lint, folder, path):
    path.write_text(lint(folder, names=["sarif"])[1]["sarif"], encoding="utf-8")


def against(lint, folder, log):
    code, told = lint(folder, "--baseline", log, names=["json"])
    found = json.loads(told["json"])
    new = [result for result in found["results"] if result["state"] == "new" and not result["accepted"]]
    return code, new, found["gone"]


def test_a_baseline_makes_the_same_run_pass(lint, tmp_path):
    folder = tmp_path / "faults"
    shutil.copytree(ROOT / "tests/faults", folder)
    # Settings and bytes that cannot be read keep a run from passing, rightly: they are not results.
    assert lint(folder, names=["json"])[0] == 1
    log = tmp_path / "baseline.sarif"
    baseline(lint, folder, log)
    assert against(lint, folder, log) == (0, [], [])
    # Lines move, layout changes.
    for path in folder.rglob("*.office"):
        text = path.read_bytes()
        path.write_bytes(b"# A line more.\n\n\n# And another.\n" + text)
    code, new, gone = against(lint, folder, log)
    assert (code, new, gone) == (0, [], [])
    # One more fault.
    slip = folder / "clean.office"
    clean = slip.read_text(encoding="utf-8")
    slip.write_text(clean.replace("-> ogb", "-> ogbb", 1), encoding="utf-8")
    code, new, gone = against(lint, folder, log)
    assert (code, len(new), gone) == (1, 1, []), new
    slip.write_text(clean, encoding="utf-8")
    # One fault mended.
    slips = folder / "several-slips.office"
    text = slips.read_text(encoding="utf-8")
    slips.write_text(text.replace("{ set 10 }", "{ set 10 psi }"), encoding="utf-8")
    code, new, gone = against(lint, folder, log)
    assert (code, new, len(gone)) == (0, [], 1), (new, gone)
    assert gone[0]["rule"] == "unit-missing"


def test_order_and_threads_change_no_byte(lint, county):
    faults = county.parent / "faults"
    shutil.copytree(ROOT / "tests/faults", faults)
    names = ["text", "sarif", "json", "markdown", "junit"]
    paths = sorted(path.relative_to(county.parent) for path in county.parent.rglob("*.office"))
    told = [
        lint(county.parent, "--threads", threads, paths=given, names=names)
        for threads in (1, 2, 8)
        for given in (paths, paths[::-1], paths[1::2] + paths[::2])
    ]
    assert all(other == told[0] for other in told)
    folders = [
        lint(county.parent, "--threads", threads, paths=given, names=names)
        for threads in (1, 2, 8)
        for given in (["county", "faults"], ["faults", "county"])
    ]
    assert all(other == folders[0] for other in folders)
