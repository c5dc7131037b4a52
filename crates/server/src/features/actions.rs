//! Code actions (`textDocument/codeAction`).

use drysheath_ide::{Action, ActionKind, actions as actions_at, fixes_of_file};
use drysheath_rules::Finding;
use tower_lsp::lsp_types as lsp;

use crate::document::Document;
use crate::edits::workspace_edit;

/// Applies all fixes of a file. Editors can run it on saving.
const FIX_ALL: lsp::CodeActionKind = lsp::CodeActionKind::new("source.fixAll.drysheath");

/// Kinds of actions offered.
pub(crate) fn kinds() -> Vec<lsp::CodeActionKind> {
    vec![
        lsp::CodeActionKind::QUICKFIX,
        lsp::CodeActionKind::REFACTOR_EXTRACT,
        lsp::CodeActionKind::REFACTOR_REWRITE,
        FIX_ALL,
    ]
}

/// The actions for a range. Empty for a client that only accepts commands.
pub(crate) fn actions(document: &Document, parameters: &lsp::CodeActionParams) -> Vec<lsp::CodeActionOrCommand> {
    if !document.capabilities().literal_actions {
        return Vec::new();
    }
    let wanted = |kind: &lsp::CodeActionKind| {
        let only = parameters.context.only.as_ref();
        only.is_none_or(|only| only.iter().any(|wanted| is_within(kind, wanted)))
    };
    let mut found: Vec<(lsp::CodeActionKind, Action)> = Vec::new();
    // Actions on the whole file are offered only on request.
    if parameters.context.only.is_some() && wanted(&FIX_ALL) {
        found.extend(
            fixes_of_file(&document.snapshot, &document.analysis)
                .into_iter()
                .map(|action| (FIX_ALL, action)),
        );
    }
    if kinds().iter().any(|kind| *kind != FIX_ALL && wanted(kind)) {
        let range = document.positions.bytes(parameters.range);
        let here = actions_at(&document.snapshot, &document.analysis, range).into_iter();
        found.extend(
            here.map(|action| (kind(action.kind), action))
                .filter(|(kind, _)| wanted(kind)),
        );
    }
    let actions = found
        .into_iter()
        .map(|(kind, action)| code_action(document, parameters, kind, action));
    actions.map(lsp::CodeActionOrCommand::CodeAction).collect()
}

fn kind(kind: ActionKind) -> lsp::CodeActionKind {
    match kind {
        ActionKind::Fix | ActionKind::FixAll => lsp::CodeActionKind::QUICKFIX,
        ActionKind::Extract => lsp::CodeActionKind::REFACTOR_EXTRACT,
        // Some clients apply all quick fixes of a diagnostic with one key, which must not accept it.
        ActionKind::Accept | ActionKind::Rewrite => lsp::CodeActionKind::REFACTOR_REWRITE,
    }
}

/// Whether a kind is the requested one or a sub-kind: `refactor` includes `refactor.extract`.
fn is_within(kind: &lsp::CodeActionKind, wanted: &lsp::CodeActionKind) -> bool {
    let rest = kind.as_str().strip_prefix(wanted.as_str());
    rest.is_some_and(|rest| rest.is_empty() || rest.starts_with('.') || wanted.as_str().is_empty())
}

fn code_action(
    document: &Document,
    parameters: &lsp::CodeActionParams,
    kind: lsp::CodeActionKind,
    action: Action,
) -> lsp::CodeAction {
    let shown = parameters.context.diagnostics.iter();
    let mends = |shown: &&lsp::Diagnostic| action.mends.iter().any(|finding| is_of(document, shown, finding));
    let mended: Vec<lsp::Diagnostic> = shown.filter(mends).cloned().collect();
    let edits = [(document.analysis.file, action.edits)];
    lsp::CodeAction {
        title: action.title,
        kind: Some(kind),
        diagnostics: Some(mended).filter(|mended| !mended.is_empty()),
        edit: Some(workspace_edit(&document.snapshot, edits, document.capabilities())),
        is_preferred: action.preferred.then_some(true),
        ..lsp::CodeAction::default()
    }
}

/// Whether a diagnostic of the client is this result.
fn is_of(document: &Document, shown: &lsp::Diagnostic, finding: &Finding) -> bool {
    let is_rule = matches!(&shown.code, Some(lsp::NumberOrString::String(code)) if code == finding.rule.name());
    is_rule && shown.range == document.range(finding.place.range)
}
