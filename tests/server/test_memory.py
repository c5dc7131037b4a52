"""What a document leaves when it is closed."""

import pytest
from client import Lost

LINE = "cable c{} {{ pairs 50 }}\n"
# The allocator keeps some pages for each thread, however large the document was: 9 to 20 MiB were seen after documents whose
# peaks were 165 to 650 MiB.
KEPT = 32 * 2**20


@pytest.mark.parametrize("is_saved", [True, False])
def test_a_large_document_leaves_nothing(session, memory_path, is_saved):
    (memory_path / "drysheath.toml").write_text("language = 1\n", encoding="utf-8")
    client = session("eglot", memory_path)
    client.request("workspace/symbol", {"query": "nothing is named so"})
    before = client.memory()
    path = memory_path / "large.office"
    text = "".join(LINE.format(number) for number in range(80_000))
    if is_saved:
        path.write_text(text, encoding="utf-8")
    buffer = client.open(path, text)
    buffer.results()
    # An answer that is still made when it is closed must not keep it either.
    client.ask("textDocument/hover", buffer.at("cable c77 ", 2))
    most = client.memory() - before
    assert most > 2 * KEPT
    if is_saved:
        path.unlink()
    buffer.close()
    left = []

    def is_free():
        left.append(client.memory() - before)
        return left[-1] < KEPT

    try:
        # Nothing is said meanwhile that would wake it.
        client.wait_for(is_free, 20)
    except Lost:
        raise AssertionError(f"{left[-1] / 2**20:.0f} MiB are left of {most / 2**20:.0f}") from None
