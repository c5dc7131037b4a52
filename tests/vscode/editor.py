"""VS Code as people have it, served to a browser by code-server, and driven by keys and clicks."""

import json
import os
import pathlib
import re
import signal
import socket
import subprocess
import time
import urllib.parse
import urllib.request

from playwright.sync_api import TimeoutError

PATIENCE = 60
"""Seconds: a machine that builds at the same time is slow."""
MODIFIER = "Control"

SETTINGS = {
    "workbench.startupEditor": "none",
    "security.workspace.trust.enabled": False,
    "telemetry.telemetryLevel": "off",
    "extensions.autoCheckUpdates": False,
    "window.confirmBeforeClose": "never",
    "workbench.enableExperiments": False,
    "editor.minimap.enabled": False,
    "chat.disableAIFeatures": True,
    "workbench.secondarySideBar.defaultVisibility": "hidden",
    "workbench.reduceMotion": "on",
    "editor.cursorBlinking": "solid",
    "breadcrumbs.enabled": False,
    "explorer.autoReveal": False,
    # The extension finds git by itself.
    "git.enabled": False,
    "editor.formatOnSave": True,
}
"""What keeps the editor from asking, fetching, moving things about and drawing where nothing happens; and that texts
are laid out when they are saved, which a window that is open may see too late."""

KEYS = [
    {"key": "ctrl+f9", "command": "workbench.action.revertAndCloseActiveEditor"},
    {"key": "ctrl+f8", "command": "notifications.clearAll"},
]
"""Keys of these tests for what clears a window."""


def free_port():
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        return one.getsockname()[1]


class Host:
    """A running code-server, whose editors find `drysheath` on the path."""

    def __init__(self, program, folder, drysheath):
        self.port = free_port()
        self.folder = folder
        self.data = folder / "data"
        self.extensions = folder / "extensions"
        self.settings = self.data / "User" / "settings.json"
        self.machine = self.data / "Machine" / "settings.json"
        self.common = [*program, "--user-data-dir", str(self.data), "--extensions-dir", str(self.extensions)]
        programs = folder / "bin"
        programs.mkdir()
        (programs / "drysheath").symlink_to(drysheath)
        # The editor asks a login shell for the path, which has it from the profile of its user.
        (folder / ".profile").write_text(f'PATH="{programs}{os.pathsep}$PATH"\n')
        self.environment = {**os.environ, "HOME": str(folder)}
        self.process = None
        self.settings.parent.mkdir(parents=True)
        self.settings.with_name("keybindings.json").write_text(json.dumps(KEYS))
        self.set()

    def set(self, **more):
        """Writes the settings of the user."""
        self.settings.write_text(json.dumps({**SETTINGS, **more}))

    def install(self, package):
        done = subprocess.run([*self.common, "--install-extension", str(package)], env=self.environment, capture_output=True, text=True)
        assert done.returncode == 0 and "successfully installed" in done.stdout, done.stdout + done.stderr

    def start(self):
        words = ["--auth", "none", "--bind-addr", f"127.0.0.1:{self.port}", "--disable-telemetry", "--disable-update-check"]
        self.process = subprocess.Popen(
            [*self.common, *words], env=self.environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, start_new_session=True
        )
        self.wait(self._answers, "code-server does not answer")

    def _answers(self):
        try:
            with urllib.request.urlopen(f"http://127.0.0.1:{self.port}/healthz", timeout=2) as answer:
                return answer.status == 200
        except OSError:
            return False

    @staticmethod
    def wait(there, what, patience=PATIENCE):
        end = time.monotonic() + patience
        while not (found := there()):
            assert time.monotonic() < end, what
            time.sleep(0.1)
        return found

    def address(self, folder, file=None):
        here = f"http://127.0.0.1:{self.port}/?folder={urllib.parse.quote(str(folder))}"
        if file is None:
            return here
        payload = f'[["openFile","vscode-remote://127.0.0.1:{self.port}{file}"]]'
        return f"{here}&payload={urllib.parse.quote(payload)}"

    def servers(self):
        """The language servers that its editors run: children of its own processes."""
        found = []
        for entry in pathlib.Path("/proc").iterdir():
            try:
                words = (entry / "cmdline").read_bytes().split(b"\0")
                session = int((entry / "stat").read_text().rsplit(")", 1)[1].split()[3])
            except (OSError, ValueError, IndexError):
                continue
            if session == self.process.pid and b"lsp" in words and pathlib.Path(words[0].decode()).name.startswith("drysheath"):
                found.append(int(entry.name))
        return found

    def close(self):
        if self.process and self.process.poll() is None:
            os.killpg(self.process.pid, signal.SIGTERM)
            self.process.wait()


class Window:
    """One window of the editor. To open it takes a dozen seconds of processor time, to show a file in it one."""

    def __init__(self, page, host, folder):
        self.page, self.host, self.folder = page, host, folder
        self.shown = None  # The folder that it has open; none where that is in doubt.

    def show(self, file):
        """Shows a file of the folder."""
        if self.shown == self.folder:
            self.file(file)
        else:
            self.open(self.folder, file)

    def open(self, folder, file):
        """Opens the window anew, with a folder and a file of it."""
        self.shown = None
        self.page.goto(self.host.address(folder, file))
        self.shows(file.name)
        self.shown = folder

    def clear(self):
        """Closes every file and gives up what was not saved. Where that fails, or another folder is open, the next file opens the window anew."""
        folder, self.shown = self.shown, None
        if folder != self.folder:
            return
        tabs = self.page.locator(".part.editor .tab")

        def is_empty():
            if tabs.count():
                tabs.first.click()
                self.keys(f"{MODIFIER}+F9")
            return not tabs.count()

        self.keys("Escape", f"{MODIFIER}+F8")
        self.host.wait(is_empty, "a file stays open")
        self.status_item.wait_for(state="hidden")
        self.shown = folder

    @property
    def text(self):
        return self.page.locator(".part.editor .editor-instance .monaco-editor").first

    def keys(self, *keys):
        for key in keys:
            self.page.keyboard.press(key)

    def type(self, text):
        self.page.keyboard.type(text)

    def open_with(self, shown, *keys):
        """Presses keys until what they open is there: they are lost while the text lacks the focus or the editor is busy."""

        def is_shown():
            self.keys(*keys)
            try:
                shown.wait_for(timeout=PATIENCE * 1000 / 4)
            except TimeoutError:
                self.keys("Escape")
                self.focus()
                return False
            return True

        Host.wait(is_shown, f"{' '.join(keys)} opened nothing", patience=2 * PATIENCE)
        return shown

    def focus(self):
        """Goes to the text, or to where it would be."""
        if self.text.count():
            self.text.locator(".native-edit-context, textarea.inputarea").first.focus()
        else:
            self.page.locator(".part.editor").click()

    def command(self, title):
        # What it does may ask for more in the same box, which then stays.
        self.take("F1", f">{title}", title)

    def file(self, file):
        """Opens a file of the folder by its path."""
        path = file.relative_to(self.folder)
        # A row has the name of the file, and then the path of its folder.
        self.choose(f"{MODIFIER}+p", str(path), re.compile(rf"{re.escape(path.name)}.*{re.escape(str(path.parent))}", re.DOTALL))
        self.shows(file.name)

    def go(self, line, column=1):
        self.choose(f"{MODIFIER}+g", f":{line}:{column}", re.compile(rf"\bline {line} .*\b{column}\b"))

    def choose(self, key, asked, shown):
        """Takes a row of the box that a key opens, and waits until the box is gone."""
        self.take(key, asked, shown).wait_for(state="hidden")

    def take(self, key, asked, shown):
        """Takes a row of the box that a key opens, once it is there: what Enter takes before is what the box held until then."""
        box = self.page.locator(".quick-input-widget")
        box.wait_for(state="hidden")
        row = box.locator(".monaco-list-row").filter(has_text=shown).first
        self.ask(key, asked, lambda patience: row.wait_for(timeout=patience))
        self.keys("Enter")
        return box

    def ask(self, key, asked, answer):
        """Asks the box that a key opens, again where the answer does not come in so many milliseconds: what is filled in while the box comes up
        may be lost."""
        box = self.page.locator(".quick-input-widget")

        def is_answered():
            self.open_with(box.locator("input").first, key).fill(asked)
            try:
                answer(PATIENCE * 1000 / 4)
            except TimeoutError:
                self.keys("Escape")
                box.wait_for(state="hidden")
                return False
            return True

        Host.wait(is_answered, f"{asked} has no answer", patience=2 * PATIENCE)

    def shows(self, name):
        """Waits until the active editor has the text of a file: its tab is there before that."""
        self.page.locator(f".tab.active[data-resource-name='{name}']").wait_for()
        self.page.locator(f".part.editor .monaco-editor[data-uri$='/{urllib.parse.quote(name)}'] .view-line").first.wait_for()

    def place(self):
        """The line and column of the cursor."""
        said = self.page.locator("#status\\.editor\\.selection").inner_text()
        words = said.replace(",", "").split()
        return int(words[1]), int(words[3])

    @property
    def status_item(self):
        return self.page.locator("[id*='drysheath.office']").first

    def status(self):
        """What the item of the office says, once the server has answered."""
        self.status_item.wait_for()
        return self.status_item.inner_text()

    def errors(self):
        """The squiggles in sight: the editor draws those of the lines that it shows."""
        return self.page.locator(".squiggly-error").count()

    def shows_errors(self, wanted):
        Host.wait(lambda: (self.errors() > 0) == wanted, f"results {'never came' if wanted else 'stayed'}")

    def hover(self):
        return self.open_with(self.page.locator(".monaco-hover-content").first, f"{MODIFIER}+k", f"{MODIFIER}+i")

    def sheet(self):
        return self.page.frame_locator("iframe.webview.ready").frame_locator("iframe#active-frame")

    def notifications(self):
        return self.page.locator(".notification-toast").all_inner_texts()
