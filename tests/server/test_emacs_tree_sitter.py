"""The tree-sitter mode of Emacs, set up as its page says in an empty home folder. On request: an Emacs that has tree-sitter is fetched, and
unpacked into the cache."""

import os
import re
import shutil
import subprocess

import pytest
from client import HERE, ROOT
from harness.debian import give_up

PAGE = ROOT / "editors" / "emacs" / "README.md"
TESTS = re.findall(r"^\(ert-deftest (\S+)", (HERE / "office-ts-test.el").read_text(encoding="utf-8"), re.MULTILINE)
PACKAGES = ["emacs-nox", "emacs-bin-common", "emacs-common"]
BACKPORTS = "deb [signed-by=/usr/share/keyrings/debian-archive-keyring.gpg] http://deb.debian.org/debian bookworm-backports main\n"
pytestmark = [pytest.mark.on_request, pytest.mark.xdist_group("emacs")]


def fetch(folder):
    """Unpacks Emacs of Debian's backports into a folder."""
    lists = folder / "lists"
    (lists / "partial").mkdir(parents=True)
    sources = folder / "sources.list"
    sources.write_text(BACKPORTS, encoding="utf-8")
    options = {"Dir::Etc::SourceList": sources, "Dir::Etc::SourceParts": "/dev/null", "Dir::State::Lists": lists, "Dir::Cache": folder / "cache"}
    backports = [word for name, value in options.items() for word in ("-o", f"{name}={value}")]
    for words in ([*backports, "update"], [*backports, "download", *PACKAGES], ["download", "libtree-sitter0"]):
        done = subprocess.run(["apt-get", "--quiet", *words], cwd=folder, capture_output=True, text=True)
        if done.returncode:
            give_up(f"Emacs 30 cannot be fetched: {done.stderr[-300:]}")
    for package in folder.glob("*.deb"):
        subprocess.run(["dpkg", "-x", package, folder / "root"], check=True)


@pytest.fixture(scope="session")
def emacs():
    """What starts an Emacs with tree-sitter, and its environment."""
    if not shutil.which("apt-get") or not shutil.which("cc"):
        give_up("an Emacs with tree-sitter is fetched from Debian, and a C compiler builds the parser")
    folder = HERE / ".cache" / "emacs-30"
    if not (folder / "root").exists():
        shutil.rmtree(folder, ignore_errors=True)
        fetch(folder)
    root = folder / "root" / "usr"
    (share,) = (root / "share" / "emacs").glob("30.*")
    (dump,) = root.glob("libexec/emacs/*/*/*.pdmp")
    environment = {
        "LD_LIBRARY_PATH": os.pathsep.join(map(str, root.glob("lib/*/"))),
        "EMACSLOADPATH": os.pathsep.join(str(path) for path in [share / "lisp", *(share / "lisp").rglob("*/")]),
        "EMACSDATA": str(share / "etc"),
        "EMACSDOC": str(share / "etc"),
        "EMACSPATH": str(dump.parent),
    }
    return [str(root / "bin" / "emacs-nox"), f"--dump-file={dump}", "--batch"], environment


@pytest.fixture(scope="session")
def home(tmp_path_factory):
    """A home folder after the steps of the page."""
    home = tmp_path_factory.mktemp("home")
    page = PAGE.read_text(encoding="utf-8")
    for steps in [piece.split("```", 1)[0] for piece in page.split("```sh\n")[1:]]:
        subprocess.run(["sh", "-eu", "-c", steps], cwd=ROOT, env={**os.environ, "HOME": str(home)}, check=True)
    first, *_, tree = [piece.split("```", 1)[0] for piece in page.split("```elisp\n")[1:]]
    (home / ".emacs.d" / "init.el").write_text(first + tree, encoding="utf-8")
    return home


@pytest.mark.parametrize("name", TESTS)
def test_emacs(emacs, home, name):
    command, environment = emacs
    run = [*command, "-l", str(HERE / "office-ts-test.el"), "--eval", f"(ert-run-tests-batch-and-exit '(member {name}))"]
    done = subprocess.run(
        run, env={**os.environ, **environment, "HOME": str(home), "LC_ALL": "C.UTF-8"}, capture_output=True, text=True, encoding="utf-8", timeout=120
    )
    assert done.returncode == 0, done.stderr[-4000:]
    assert "1 results as expected, 0 unexpected" in done.stderr, done.stderr[-2000:]
