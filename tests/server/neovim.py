"""A Neovim that tests drive by the keys that its user presses."""

import json
import os
import pathlib
import subprocess
import time

from client import ROOT

PATIENCE = 30
EDITOR = ROOT / "editors" / "neovim"


def empty_home(folder, path):
    """The environment of somebody whose home folder is empty, and who has followed the first steps of Neovim's page."""
    home = folder / "home"
    home.mkdir()
    page = (EDITOR / "README.md").read_text(encoding="utf-8")
    steps = page.split("```sh\n", 1)[1].split("```", 1)[0]
    environment = {key: value for key, value in os.environ.items() if not key.startswith("XDG_")}
    environment |= {"HOME": str(home), "PATH": f"{path}{os.pathsep}{os.environ['PATH']}"}
    subprocess.run(["sh", "-eu", "-c", steps], cwd=ROOT, env=environment, check=True)
    return environment


class Neovim:
    """One Neovim without a screen."""

    def __init__(self, program, folder, environment, *arguments):
        self.program = program
        self.socket = str(folder / "nvim.sock")
        self.told = folder / "told.json"
        command = [program, "--headless", "--listen", self.socket, *arguments]
        environment = {**environment, "XDG_STATE_HOME": str(folder), "NVIM_LOG_FILE": str(folder / "nvim.log")}
        self.process = subprocess.Popen(
            command, env=environment, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        )
        self.wait(lambda: pathlib.Path(self.socket).exists(), "Neovim did not start")

    def _remote(self, *arguments):
        done = subprocess.run(
            [self.program, "--clean", "--headless", "--server", self.socket, *arguments],
            capture_output=True, text=True, encoding="utf-8", timeout=PATIENCE,
        )
        assert done.returncode == 0, done.stderr

    def keys(self, keys):
        self._remote("--remote-send", keys)

    def lua(self, expression):
        """The value of an expression. It comes by a file: what 0.7 prints of a long one is not all of it."""
        inner = expression.replace("'", "''")
        self._remote("--remote-expr", f"writefile([luaeval('vim.json.encode({inner})')], '{self.told}')")
        return json.loads(self.told.read_text(encoding="utf-8"))

    def wait(self, there, what):
        end = time.monotonic() + PATIENCE
        while not (found := there()):
            assert time.monotonic() < end, what
            time.sleep(0.05)
        return found

    def results(self):
        """What is shown in the buffer: line and rule of each result."""
        shown = self.lua("vim.diagnostic.get(0)") or []
        return sorted((one["lnum"] + 1, one["code"]) for one in shown)

    def shows(self, expected):
        self.wait(lambda: self.results() == expected, f"never showed {expected}")

    def text(self):
        return "\n".join(self.lua("vim.api.nvim_buf_get_lines(0, 0, -1, false)")) + "\n"

    def cursor(self, text, inside=0):
        """Goes to the only place that reads so."""
        whole = self.text()
        assert whole.count(text) == 1, text
        at = whole.index(text) + inside
        line = whole.count("\n", 0, at)
        column = len(whole[whole.rfind("\n", 0, at) + 1 : at].encode())
        self.lua(f"vim.api.nvim_win_set_cursor(0, {{ {line + 1}, {column} }}) or 0")

    def close(self):
        if self.process.poll() is None:
            self.process.kill()
        self.process.wait()
