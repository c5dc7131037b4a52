"""What `drysheath start` writes for other programs, and the hooks that this repository offers, in the eyes of those programs."""

import os
import pathlib
import subprocess
import sys

import pytest

from conftest import ROOT
from late import Late

check_jsonschema, testing = Late("check_jsonschema"), Late("click.testing")

SCHEMAS = {".github/workflows/offices.yml": "vendor.github-workflows", ".gitlab-ci.yml": "vendor.gitlab-ci"}


@pytest.fixture
def started(drysheath, tmp_path):
    drysheath("start", tmp_path / "new")
    return tmp_path / "new"


@pytest.mark.parametrize("path", SCHEMAS)
def test_steps(path, started):
    # In this process: to load what it reads schemas with takes more than a second.
    checked = testing.CliRunner().invoke(check_jsonschema.main, ["--builtin-schema", SCHEMAS[path], str(started / path)])
    assert checked.exit_code == 0, checked.output


def pre_commit(*words, cwd, command, home):
    here = pathlib.Path(command).resolve().parent
    environment = {
        **os.environ,
        "PATH": f"{here}{os.pathsep}{os.environ['PATH']}",
        "PRE_COMMIT_HOME": str(home),
    }
    return subprocess.run(
        [sys.executable, "-m", "pre_commit", *words], cwd=cwd, env=environment, capture_output=True, text=True
    )


def test_hooks_of_a_new_repository(started, command, tmp_path):
    for words in (["init", "--quiet"], ["add", "."]):
        subprocess.run(["git", *words], cwd=started, check=True)
    run = lambda: pre_commit("run", "--all-files", cwd=started, command=command, home=tmp_path / "home")
    passed = run()
    assert passed.returncode == 0 and passed.stdout.count("Passed") == 2, passed.stdout + passed.stderr
    office = started / "offices/elm-hollow.office"
    office.write_text(office.read_text(encoding="utf-8").replace("tb pair 3 ", "tb pair 2 "), encoding="utf-8")
    failed = run()
    assert failed.returncode == 1 and "pair-assigned-twice" in failed.stdout, failed.stdout + failed.stderr


def test_hooks_on_offer(command, tmp_path):
    manifest = ROOT / ".pre-commit-hooks.yaml"
    checked = pre_commit("validate-manifest", manifest, cwd=tmp_path, command=command, home=tmp_path / "home")
    assert checked.returncode == 0, checked.stdout


def test_hooks_on_offer_run_what_there_is(started, command, tmp_path):
    tools = tmp_path / "tools"
    tools.mkdir()
    (tools / "cargo").write_text("#!/bin/sh\necho built by cargo >&2\nexit 3\n", encoding="utf-8")
    (tools / "cargo").chmod(0o755)
    here = pathlib.Path(command).resolve().parent
    run = lambda path, **environment: subprocess.run(
        ["bash", ROOT / ".ci/hook", "lint"],
        cwd=started,
        env={"PATH": path, "CARGO_TARGET_DIR": str(tmp_path / "none"), **environment},
        capture_output=True, text=True, start_new_session=True,
    )
    assert run(f"{tools}:/usr/bin:/bin", DRYSHEATH=command).returncode == 0
    assert run(f"{tools}:{here}:/usr/bin:/bin").returncode == 0
    building = run(f"{tools}:/usr/bin:/bin")
    assert building.returncode == 3 and "it is built now" in building.stderr, building


# The steps of the CI templates, run as the hosts run them: the same commands in the same order, with the same environment and files.
# What a step `uses` is the host's own business, but for what it gives to the steps.


@pytest.fixture
def change(started):
    """A repository with a commit on the main branch, and a branch with a change."""
    git = lambda *words: subprocess.run(
        ["git", "-c", "user.name=Ann Example", "-c", "user.email=ann@example.org", *words],
        cwd=started, check=True, stdout=subprocess.PIPE, text=True,
    ).stdout.strip()
    git("init", "--quiet", "--initial-branch", "main")
    git("add", ".")
    git("commit", "--quiet", "--message", "start")
    base = git("rev-parse", "HEAD")
    git("switch", "--quiet", "--create", "change")

    def edit(old, new):
        office = started / "offices/elm-hollow.office"
        text = office.read_text(encoding="utf-8")
        assert old in text
        office.write_text(text.replace(old, new), encoding="utf-8")
        git("commit", "--quiet", "--all", "--message", f"{old} is {new}")

    edit("title           \"Elm Hollow\"", "title           \"Elm Hollow, the old mill\"")
    return started, base, edit


def shell(script, cwd, command, environment, path=()):
    """What a host does with a step: bash, which stops at the first command that fails."""
    here = pathlib.Path(command).resolve().parent
    path = os.pathsep.join([*map(str, path), str(here), os.environ["PATH"]])
    kept = {name: os.environ[name] for name in ("HOME", "LANG", "TMPDIR") if name in os.environ}
    words = ["bash", "-e", "-o", "pipefail", "-c", script]
    return subprocess.run(words, cwd=cwd, env={**kept, **environment, "PATH": path}, capture_output=True, text=True)


GH = """#!/usr/bin/env python3
# Keeps the comments of a pull request in a file, as far as `gh api` is asked for them.
import json, pathlib, subprocess, sys
store = pathlib.Path(sys.argv[0]).with_name("comments.json")
comments = json.loads(store.read_text()) if store.exists() else []
words = sys.argv[2:]
assert sys.argv[1] == "api", sys.argv
option = lambda name: words[words.index(name) + 1] if name in words else None
path = next(word for word in words if word.startswith("repos/"))
method = option("--method") or "GET"
if method == "GET":
    assert path.endswith("/issues/7/comments")
    sys.stdout.write(subprocess.run(["jq", "--raw-output", option("--jq")], input=json.dumps(comments), text=True, stdout=subprocess.PIPE, check=True).stdout)
else:
    body = option("-f").removeprefix("body=")
    if method == "POST":
        assert path.endswith("/issues/7/comments")
        comments.append({"id": 100 + len(comments), "body": body})
    else:
        assert method == "PATCH"
        number = int(path.rsplit("/", 1)[1])
        next(comment for comment in comments if comment["id"] == number)["body"] = body
    store.write_text(json.dumps(comments))
"""


def test_the_steps_of_the_workflow(change, command, tmp_path):
    yaml = pytest.importorskip("yaml")
    repository, base, edit = change
    workflow = yaml.safe_load((repository / ".github/workflows/offices.yml").read_text(encoding="utf-8"))
    job = workflow["jobs"]["gate"]
    assert job["steps"][0]["with"]["fetch-depth"] == 0
    tools = tmp_path / "tools"
    tools.mkdir()
    (tools / "gh").write_text(GH, encoding="utf-8")
    (tools / "gh").chmod(0o755)
    summary = tmp_path / "summary.md"
    known = {
        "github.event.pull_request.base.sha": base,
        "github.event.pull_request.number": "7",
        "github.token": "token",
        "vars.DRYSHEATH_SOURCE": "",
    }

    def run():
        """Runs the steps; gives what failed."""
        failed, told = [], ""
        for step in job["steps"]:
            if "run" not in step or (step.get("if") == "failure()" and not failed):
                continue
            if failed and "if" not in step:
                continue
            environment = {"CI": "true", "GITHUB_REPOSITORY": "county/offices", "GITHUB_STEP_SUMMARY": str(summary)}
            for name, value in {**job["env"], **step.get("env", {})}.items():
                environment[name] = known[value.removeprefix("${{ ").removesuffix(" }}")] if "${{" in value else value
            ended = shell(step["run"], repository, command, environment, [tools])
            told += ended.stdout + ended.stderr
            if ended.returncode != 0:
                failed.append(step["run"])
                assert step["run"] == ".ci/gate", told
        return failed, told

    import json

    failed, told = run()
    assert not failed, told
    comments = json.loads((tools / "comments.json").read_text())
    assert len(comments) == 1 and "the old mill" in comments[0]["body"], comments
    assert summary.read_text(encoding="utf-8").startswith("## drysheath: nothing"), told
    assert (repository / "results/comparison-full.md").exists()
    # The next run says something else in the same comment, and fails.
    edit("tb pair 3 ", "tb pair 2 ")
    failed, told = run()
    assert failed == [".ci/gate"] and "::error file=offices/elm-hollow.office" in told, told
    comments = json.loads((tools / "comments.json").read_text())
    assert len(comments) == 1 and "pair-assigned-twice" in comments[0]["body"], comments


def test_the_steps_of_the_pipeline(change, command, tmp_path):
    import http.server
    import json
    import threading
    import urllib.parse

    yaml = pytest.importorskip("yaml")
    repository, base, edit = change
    notes = []

    class Notes(http.server.BaseHTTPRequestHandler):
        """The notes of a merge request, as far as the host's API is asked for them."""

        def answer(self, value):
            assert self.headers["PRIVATE-TOKEN"] == "secret"
            assert urllib.parse.urlparse(self.path).path.startswith("/api/v4/projects/5/merge_requests/7/notes")
            self.send_response(200)
            self.end_headers()
            self.wfile.write(json.dumps(value).encode())

        def body(self):
            read = self.rfile.read(int(self.headers["Content-Length"])).decode()
            return urllib.parse.parse_qs(read)["body"][0]

        def do_GET(self):
            self.answer(notes)

        def do_POST(self):
            notes.append({"id": 100 + len(notes), "body": self.body()})
            self.answer(notes[-1])

        def do_PUT(self):
            number = int(self.path.rsplit("/", 1)[1])
            note = next(note for note in notes if note["id"] == number)
            note["body"] = self.body()
            self.answer(note)

        def log_message(self, *_):
            pass

    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), Notes)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    job = yaml.safe_load((repository / ".gitlab-ci.yml").read_text(encoding="utf-8"))["offices"]
    environment = {
        "CI": "true",
        "CI_PROJECT_DIR": str(repository),
        "CI_PROJECT_ID": "5",
        "CI_MERGE_REQUEST_IID": "7",
        "CI_MERGE_REQUEST_DIFF_BASE_SHA": base,
        "CI_API_V4_URL": f"http://127.0.0.1:{server.server_port}/api/v4",
        "DRYSHEATH_TOKEN": "secret",
    }
    for name, value in job["variables"].items():
        for known, meant in list(environment.items()):
            value = value.replace(f"${known}", meant) if known != "CI" else value
        environment[name] = value
    assert environment["GIT_DEPTH"] == "0" and environment["BASE"] == base

    def run():
        main = shell("\n".join([*job["before_script"], *job["script"]]), repository, command, environment)
        after = shell("\n".join(job["after_script"]), repository, command, environment)
        assert after.returncode == 0, after.stderr
        return main

    try:
        passed = run()
        assert passed.returncode == 0, passed.stdout + passed.stderr
        assert len(notes) == 1 and "the old mill" in notes[0]["body"], notes
        edit("tb pair 3 ", "tb pair 2 ")
        failed = run()
        assert failed.returncode == 1, failed.stdout + failed.stderr
        assert len(notes) == 1 and "pair-assigned-twice" in notes[0]["body"], notes
    finally:
        server.shutdown()
    report = json.loads((repository / job["artifacts"]["reports"]["codequality"]).read_text(encoding="utf-8"))
    assert any(issue["check_name"] == "pair-assigned-twice" for issue in report), report


def test_a_missing_command_is_said_before_it_is_built(started, command, tmp_path):
    tools = tmp_path / "tools"
    tools.mkdir()
    (tools / "cargo").write_text("#!/bin/sh\necho cargo \"$@\"\n", encoding="utf-8")
    (tools / "cargo").chmod(0o755)
    run = lambda **environment: subprocess.run(
        [started / ".ci/drysheath"], env={"PATH": f"{tools}:/usr/bin:/bin", **environment}, capture_output=True, text=True
    )
    lacking = run()
    assert lacking.returncode == 2 and "not on the path" in lacking.stderr, lacking
    version = subprocess.run([command, "--version"], stdout=subprocess.PIPE, text=True, check=True).stdout.split()[1]
    building = run(DRYSHEATH_SOURCE="https://git.example/drysheath")
    assert "is built now" in building.stderr, building
    assert building.stdout == f"cargo install --locked --git https://git.example/drysheath --tag v{version} drysheath-cli\n"
