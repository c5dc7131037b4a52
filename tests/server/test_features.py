"""Everything that an editor asks, asked by pytest-lsp as each of the real clients would, with characters of every width before it.

pytest-lsp holds each answer against what the client has announced, and lsprotocol against the protocol's types.
"""

import pathlib
import shutil
import warnings

import pytest
import pytest_asyncio
from client import PROFILES, ROOT, apply, offset, piece, position, profile, uri
from lsprotocol import types
from pygls.protocol import default_converter
from pytest_lsp import LanguageClient, LspSpecificationWarning
from pytest_lsp.client import register_lsp_features

CONVERTER = default_converter()
"""Of every client: what it learns of a type with the first message of it, it need not learn again."""
LEFT_OUT = ["air", "grounds", "hand-over", "language", "power", "records", "regulators", "spans"]
"""Folders of the faults that nothing here asks about."""
WIDE = "👩🏽‍🔧 Bru\u0308cke é"


def widened(text):
    """The office with characters of every width in comments, titles, and before what is asked about."""
    text = f"# {WIDE}\n{text}"
    for old, new in [
        ('title           "Nothing wrong"', f'title "{WIDE}"'),
        ("{ at c1 3 km,", f'{{ note "{WIDE}", at c1 3 km,'),
        ("monitor m1                  : watcher           { link", f'monitor m1                  : watcher           {{ note "{WIDE}", link'),
    ]:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return text


class Office:
    """An open office, and the client that has it open."""

    def __init__(self, client, path, text, encoding, name):
        self.client, self.path, self.text, self.encoding, self.name = client, path, text, encoding, name
        self.uri = uri(path)
        self.version = 1
        self.document = types.TextDocumentIdentifier(self.uri)
        opened = types.TextDocumentItem(self.uri, "office", 1, text)
        client.text_document_did_open(types.DidOpenTextDocumentParams(opened))

    def position(self, at):
        return types.Position(**position(self.text, at, self.encoding))

    def at(self, mark, inside=0):
        assert self.text.count(mark) == 1, f"{mark!r} occurs {self.text.count(mark)} times"
        return self.position(self.text.index(mark) + inside)

    def range(self, mark):
        start = self.at(mark)
        return types.Range(start, self.position(self.text.index(mark) + len(mark)))

    def piece(self, where):
        return piece(self.text, CONVERTER.unstructure(where), self.encoding)

    def offset(self, where):
        return offset(self.text, CONVERTER.unstructure(where), self.encoding)

    def after(self, edits):
        """The text after edits."""
        return apply(self.text, [CONVERTER.unstructure(types.TextEdit(it.range, it.new_text)) for it in edits], self.encoding)

    def replace(self, old, new):
        """An edit, told as what has changed."""
        change = types.TextDocumentContentChangePartial(range=self.range(old), text=new)
        self.text = self.text.replace(old, new)
        self.version += 1
        document = types.VersionedTextDocumentIdentifier(uri=self.uri, version=self.version)
        self.client.text_document_did_change(types.DidChangeTextDocumentParams(document, [change]))

    def edits_of(self, edit):
        """The edits of each file, in whichever of the two forms the client takes."""
        has_versions = profile(self.name)["capabilities"]["workspace"].get("workspaceEdit", {}).get("documentChanges", False)
        assert (edit.document_changes is not None) == has_versions
        assert (edit.changes is not None) != has_versions
        if edit.changes is not None:
            return edit.changes
        for changed in edit.document_changes:
            assert changed.text_document.version == (self.version if changed.text_document.uri == self.uri else None)
        return {changed.text_document.uri: changed.edits for changed in edit.document_changes}

    async def results(self):
        """The results of the text as it stands."""
        report = await self.client.text_document_diagnostic_async(types.DocumentDiagnosticParams(self.document))
        return list(report.items)

    async def actions(self, mark, diagnostics=(), only=None):
        context = types.CodeActionContext(diagnostics=list(diagnostics), only=only)
        asked = types.CodeActionParams(self.document, self.range(mark), context)
        return await self.client.text_document_code_action_async(asked) or []

    async def completions(self, mark, context=None):
        asked = types.CompletionParams(self.document, self.at(mark, len(mark)), context)
        answer = await self.client.text_document_completion_async(asked)
        items = answer.items if isinstance(answer, types.CompletionList) else answer
        return sorted(items or [], key=lambda item: item.sort_text or item.label)


@pytest_asyncio.fixture(params=PROFILES)
async def office(request, command, tmp_path):
    with warnings.catch_warnings():
        warnings.simplefilter("error", LspSpecificationWarning)
        ignored = shutil.ignore_patterns(*LEFT_OUT)
        folder = pathlib.Path(shutil.copytree(ROOT / "tests" / "faults", tmp_path / "fau lts", symlinks=True, ignore=ignored))
        announced = profile(request.param)
        client = LanguageClient(converter_factory=lambda: CONVERTER)
        register_lsp_features(client)
        await client.start_io(*command)
        begin = types.InitializeParams(
            capabilities=CONVERTER.structure(announced["capabilities"], types.ClientCapabilities),
            client_info=CONVERTER.structure(announced["client"], types.ClientInfo),
            root_uri=uri(folder),
            workspace_folders=[types.WorkspaceFolder(uri(folder), "faults")] if "workspaceFolders" in announced["roots"] else None,
        )
        begun = await client.initialize_session(begin)
        path = folder / "clean.office"
        encoding = begun.capabilities.position_encoding or "utf-16"
        text = widened(path.read_text(encoding="utf-8"))
        office = Office(client, path, text, str(getattr(encoding, "value", encoding)), request.param)
        office.offered = begun.capabilities
        yield office
        await client.shutdown_session()
        await client.stop()
        assert client.error is None
        assert not [said.message for said in client.log_messages if said.type == types.MessageType.Error]


def value_of(hover):
    return hover.contents.value


pytestmark = pytest.mark.asyncio


async def test_the_office_of_these_tests_is_clean(office):
    assert await office.results() == []


async def test_results_come_with_what_the_client_can_show(office):
    office.replace("tb pair 4        -> m1 sensor 4", "tb pair 3        -> m1 sensor 4")
    (result,) = await office.results()
    announced = profile(office.name)["capabilities"]["textDocument"]["publishDiagnostics"]
    assert (result.code, result.source, result.severity) == ("pair-assigned-twice", "drysheath", types.DiagnosticSeverity.Error)
    assert office.text[office.offset(result.range.start) :].startswith("tb pair 3        -> m1 sensor 4")
    assert office.piece(result.range) == "tb pair 3"
    if announced.get("relatedInformation"):
        (related,) = result.related_information
        assert related.location.uri == office.uri
        assert office.text[office.offset(related.location.range.start) :].startswith("tb pair 3        -> m1 sensor 3")
    else:
        assert result.related_information is None
    if announced.get("codeDescriptionSupport"):
        assert "pair-assigned-twice" in result.code_description.href
    else:
        assert result.code_description is None


async def hovered(office, mark, inside=0):
    hover = await office.client.text_document_hover_async(types.HoverParams(office.document, office.at(mark, inside)))
    formats = profile(office.name)["capabilities"]["textDocument"]["hover"]["contentFormat"]
    assert hover.contents.kind.value == ("markdown" if "markdown" in formats else "plaintext")
    if hover.contents.kind == types.MarkupKind.PlainText:
        assert "**" not in value_of(hover)
        assert "```" not in value_of(hover)
    return office.piece(hover.range), value_of(hover)


async def test_hover_of_a_pair_tells_colours_and_pins(office):
    where, told = await hovered(office, "c1 pair 50", len("c1 pair "))
    assert where == "50"
    assert "violet-slate" in told
    where, told = await hovered(office, "tb pair 21", len("tb pair "))
    assert where == "21"
    assert "violet-blue" in told


async def test_hover_of_a_sensor_tells_what_it_should_read(office):
    where, told = await hovered(office, "wire ps2", len("wire "))
    assert where == "ps2"
    assert "8.4 psi" in told
    assert "56 % of its span" in told
    assert "7.2 psi" in told


async def test_hover_of_a_cable_is_its_profile(office):
    where, told = await hovered(office, "cable c1 {", len("cable "))
    assert where == "c1"
    assert "9.092 psi" in told
    assert "8.382 psi" in told
    assert "48 of 50 pairs free" in told


async def test_hover_of_a_load_is_its_voltage(office):
    _, told = await hovered(office, "monitor m1", len("monitor "))
    assert "-42.89 V" in told


async def test_hover_of_fields_and_figures(office):
    where, told = await hovered(office, "at c1 3 km", 0)
    assert where == "at"
    assert told
    where, told = await hovered(office, "at c1 3 km", len("at c1 3 "))
    assert where in "3 km"
    assert "9843 ft" in told
    _, told = await hovered(office, "depth", 1)
    assert "depth" in told


async def test_completion_offers_the_next_free_pair(office):
    office.replace("tb pair 4        -> m1 sensor 4", "tb pair ")
    first, second, *_ = await office.completions("c1 pair 50       -> tb pair ")
    assert office.after([first.text_edit]).count("-> tb pair 4\n") == 1
    assert "white-brown" in str(first.documentation)
    # The second is declared spare; taking it takes it out of the spares.
    after = office.after([second.text_edit, *second.additional_text_edits])
    assert "-> tb pair 5\n" in after
    assert "spare tb pair 6 .. 20\n" in after


async def test_completion_offers_the_next_input_and_fuse(office):
    office.replace("tb pair 4        -> m1 sensor 4", "tb pair 4 -> m1 sensor ")
    first, *_ = await office.completions("tb pair 4 -> m1 sensor ")
    assert first.label == "4"
    office.replace("power pdf fuse 1            -> m1               with 3 A", "power pdf fuse  -> m1 with 3 A")
    first, *_ = await office.completions("power pdf fuse ")
    assert first.label == "1"


async def test_completion_offers_kinds_as_snippets_to_who_takes_them(office):
    office.replace("block tb                    : strip", "block tb                    : strip\nregul")
    items = await office.completions("strip\nregul")
    (regulator,) = [item for item in items if item.label == "regulator"]
    takes = profile(office.name)["capabilities"]["textDocument"]["completion"]["completionItem"]["snippetSupport"]
    assert (regulator.insert_text_format == types.InsertTextFormat.Snippet) == takes
    assert ("${" in regulator.text_edit.new_text) == takes


async def test_completion_offers_fields_units_names_and_parts(office):
    office.replace("    gauge           24 awg\n", "    gau\n")
    assert "gauge" in [item.label for item in await office.completions("\n    gau")]
    office.replace("    gau\n", "    gauge           24 \n")
    assert "awg" in [item.label for item in await office.completions("gauge           24 ")]
    office.replace("block tb                    : strip", "block tb                    : ")
    assert "strip" in [item.label for item in await office.completions("block tb                    : ")]
    office.replace("block tb                    : ", "block tb                    : strip")
    office.replace("wire f1 flow                -> tb pair 1", "wire f1 flow                -> ")
    labels = [item.label for item in await office.completions("wire f1 flow                -> ")]
    assert labels[0] == "tb pair 1"
    assert "ogb" not in labels


async def test_definition_is_a_link_where_the_client_takes_one(office):
    asked = types.DefinitionParams(office.document, office.at("wire ps2", len("wire ")))
    (found,) = await office.client.text_document_definition_async(asked)
    if profile(office.name)["capabilities"]["textDocument"]["definition"].get("linkSupport"):
        assert isinstance(found, types.LocationLink)
        assert office.piece(found.origin_selection_range) == "ps2"
        assert found.target_uri == office.uri
        assert office.piece(found.target_selection_range) == "ps2"
        where = found.target_selection_range
    else:
        assert isinstance(found, types.Location)
        where = found.range
    assert office.text[office.offset(where.start) - len("pressure-sensor ") :].startswith("pressure-sensor ps2")


async def test_type_definition_is_the_part_in_its_file(office):
    asked = types.TypeDefinitionParams(office.document, office.at("wire ps2", len("wire ")))
    (found,) = await office.client.text_document_type_definition_async(asked)
    target = found.target_uri if isinstance(found, types.LocationLink) else found.uri
    assert target == uri(office.path.parent / "parts" / "kit.office")


async def test_references_and_highlights(office):
    at = office.at("wire ps2", len("wire "))
    for declaration, count in [(True, 2), (False, 1)]:
        asked = types.ReferenceParams(types.ReferenceContext(declaration), office.document, at)
        found = await office.client.text_document_references_async(asked)
        assert [office.piece(one.range) for one in found] == ["ps2"] * count
    lit = await office.client.text_document_document_highlight_async(types.DocumentHighlightParams(office.document, at))
    assert [office.piece(one.range) for one in lit] == ["ps2"] * 2
    # A part is used in all files.
    asked = types.ReferenceParams(types.ReferenceContext(False), office.document, office.at(": watcher", 2))
    found = await office.client.text_document_references_async(asked)
    assert len({one.uri for one in found}) > 20


async def test_rename_is_prepared_and_refused_and_done(office):
    at = office.at("wire ps2", len("wire "))
    prepared = await office.client.text_document_prepare_rename_async(types.PrepareRenameParams(office.document, at))
    assert office.piece(prepared.range) == "ps2"
    nothing = types.PrepareRenameParams(office.document, office.at("# 👩", 1))
    assert await office.client.text_document_prepare_rename_async(nothing) is None
    with pytest.raises(Exception, match="taken"):
        await office.client.text_document_rename_async(types.RenameParams(office.document, at, "ps1"))
    edit = await office.client.text_document_rename_async(types.RenameParams(office.document, at, "far-end"))
    ((where, edits),) = office.edits_of(edit).items()
    assert where == office.uri
    # The office is installed, so that the thing says what it was called.
    after = office.after(edits)
    assert "formerly ps2" in after
    assert after.replace(", formerly ps2", "") == office.text.replace("ps2", "far-end")


async def test_a_part_is_renamed_in_all_files(office):
    asked = types.RenameParams(office.document, office.at(": watcher", 2), "observer")
    by_file = office.edits_of(await office.client.text_document_rename_async(asked))
    assert len(by_file) > 20
    assert ": observer" in office.after(by_file[office.uri])
    assert uri(office.path.parent / "parts" / "kit.office") in by_file


async def test_symbols_have_the_form_that_the_client_takes(office):
    symbols = await office.client.text_document_document_symbol_async(types.DocumentSymbolParams(office.document))
    nested = profile(office.name)["capabilities"]["textDocument"]["documentSymbol"]["hierarchicalDocumentSymbolSupport"]
    kind = types.DocumentSymbol if nested else types.SymbolInformation
    assert all(isinstance(symbol, kind) for symbol in symbols)
    names = [symbol.name for symbol in symbols]
    assert {"clean", "m1", "c1", "ps2", "tb"} <= set(names)
    (ps2,) = [symbol for symbol in symbols if symbol.name == "ps2"]
    if nested:
        assert office.piece(ps2.selection_range) == "ps2"
        assert {child.name for symbol in symbols if symbol.name == "c1" for child in symbol.children} >= {"s1", "s2"}
    else:
        assert "ps2" in office.piece(ps2.location.range)


async def test_things_of_all_files_are_found_by_name(office):
    for query, name in [("clean", "clean"), ("watcher", "watcher"), ("ps2", "ps2")]:
        found = await office.client.workspace_symbol_async(types.WorkspaceSymbolParams(query))
        assert name in [symbol.name for symbol in found], query
    kit = uri(office.path.parent / "parts" / "kit.office")
    (watcher,) = await office.client.workspace_symbol_async(types.WorkspaceSymbolParams("watcher"))
    assert watcher.location.uri == kit


async def test_call_hierarchy_is_upstream_and_downstream(office):
    asked = types.CallHierarchyPrepareParams(office.document, office.at("manifold mf", len("manifold ")))
    (item,) = await office.client.text_document_prepare_call_hierarchy_async(asked)
    assert office.piece(item.selection_range) == "mf"
    up = await office.client.call_hierarchy_incoming_calls_async(types.CallHierarchyIncomingCallsParams(item))
    assert [call.from_.name for call in up] == ["f1"]
    down = await office.client.call_hierarchy_outgoing_calls_async(types.CallHierarchyOutgoingCallsParams(item))
    assert [call.to.name for call in down] == ["c1", "p1"]
    # A signal's way is the other network.
    asked = types.CallHierarchyPrepareParams(office.document, office.at("block tb", len("block ")))
    (item,) = await office.client.text_document_prepare_call_hierarchy_async(asked)
    down = await office.client.call_hierarchy_outgoing_calls_async(types.CallHierarchyOutgoingCallsParams(item))
    assert {call.to.name for call in down} == {"m1"}


async def test_folds_and_selections(office):
    folds = await office.client.text_document_folding_range_async(types.FoldingRangeParams(office.document))
    first = office.at("cable c1 {").line
    assert first in [fold.start_line for fold in folds]
    at = office.at("at c1 3 km", len("at c1 "))
    (selection,) = await office.client.text_document_selection_range_async(types.SelectionRangeParams(office.document, [at]))
    seen = []
    while selection:
        seen.append(office.piece(selection.range))
        selection = selection.parent
    assert seen[0] == "3"
    assert "3 km" in seen
    assert seen[-1] == office.text
    assert all(inner in outer for inner, outer in zip(seen, seen[1:], strict=False))


def decoded(office, legend, data):
    """The words of semantic tokens, each with its type."""
    line = column = 0
    words = []
    for down, right, length, kind, _ in zip(*[iter(data)] * 5, strict=True):
        line, column = line + down, right if down else column + right
        start = office.offset(types.Position(line, column))
        words.append((office.piece(types.Range(types.Position(line, column), types.Position(line, column + length))), legend[kind], start))
    return words


async def test_semantic_tokens_whole_changed_and_in_part(office):
    legend = office.offered.semantic_tokens_provider.legend.token_types
    whole = await office.client.text_document_semantic_tokens_full_async(types.SemanticTokensParams(office.document))
    words = decoded(office, legend, whole.data)
    assert (f"# {WIDE}", "comment", 0) in words
    assert f'"{WIDE}"' in [word for word, _, _ in words]
    assert {kind for word, kind, _ in words if word == "ps2"} == {kind for word, kind, _ in words if word == "ps1"}
    assert all(word == word.strip() and word for word, _, _ in words)
    office.replace("gauge           24 awg", "gauge           22 awg, rating 10 psi")
    asked = types.SemanticTokensDeltaParams(office.document, whole.result_id)
    changed = await office.client.text_document_semantic_tokens_full_delta_async(asked)
    data = list(whole.data)
    for edit in sorted(changed.edits, key=lambda edit: edit.start, reverse=True):
        data[edit.start : edit.start + edit.delete_count] = edit.data or []
    fresh = await office.client.text_document_semantic_tokens_full_async(types.SemanticTokensParams(office.document))
    assert data == list(fresh.data)
    part = types.SemanticTokensRangeParams(office.document, office.range("cable c1 {"))
    part = await office.client.text_document_semantic_tokens_range_async(part)
    assert [word for word, _, _ in decoded(office, legend, part.data)][:2] == ["cable", "c1"]


def label(hint):
    return hint.label if isinstance(hint.label, str) else "".join(piece.value for piece in hint.label)


async def test_inlay_hints_tell_colours_values_and_parts(office):
    whole = types.Range(types.Position(0, 0), office.position(len(office.text)))
    hints = await office.client.text_document_inlay_hint_async(types.InlayHintParams(office.document, whole))
    told = [label(hint) for hint in hints]
    assert {"VI-SL in WH-OR", "WH-BR 29/4"} <= set(told), told
    assert any("8.4 psi" in one for one in told), told
    assert any("sensors 8" in one for one in told), told


async def test_links_lead_to_parts(office):
    links = await office.client.text_document_document_link_async(types.DocumentLinkParams(office.document))
    (used,) = [link for link in links if office.piece(link.range) == "parts/kit"]
    assert used.target == uri(office.path.parent / "parts" / "kit.office")


async def test_lenses_sum_the_office_up(office):
    lenses = await office.client.text_document_code_lens_async(types.CodeLensParams(office.document))
    titles = [lens.command.title for lens in lenses]
    assert any("no results" in title for title in titles), titles
    assert any("48 pairs of c1" in title for title in titles), titles
    assert any("worst margin" in title for title in titles), titles
    office.replace("tb pair 4        -> m1 sensor 4", "tb pair 3        -> m1 sensor 4")
    lenses = await office.client.text_document_code_lens_async(types.CodeLensParams(office.document))
    assert any("1 error" in lens.command.title for lens in lenses), [lens.command.title for lens in lenses]


async def test_layout_whole_in_part_and_while_typing(office):
    options = types.FormattingOptions(tab_size=4, insert_spaces=True)
    tidy_line = "block tb                    : strip"
    office.replace(tidy_line, "block tb:strip")
    edits = await office.client.text_document_formatting_async(types.DocumentFormattingParams(office.document, options))
    after = office.after(edits)
    assert tidy_line in after
    assert WIDE in after
    part = types.DocumentRangeFormattingParams(office.document, office.range("block tb:strip"), options)
    edits = await office.client.text_document_range_formatting_async(part)
    assert office.after(edits) == office.text.replace("block tb:strip", tidy_line)
    office.replace("block tb:strip\n", "block tb:strip\n\n")
    below = office.position(office.text.index("block tb:strip\n") + len("block tb:strip\n"))
    typed = types.DocumentOnTypeFormattingParams(office.document, below, "\n", options)
    edits = await office.client.text_document_on_type_formatting_async(typed)
    assert tidy_line in office.after(edits)


async def test_a_doubled_pair_is_given_a_free_one(office):
    office.replace("tb pair 4        -> m1 sensor 4", "tb pair 3        -> m1 sensor 4")
    (result,) = await office.results()
    mark = "tb pair 3        -> m1 sensor 4"
    actions = await office.actions(mark, [result])
    (fix,) = [action for action in actions if action.is_preferred]
    assert fix.kind == types.CodeActionKind.QuickFix
    assert [mended.code for mended in fix.diagnostics] == ["pair-assigned-twice"]
    ((where, edits),) = office.edits_of(fix.edit).items()
    assert where == office.uri
    after = office.after(edits)
    assert "tb pair 4        -> m1 sensor 4" in after
    # Taking the action gives a clean office.
    office.version += 1
    office.text = after
    whole = types.TextDocumentContentChangeWholeDocument(text=after)
    document = types.VersionedTextDocumentIdentifier(uri=office.uri, version=office.version)
    office.client.text_document_did_change(types.DidChangeTextDocumentParams(document, [whole]))
    assert await office.results() == []


async def test_a_result_is_accepted_with_a_reason(office):
    office.replace("tb pair 4        -> m1 sensor 4", "tb pair 3        -> m1 sensor 4")
    actions = await office.actions("tb pair 3        -> m1 sensor 4", await office.results())
    (accept,) = [action for action in actions if action.title.startswith("Accept")]
    (edits,) = office.edits_of(accept.edit).values()
    assert "accept pair-assigned-twice on tb because " in office.after(edits)


async def test_unused_pairs_are_said_to_be_spare(office):
    office.replace("spare tb pair 22 .. 25\n", "")
    (result,) = await office.results()
    assert result.code == "pair-not-said-spare"
    actions = await office.actions("block tb                    : strip", [result])
    (spare,) = [action for action in actions if "spare" in action.title and not action.title.startswith("Accept")]
    (edits,) = office.edits_of(spare.edit).values()
    assert "spare tb pair 22 .. 25\n" in office.after(edits)


async def test_a_missing_ground_is_added(office):
    office.replace("ground m1 frame             -> ogb              with 6 awg,  3 m\n", "")
    results = await office.results()
    (result,) = [result for result in results if result.code == "frame-ground-missing"]
    actions = await office.actions(office.piece(result.range) if office.text.count(office.piece(result.range)) == 1 else "monitor m1", [result])
    (ground,) = [action for action in actions if "round" in action.title and not action.title.startswith("Accept")]
    (edits,) = office.edits_of(ground.edit).values()
    assert "ground m1 frame" in office.after(edits)


async def test_a_part_is_made_and_a_unit_converted(office):
    actions = await office.actions("cable c1")
    (extract,) = [action for action in actions if action.kind == types.CodeActionKind.RefactorExtract]
    (edits,) = office.edits_of(extract.edit).values()
    assert "part cable c1-like {" in office.after(edits)
    assert ": c1-like" in office.after(edits)
    actions = await office.actions("3 km,", only=[types.CodeActionKind.RefactorRewrite])
    units = {action.title: office.after(next(iter(office.edits_of(action.edit).values()))) for action in actions}
    assert any("9843 ft" in after for after in units.values()), units.keys()
    only = await office.actions("cable c1", only=[types.CodeActionKind.QuickFix])
    assert not [action for action in only if action.kind.value.startswith("refactor")]


async def test_all_is_mended_at_once_for_who_asks(office):
    office.replace("tb pair 3        -> m1 sensor 3", "tb pair 3 white-blue -> m1 sensor 3")
    (result,) = await office.results()
    assert result.code == "colours-contradict-code"
    kind = types.CodeActionKind.SourceFixAll
    (everything,) = await office.actions("cable c1", only=[kind])
    assert str(getattr(everything.kind, "value", everything.kind)).startswith("source.fixAll")
    (edits,) = office.edits_of(everything.edit).values()
    assert "white-green -> m1 sensor 3" in office.after(edits)


async def test_settings_and_pages(office):
    """What stands in no office is answered with nothing."""
    nowhere = types.TextDocumentIdentifier(uri(office.path.parent / "nowhere.office"))
    at = types.Position(3, 3)
    assert await office.client.text_document_hover_async(types.HoverParams(nowhere, at)) is None
    assert not await office.client.text_document_completion_async(types.CompletionParams(nowhere, at))
    assert not await office.client.text_document_document_symbol_async(types.DocumentSymbolParams(nowhere))
