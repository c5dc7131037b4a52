"""What the command prints, and what the server says, in one form: file, line, column, level, rule, and the words."""

import re
from typing import NamedTuple

from client import Lost, width

HEADER = re.compile(r"(error|warning|note): (.*) \[([a-z0-9-]+)\]", re.DOTALL)
PLACE = re.compile(r"\s*╭─\[ (.*):(\d+):(\d+) \]")
HELP = re.compile(r"\s*│ Help: (.*)")
LEVELS = {1: "error", 2: "warning", 3: "note"}


class Result(NamedTuple):
    file: str
    line: int
    column: int
    level: str
    rule: str
    words: str


def printed(output):
    """The results in what `drysheath lint` prints."""
    results, header, place, help = [], None, None, None
    for line in [*output.split("\n"), ""]:
        if match := HEADER.fullmatch(line):
            header, place, help = match, None, None
        elif header and not place and (match := PLACE.fullmatch(line)):
            place = match
        elif header and (match := HELP.fullmatch(line)):
            help = match[1]
        elif header and not line:
            words = header[2] if help is None else f"{header[2]}\n{help}"
            results.append(Result(place[1], int(place[2]), int(place[3]), header[1], header[3], words))
            header = None
    return sorted(results)


def told(file, text, diagnostics, encoding):
    """The results in what the server says of a file."""
    lines = text.split("\n")
    results = []
    for one in diagnostics:
        start = one["range"]["start"]
        line = lines[start["line"]]
        column = next((at for at in range(len(line) + 1) if width(line[:at], encoding) == start["character"]), None)
        assert column is not None, f"{start} lies inside a character of {line!r}"
        assert one["source"] == "drysheath"
        results.append(Result(file, start["line"] + 1, column + 1, LEVELS[one["severity"]], one["code"], one["message"]))
    return sorted(results)


def becomes(client, now, wanted):
    """Waits until what the server says is what is wanted."""
    try:
        client.until(lambda: now() == wanted, "never the same", 20)
    except Lost:
        found = now()
        missing, extra = [it for it in wanted if it not in found], [it for it in found if it not in wanted]
        raise AssertionError(f"missing: {missing}; too many: {extra}") from None
