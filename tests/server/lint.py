"""Results of the command and of the server in one form: file, range, level, rule, and message."""

import json
from typing import NamedTuple

from client import Lost, width

LEVELS = {1: "error", 2: "warning", 3: "note"}


class Result(NamedTuple):
    """A result. Lines and columns count from 1, columns in characters."""

    file: str
    line: int
    column: int
    end_line: int
    end_column: int
    level: str
    rule: str
    words: str


def printed(output):
    """The results in what `drysheath lint --output json` prints, those that are accepted left out."""
    results = []
    for one in json.loads(output)["results"]:
        if one["accepted"]:
            continue
        place = one["place"]
        where = (place[name] for name in ("file", "line", "column", "end_line", "end_column"))
        words = "\n".join(filter(None, (one["message"], one["help"])))
        results.append(Result(*where, one["level"], one["rule"], words))
    return sorted(results)


def told(file, text, diagnostics, encoding):
    """The results in what the server says of a file."""
    lines = text.split("\n")

    def place(position):
        line = lines[position["line"]]
        column = next((at for at in range(len(line) + 1) if width(line[:at], encoding) == position["character"]), None)
        assert column is not None, f"{position} lies inside a character of {line!r}"
        return position["line"] + 1, column + 1

    results = []
    for one in diagnostics:
        assert one["source"] == "drysheath"
        start, end = place(one["range"]["start"]), place(one["range"]["end"])
        results.append(Result(file, *start, *end, LEVELS[one["severity"]], one["code"], one["message"]))
    return sorted(results)


def becomes(client, now, wanted):
    """Waits until what the server says is what is wanted."""
    try:
        client.until(lambda: now() == wanted, "never the same", 20)
    except Lost:
        found = now()
        missing, extra = [it for it in wanted if it not in found], [it for it in found if it not in wanted]
        raise AssertionError(f"missing: {missing}; too many: {extra}") from None
