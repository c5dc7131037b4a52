"""Stands between an editor and the server, and writes down what they say: one file a conversation, one JSON document a message.

    record.py PROGRAM ARGUMENT…

The files go to the folder that DRYSHEATH_TRAFFIC names. `from` is `client` or `server`.
"""

import json
import os
import pathlib
import signal
import subprocess
import sys
import threading
import uuid


def messages(pipe):
    """The messages that come through a pipe, as bytes, until it ends."""
    while True:
        head = b""
        while not head.endswith(b"\r\n\r\n"):
            more = pipe.read(1)
            if not more:
                return
            head += more
        length = next((line.split(b":")[1] for line in head.splitlines() if line.lower().startswith(b"content-length:")), b"0")
        try:
            body = pipe.read(int(length))
        except ValueError:
            body = b""
        yield head, body


def relay(source, sink, name, log, lock):
    for head, body in messages(source):
        try:
            said = {"from": name, "message": json.loads(body)}
        except ValueError:
            said = {"from": name, "unreadable": body.decode(errors="replace")}
        with lock:
            log.write(json.dumps(said, ensure_ascii=False) + "\n")
            log.flush()
        try:
            sink.write(head + body)
            sink.flush()
        except OSError:
            break
    try:
        sink.close()
    except OSError:
        pass


def main():
    folder = pathlib.Path(os.environ["DRYSHEATH_TRAFFIC"])
    folder.mkdir(parents=True, exist_ok=True)
    server = subprocess.Popen(sys.argv[1:], stdin=subprocess.PIPE, stdout=subprocess.PIPE)
    signal.signal(signal.SIGTERM, lambda *_: server.terminate())
    lock = threading.Lock()
    with open(folder / f"{uuid.uuid4().hex}.jsonl", "w", encoding="utf-8") as log:
        back = threading.Thread(target=relay, args=(server.stdout, sys.stdout.buffer, "server", log, lock), daemon=True)
        forth = threading.Thread(target=relay, args=(sys.stdin.buffer, server.stdin, "client", log, lock), daemon=True)
        back.start()
        forth.start()
        code = server.wait()
        back.join(5)
        with lock:
            pass
    os._exit(code)


main()
