"""A terminal in which an editor runs: tmux, to which keys are sent, and whose screen is read."""

import subprocess
import time

PATIENCE = 60


class Terminal:
    def __init__(self, environment, *words):
        self.command = ["tmux", "-S", f"{environment['HOME']}/terminal"]
        self.environment = environment
        self.runs("new-session", "-d", "-x", "180", "-y", "50", *words)

    def runs(self, *words):
        return subprocess.run([*self.command, *words], env=self.environment, check=True, capture_output=True, text=True).stdout

    def keys(self, *keys):
        self.runs("send-keys", *keys)

    def type(self, text):
        self.runs("send-keys", "-l", text)

    def shows(self, wanted):
        end = time.monotonic() + PATIENCE
        while wanted not in (screen := self.runs("capture-pane", "-p")):
            assert time.monotonic() < end, screen
            time.sleep(0.1)
