"""A Neovim that tests drive by the keys that its user presses."""

import json
import os
import pathlib
import socket
import subprocess
import time

import msgpack
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
        address = str(folder / "nvim.sock")
        command = [program, "--headless", "--listen", address, *arguments]
        environment = {**environment, "XDG_STATE_HOME": str(folder), "NVIM_LOG_FILE": str(folder / "nvim.log")}
        self.process = subprocess.Popen(
            command, env=environment, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        )
        self.connection, self.asked, self.said = socket.socket(socket.AF_UNIX), 0, msgpack.Unpacker()
        self.connection.settimeout(PATIENCE)
        self.wait(lambda: self._connected(address), "Neovim did not start")

    def _connected(self, address):
        try:
            self.connection.connect(address)
        except OSError:
            return False
        return True

    def _ask(self, method, *arguments):
        """What `nvim --server` asks, in the protocol that it speaks: to start another Neovim for each question takes longer than the editor itself. Keys
        that were sent before are read before it answers."""
        self.asked += 1
        self.connection.sendall(msgpack.packb([0, self.asked, method, arguments]))
        while True:
            for kind, number, *answer in self.said:
                if kind == 1 and number == self.asked:
                    error, result = answer
                    assert error is None, error
                    return result
            piece = self.connection.recv(1 << 16)
            assert piece, "Neovim has ended"
            self.said.feed(piece)

    def keys(self, keys):
        self._ask("nvim_input", keys)

    def lua(self, expression):
        """The value of an expression."""
        inner = expression.replace("'", "''")
        return json.loads(self._ask("nvim_eval", f"luaeval('vim.json.encode({inner})')"))

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
        self.connection.close()
        if self.process.poll() is None:
            self.process.kill()
        self.process.wait()
