"""A client that speaks JSON-RPC over the server's pipes, keeps every message, and can misbehave as no editor does."""

import itertools
import json
import os
import pathlib
import subprocess
import threading
import time
from urllib.parse import unquote

HERE = pathlib.Path(__file__).resolve().parent
ROOT = HERE.parents[1]
PROFILES = sorted(path.stem for path in (HERE / "profiles").glob("*.json"))
PATIENCE = 60.0
"""Seconds after which an answer counts as lost. A machine that builds at the same time is slow."""


def uri(path):
    return pathlib.Path(path).as_uri()


def plain(address):
    """An address without escapes."""
    return unquote(address)


def profile(name):
    """What a client sends in `initialize`, by its name in profiles/."""
    return json.loads((HERE / "profiles" / f"{name}.json").read_text(encoding="utf-8"))


def framed(message):
    """A message with its header."""
    body = json.dumps({"jsonrpc": "2.0", **message}, ensure_ascii=False).encode()
    return b"Content-Length: %d\r\n\r\n%s" % (len(body), body)


class Lost(AssertionError):
    """Something that was waited for did not come."""


class Client:
    """One session with one server."""

    def __init__(self, command, cwd=None):
        self.server = subprocess.Popen(
            command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, cwd=cwd, bufsize=0
        )
        self.changed = threading.Condition()
        self.said = []
        """All messages of the server in order, each with the time of its arrival."""
        self.answers = {}
        self.shown = {}
        """What each file shows: its last published results, by address without escapes, which each side writes as it likes."""
        self.troubled = set()
        """The addresses of files that show results."""
        self.ended = False
        self.settings = {}
        """What workspace/configuration is answered with, by section."""
        self.refuses = set()
        """Methods of the server's that are answered with an error."""
        self.encoding = "utf-16"
        self.written = 0.0
        """When the last message began to be written."""
        self._numbers = itertools.count(1)
        self._pipe = threading.Lock()
        self._reader = threading.Thread(target=self._read, daemon=True)
        self._reader.start()

    # What goes out.

    def send_bytes(self, raw):
        with self._pipe:
            view = memoryview(raw)
            self.written = time.perf_counter()
            while view:
                view = view[os.write(self.server.stdin.fileno(), view) :]

    def send(self, *messages):
        """Sends messages in one write."""
        self.send_bytes(b"".join(map(framed, messages)))

    def notify(self, method, parameters=None):
        self.send({"method": method} if parameters is None else {"method": method, "params": parameters})

    def ask(self, method, parameters=None):
        """Sends a request and returns its number without waiting for the answer."""
        number = next(self._numbers)
        request = {"id": number, "method": method}
        self.send(request if parameters is None else {**request, "params": parameters})
        return number

    def cancel(self, number):
        self.notify("$/cancelRequest", {"id": number})

    # What comes in.

    def _read(self):
        pipe = os.fdopen(os.dup(self.server.stdout.fileno()), "rb", buffering=1 << 16)
        while True:
            length = None
            while line := pipe.readline().strip():
                name, _, value = line.partition(b":")
                if name.lower() == b"content-length":
                    length = int(value)
            if length is None:
                break
            message = json.loads(pipe.read(length))
            if "method" in message and "id" in message:
                try:
                    self._serve(message)
                except (OSError, ValueError):
                    pass  # The server has gone without waiting for the answer.
            with self.changed:
                self.said.append((time.perf_counter(), message))
                if "method" not in message:
                    self.answers[message["id"]] = message
                elif message["method"] == "textDocument/publishDiagnostics":
                    where = plain(message["params"]["uri"])
                    self.shown[where] = message["params"]
                    (self.troubled.add if message["params"]["diagnostics"] else self.troubled.discard)(where)
                self.changed.notify_all()
        with self.changed:
            self.ended = True
            self.changed.notify_all()

    def _serve(self, request):
        method, parameters = request["method"], request.get("params")
        if method in self.refuses:
            self.send({"id": request["id"], "error": {"code": -32601, "message": "not here"}})
            return
        result = None
        if method == "workspace/configuration":
            result = [self.settings.get(item.get("section")) for item in parameters["items"]]
        elif method == "workspace/applyEdit":
            result = {"applied": True}
        self.send({"id": request["id"], "result": result})

    def until(self, there, what, patience=PATIENCE):
        """Waits until `there()` gives something, and gives it."""
        end = time.monotonic() + patience
        with self.changed:
            while True:
                found = there()
                if found:
                    return found
                left = end - time.monotonic()
                if left <= 0 or self.ended:
                    last = [message for _, message in self.said[-3:]]
                    raise Lost(f"{what}; the server {'has ended' if self.ended else 'lives'}; it last said {last}")
                self.changed.wait(left)

    def wait_for(self, there, patience=PATIENCE):
        """Waits until `there()` holds, for what the server does without saying anything."""
        end = time.monotonic() + patience
        while not there():
            if time.monotonic() > end:
                raise Lost("it did not come")
            time.sleep(0.2)

    def answer(self, number, patience=PATIENCE):
        """The whole answer to a request, result or error."""
        return self.until(lambda: self.answers.get(number), f"no answer to request {number}", patience)

    def request(self, method, parameters=None):
        """The result of a request."""
        answer = self.answer(self.ask(method, parameters))
        assert "error" not in answer, (method, parameters, answer)
        return answer["result"]

    def failure(self, method, parameters=None):
        """The error of a request."""
        answer = self.answer(self.ask(method, parameters))
        assert "error" in answer, (method, parameters, answer)
        return answer["error"]

    def heard(self, method, since=0):
        """The parameters of all notifications and requests of a name, in order."""
        with self.changed:
            return [message.get("params") for _, message in self.said[since:] if message.get("method") == method]

    def published(self, where, since=0):
        """The last published results of a file; none if there were none."""
        if not since:
            return self.shown.get(plain(where))
        with self.changed:
            for _, message in reversed(self.said[since:]):
                if message.get("method") == "textDocument/publishDiagnostics" and plain(message["params"]["uri"]) == plain(where):
                    return message["params"]
        return None

    def results(self, where, version=None, since=0):
        """The published results of a file, of that version where one is named."""

        def there():
            last = self.published(where, since)
            return last if last and (version is None or last.get("version") == version) else None

        return self.until(there, f"no results of {where} version {version}")["diagnostics"]

    def results_once(self, where, fits, since=0):
        """The published results of a file as soon as they fit."""

        def there():
            last = self.published(where, since)
            return last if last and fits(last["diagnostics"]) else None

        try:
            return self.until(there, f"the results of {where} never fitted")["diagnostics"]
        except Lost as lost:
            raise Lost(f"{lost}; the last were {self.published(where)}") from None

    # The beginning and the end.

    def initialize(self, name="neovim-0.7", root=None, process=None, capabilities=None, options=None):
        """Begins as the client of that name would, in a folder or in several or in none."""
        announced = profile(name)
        folders = [root] if isinstance(root, (str, pathlib.Path)) else list(root or [])
        said = {
            "processId": process,
            "clientInfo": announced["client"],
            "capabilities": announced["capabilities"] if capabilities is None else capabilities,
        }
        if options is not None:
            said["initializationOptions"] = options
        first = folders[0] if folders else None
        if "rootPath" in announced["roots"]:
            said["rootPath"] = first and str(first)
        said["rootUri"] = first and uri(first)
        if "workspaceFolders" in announced["roots"]:
            named = [{"uri": uri(folder), "name": pathlib.Path(folder).name} for folder in folders]
            said["workspaceFolders"] = named or None
        result = self.request("initialize", said)
        self.encoding = result["capabilities"].get("positionEncoding", "utf-16")
        self.notify("initialized", {})
        return result

    def quit(self):
        """Ends as an editor does, and gives the exit code."""
        self.request("shutdown")
        self.notify("exit")
        return self.server.wait(PATIENCE)

    def close(self):
        """Leaves nothing behind, whatever happened."""
        if self.server.poll() is None:
            self.server.kill()
        self.server.wait()
        self._reader.join(PATIENCE)
        for pipe in (self.server.stdin, self.server.stdout, self.server.stderr):
            pipe.close()

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.close()

    # Texts.

    def open(self, path, text=None):
        return Buffer(self, path, text)

    def memory(self):
        """Bytes of memory that the server holds."""
        for line in pathlib.Path(f"/proc/{self.server.pid}/status").read_text().splitlines():
            if line.startswith("VmRSS:"):
                return int(line.split()[1]) * 1024
        raise Lost("no VmRSS")


def width(text, encoding):
    """How many steps a text is wide."""
    if encoding == "utf-8":
        return len(text.encode())
    if encoding == "utf-32":
        return len(text)
    return len(text.encode("utf-16-le")) // 2


def position(text, offset, encoding):
    """The protocol's position of a character of a text."""
    start = text.rfind("\n", 0, offset) + 1
    return {"line": text.count("\n", 0, offset), "character": width(text[start:offset], encoding)}


def offset(text, where, encoding):
    """The character of a text at the protocol's position."""
    start = 0
    for _ in range(where["line"]):
        start = text.index("\n", start) + 1
    at = start
    while at < len(text) and text[at] != "\n" and width(text[start:at], encoding) < where["character"]:
        at += 1
    assert width(text[start:at], encoding) == where["character"], (where, text[start : start + 80])
    return at


def piece(text, where, encoding):
    """What stands in a range."""
    return text[offset(text, where["start"], encoding) : offset(text, where["end"], encoding)]


def apply(text, edits, encoding):
    """A text after edits, which all are about the text before."""
    placed = [(offset(text, e["range"]["start"], encoding), offset(text, e["range"]["end"], encoding), e["newText"]) for e in edits]
    end = len(text)
    for start, stop, new in sorted(placed, key=lambda edit: edit[:2], reverse=True):
        assert start <= stop <= end, f"edits overlap: {edits}"
        text, end = text[:start] + new + text[stop:], start
    return text


class Buffer:
    """A text that the editor has open."""

    def __init__(self, client, path, text=None):
        self.client = client
        self.uri = path if isinstance(path, str) and ":" in path else uri(path)
        self.text = pathlib.Path(path).read_text(encoding="utf-8") if text is None else text
        self.version = 1
        document = {"uri": self.uri, "languageId": "office", "version": 1, "text": self.text}
        client.notify("textDocument/didOpen", {"textDocument": document})

    def position(self, at):
        return position(self.text, at, self.client.encoding)

    def range(self, start, end):
        return {"start": self.position(start), "end": self.position(end)}

    def edit(self, start, end, new):
        """Replaces characters, and tells the server only that. No editor has a caret within a line end."""
        start, end = (at - (self.text[max(at - 1, 0) : at + 1] == "\r\n") for at in (start, end))
        change = {"range": self.range(start, end), "text": new}
        self.text = self.text[:start] + new + self.text[end:]
        self._tell([change])

    def replace(self, old, new):
        """Replaces the only occurrence of something."""
        assert self.text.count(old) == 1, f"{old!r} occurs {self.text.count(old)} times"
        at = self.text.index(old)
        self.edit(at, at + len(old), new)

    def set(self, text):
        """Gives the whole text anew."""
        self.text = text
        self._tell([{"text": text}])

    def _tell(self, changes):
        self.version += 1
        document = {"uri": self.uri, "version": self.version}
        self.client.notify("textDocument/didChange", {"textDocument": document, "contentChanges": changes})

    def results(self):
        """The published results of the text as it stands."""
        return self.client.results(self.uri, self.version)

    def pulled(self, before=None):
        """The results as the server answers when asked."""
        parameters = {"textDocument": {"uri": self.uri}}
        if before is not None:
            parameters["previousResultId"] = before
        return self.client.request("textDocument/diagnostic", parameters)

    def at(self, mark, inside=0):
        """The parameters of a question about a place: where `mark` begins, and some characters further."""
        assert self.text.count(mark) == 1, f"{mark!r} occurs {self.text.count(mark)} times"
        return {"textDocument": {"uri": self.uri}, "position": self.position(self.text.index(mark) + inside)}

    def piece(self, where):
        return piece(self.text, where, self.client.encoding)

    def save(self):
        self.client.notify("textDocument/didSave", {"textDocument": {"uri": self.uri}})

    def close(self):
        self.client.notify("textDocument/didClose", {"textDocument": {"uri": self.uri}})
