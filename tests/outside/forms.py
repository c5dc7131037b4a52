"""The forms that drysheath writes, beside what the world says of them: SARIF, JSON Schema, JUnit and Markdown."""

import functools
import json
import os
import pathlib
import re
import shutil
import subprocess
import sys
import tarfile

import jsonschema_rs
import pytest
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


@functools.cache
def by_schema(path, strictly=False):
    """What a JSON Schema says of documents; strictly, no field may be there that the schema does not name: it lets a reader expect more
    fields one day, and until then it names all there are."""
    schema = json.loads(path.read_text(encoding="utf-8"))
    for record in [schema, *schema["$defs"].values()] if strictly else []:
        if record.get("type") == "object":
            record["additionalProperties"] = False
    # It is refused where it is no schema itself.
    validator = jsonschema_rs.validator_for(schema, validate_formats=True)
    return lambda document: [f"{error.instance_path}: {error.message}" for error in validator.iter_errors(document)]


def sarif_complaints(paths):
    """What both checkers have to say of SARIF logs, path by path."""
    schema = by_schema(multitool() / "sarif-2.1.0.json")
    complaints = {path: schema(json.loads(path.read_text(encoding="utf-8"))) for path in paths}
    # Its exit code is 0 whatever it finds. It ends before what its runtime would measure for compiling a second time pays, and before memory is scarce.
    told = subprocess.run(
        [multitool() / "Sarif.Multitool", "validate", *paths, "--level", "Error;Warning", "--kind", "Fail"],
        env={**os.environ, "DOTNET_TieredPGO": "0", "DOTNET_gcConcurrent": "0", "DOTNET_GCgen0size": "0x8000000"},
        capture_output=True,
        text=True,
    ).stdout
    assert f"{len(paths)} files scanned" in told, told
    for line in told.splitlines():
        if re.search(r"\b(error|warning) \w+\d", line):
            (path,) = (path for path in paths if str(path) in line)
            complaints[path].append(line)
    return complaints


def json_complaints(document, schema_name):
    """What a schema of ours has to say of a document, to the letter."""
    return by_schema(ROOT / "grammar" / schema_name, strictly=True)(document)


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
