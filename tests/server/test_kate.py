"""Kate, set up as its page says in an empty home folder, and driven by keys on a display of its own. On request: what it needs of Debian is
much."""

import os
import pathlib
import shutil
import signal
import subprocess
import time

import pytest
from client import ROOT
from harness.debian import ensure

PATIENCE = 90
QUESTION = "LSP server start requested"
PAGE = (ROOT / "editors" / "kate" / "README.md").read_text(encoding="utf-8")
pytestmark = [pytest.mark.on_request, pytest.mark.xdist_group("display")]


def block(language):
    """The only block of the page in that language."""
    (found,) = [piece.split("```", 1)[0] for piece in PAGE.split(f"```{language}\n")[1:]]
    return found


def wait(there, what):
    end = time.monotonic() + PATIENCE
    while not (found := there()):
        assert time.monotonic() < end, what
        time.sleep(0.1)
    return found


class Display:
    """A screen that nobody sees, with a keyboard and a pointer."""

    def __init__(self, environment):
        reader, writer = os.pipe()
        self.process = subprocess.Popen(
            ["Xvfb", "-displayfd", str(writer), "-screen", "0", "1300x900x24"], pass_fds=[writer], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        )
        os.close(writer)
        with os.fdopen(reader) as number:
            self.environment = {**environment, "DISPLAY": f":{number.readline().strip()}"}

    def does(self, *words):
        done = subprocess.run(["xdotool", *words], env=self.environment, capture_output=True, text=True)
        return done.stdout.split() if done.returncode == 0 else []

    def window(self, name):
        return wait(lambda: self.does("search", "--onlyvisible", "--name", name), f"no window {name}")[0]

    def picture(self, path):
        subprocess.run(["import", "-window", "root", str(path)], env=self.environment, check=True)

    def close(self):
        self.process.terminate()
        self.process.wait()


@pytest.fixture
def kate(tmp_path, on_path):
    ensure("kate xvfb xdotool imagemagick dbus", lambda: shutil.which("kate") and shutil.which("Xvfb") and shutil.which("xdotool"))
    home = tmp_path / "home"
    (home / "run").mkdir(parents=True, mode=0o700)
    environment = {**os.environ, "HOME": str(home), "XDG_RUNTIME_DIR": str(home / "run"), "PATH": f"{on_path}{os.pathsep}{os.environ['PATH']}", "LC_ALL": "C.UTF-8"}
    for name in ("XDG_CONFIG_HOME", "XDG_DATA_HOME"):
        environment.pop(name, None)
    subprocess.run(["sh", "-eu", "-c", block("sh")], cwd=ROOT, env=environment, check=True)
    # Where the page of the settings keeps what is typed into it.
    settings = home / ".config" / "kate" / "lspclient" / "settings.json"
    settings.parent.mkdir(parents=True)
    settings.write_text(block("json"), encoding="utf-8")
    display = Display(environment)
    yield display
    display.close()


def test_its_page_leads_from_an_empty_home_folder_to_a_fix(kate, tmp_path):
    faults = pathlib.Path(shutil.copytree(ROOT / "tests" / "faults", tmp_path / "faults", symlinks=True))
    file = faults / "pairs" / "pair-assigned-twice.office"
    before = file.read_text(encoding="utf-8")
    start = before.index("tb pair 3        -> m1 sensor 4")
    line, column = before.count("\n", 0, start) + 1, start - before.rfind("\n", 0, start)
    words = ["dbus-run-session", "--", "kate", "-n", "--startanon", "--line", str(line), "--column", str(column), str(file)]
    editor = subprocess.Popen(words, env=kate.environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, start_new_session=True)
    try:
        # It asks whether the server may be started, which the page says as well.
        kate.window(QUESTION)

        def answered():
            for window in kate.does("search", "--onlyvisible", "--name", QUESTION):
                kate.does("windowfocus", window, "key", "Return")
            time.sleep(0.5)
            return not kate.does("search", "--onlyvisible", "--name", QUESTION)

        wait(answered, "the question stayed")
        # There is no window manager to give the focus back. The menu is a window; it is there once the result is.
        window = kate.window(file.name)
        windows = lambda: len(kate.does("search", "--onlyvisible", "--maxdepth", "1", "--name", ""))

        def asked():
            alone = windows()
            kate.does("windowfocus", window)
            kate.does("key", "alt+Return")
            time.sleep(2)
            return windows() > alone

        wait(asked, "the menu of actions never came")
        kate.picture(tmp_path / "kate.png")
        kate.does("key", "Down", "Return")
        time.sleep(1)
        kate.does("key", "ctrl+s")
        wait(lambda: file.read_text(encoding="utf-8") != before, "the fix was never made")
        after = file.read_text(encoding="utf-8")
        assert after == before.replace("tb pair 3        -> m1 sensor 4", "tb pair 4        -> m1 sensor 4").replace("spare tb pair 4 .. 20", "spare tb pair 5 .. 20")
    finally:
        os.killpg(editor.pid, signal.SIGTERM)
        editor.wait()
