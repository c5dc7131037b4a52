"""How much memory the server holds over many edits of one open office. Figures, no test.

    memory.py [--program drysheath] [--edits 100000] [--lines 243] [--kind digits|any|words]

Makes a repository with one clean office of about so many lines, opens it, and edits it: `digits` puts a digit in and takes it out again
all over the file, so that the text is the same after every second edit; `any` makes edits of all kinds, as `test_soak.py` does, and
undoes them all now and then; `words` declares a thing with a name that no text had before, and takes it out again. Each edit waits for
its results. After each twentieth of the edits, with the text as in the beginning, it prints

* `RSS`, what the process holds, and `anonymous`, that without the program itself;
* the processor time of an edit since the line before.

The allocator's own account of what is alive is printed in the end where MIMALLOC_SHOW_STATS is 1.
"""

import argparse
import itertools
import pathlib
import random
import tempfile
import time

from client import Client
from latency import cpu, digits
from offices import large, write_large
from test_soak import SEED, random_edit

STEPS = 20


def held(client):
    """MiB of memory: all, and what no file is behind."""
    lines = pathlib.Path(f"/proc/{client.server.pid}/smaps_rollup").read_text().splitlines()
    sizes = {name: int(rest.split()[0]) / 1024 for name, _, rest in (line.partition(":") for line in lines[1:])}
    return sizes["Rss"], sizes["Anonymous"]


def kinds(buffer, original):
    """What makes an edit, or two that belong together, by its name."""
    chance, numbers = random.Random(SEED), itertools.count()
    places = itertools.cycle(digits(buffer, 400))

    def twice(at, old, new):
        buffer.edit(at, at + len(old), new)
        buffer.results()
        buffer.edit(at, at + len(new), old)
        buffer.results()
        return 2

    def words():
        # Behind the text, so that only the name is new.
        return twice(len(original), "", f"joint never-before-{next(numbers)} {{}}\n")

    def any_kind():
        random_edit(chance, buffer, original)
        buffer.results()
        return 1

    return {"digits": lambda: twice(next(places), "", "7"), "any": any_kind, "words": words}


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--program", default="drysheath")
    parser.add_argument("--edits", type=int, default=100_000)
    parser.add_argument("--lines", type=int, default=243)
    parser.add_argument("--kind", default="digits", choices=["digits", "any", "words"])
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        office = write_large(pathlib.Path(folder) / "repository", large(options.lines))
        with Client([options.program, "lsp"]) as client:
            client.initialize("kakoune", office.parent)
            buffer = client.open(office)
            original = buffer.text
            buffer.results()
            edit = kinds(buffer, original)[options.kind]
            print(f"{original.count(chr(10))} lines, {options.edits:,} edits of the kind `{options.kind}`")
            done, used, start = 0, cpu(client), time.monotonic()
            for step in range(STEPS + 1):
                before = done
                while done < options.edits * step // STEPS:
                    done += edit()
                    # What a long session leaves in this client does not concern the server.
                    client.said.clear()
                if buffer.text != original:
                    buffer.set(original)
                    buffer.results()
                everything, anonymous = held(client)
                spent = (cpu(client) - used) * 1000 / max(1, done - before)
                used = cpu(client)
                print(f"after {done:>7} edits  RSS {everything:>6.1f} MiB  anonymous {anonymous:>6.1f} MiB  CPU {spent:>6.2f} ms", flush=True)
            print(f"{time.monotonic() - start:.0f} s; most at any time {peak(client):.1f} MiB")
            client.quit()
            said = client.server.stderr.read().decode(errors="replace").strip()
            if said:
                print(said)


def peak(client):
    """The most that the process ever held, in MiB."""
    lines = pathlib.Path(f"/proc/{client.server.pid}/status").read_text().splitlines()
    return next(int(line.split()[1]) for line in lines if line.startswith("VmHWM:")) / 1024


if __name__ == "__main__":
    main()
