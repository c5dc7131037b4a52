"""The forms that drysheath writes, beside what the world says of them: SARIF, JSON Schema, JUnit and Markdown."""

import functools
import json
import pathlib
import re
import shutil
import subprocess
import sys
import tarfile

import pytest
from jsonschema import Draft202012Validator
from lxml import etree
from markdown_it import MarkdownIt

from conftest import ROOT

HERE = pathlib.Path(__file__).parent
CACHE = HERE / ".cache"


@functools.cache
def multitool():
    """The folder of the SARIF checker of npm, installed by its lock file."""
    folder = HERE / "node_modules/@microsoft/sarif-multitool-linux"
    if not folder.exists():
        npm = shutil.which("npm")
        if not npm:
            pytest.fail("the SARIF checker wants npm (Debian: apt-get install npm)")
        subprocess.run([npm, "ci", "--silent", "--no-audit", "--no-fund", "--ignore-scripts"], cwd=HERE, check=True)
    # All that its install script would do.
    (folder / "Sarif.Multitool").chmod(0o755)
    return folder


def sarif_complaints(paths):
    """What both checkers have to say of SARIF logs."""
    paths = list(map(str, paths))
    schema = multitool() / "sarif-2.1.0.json"
    checked = subprocess.run(
        [sys.executable, "-m", "check_jsonschema", "--schemafile", schema, *paths], capture_output=True, text=True
    )
    complaints = [] if checked.returncode == 0 else [checked.stdout + checked.stderr]
    # Its exit code is 0 whatever it finds.
    told = subprocess.run(
        [multitool() / "Sarif.Multitool", "validate", *paths, "--level", "Error;Warning", "--kind", "Fail"],
        capture_output=True,
        text=True,
    ).stdout
    assert f"{len(paths)} files scanned" in told, told
    return complaints + [line for line in told.splitlines() if re.search(r"\b(error|warning) \w+\d", line)]


def json_complaints(document, schema_name):
    """What a schema of ours has to say of a document, to the letter: no field is there that the schema does not name."""
    schema = json.loads((ROOT / "grammar" / schema_name).read_text(encoding="utf-8"))
    Draft202012Validator.check_schema(schema)
    for record in [schema, *schema["$defs"].values()]:
        if record.get("type") == "object":
            record["additionalProperties"] = False
    return [error.message for error in Draft202012Validator(schema).iter_errors(document)]


@functools.cache
def junit_schema():
    """The JUnit schema that pytest's own tests use, out of the source package of the very pytest that is installed."""
    name = f"pytest-{pytest.__version__}"
    archive = CACHE / f"{name}.tar.gz"
    if not archive.exists():
        pip = [sys.executable, "-m", "pip", "download", "--quiet", "--no-deps", "--no-binary", "pytest"]
        subprocess.run([*pip, "--dest", CACHE, f"pytest=={pytest.__version__}"], check=True)
    with tarfile.open(archive) as packed:
        return etree.XMLSchema(etree.parse(packed.extractfile(f"{name}/testing/example_scripts/junit-10.xsd")))


def junit_complaints(text):
    schema = junit_schema()
    schema.validate(etree.fromstring(text))
    return [str(error) for error in schema.error_log]


def tables(markdown):
    """The tables of a page, each as its rows of cells. Whatever looks like a row and is not part of a table is an error."""
    found, row = [], None
    for token in MarkdownIt("commonmark", {"html": True}).enable("table").parse(markdown):
        match token.type:
            case "table_open":
                found.append([])
            case "tr_open":
                row = []
            case "inline" if row is not None:
                row.append(token.content)
            case "tr_close":
                found[-1].append(row)
                row = None
            case "inline":
                assert not token.content.startswith("|"), token.content
    return found


def written_rows(markdown):
    """The lines that look like rows of a table, each split at its bars as GitHub does."""
    lines = (line for line in markdown.splitlines() if line.startswith("|"))
    return [re.split(r"(?<!\\)(?:\\\\)*\|", line)[1:-1] for line in lines]
