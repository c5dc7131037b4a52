//! Results for clients that ask for them.

use std::path::Path;

use drysheath_ide::World;
use drysheath_text::FileId;
use tower_lsp::lsp_types as lsp;

use crate::diagnostics::diagnostics;
use crate::session::Session;
use crate::uri::{path_of, uri_of};

/// What tells one set of a file's results from the next.
fn result_id(world: &World, file: FileId) -> String {
    format!("{}.{}", file.0, world.revision(file))
}

/// Looks at whatever a file's own results wait for.
fn settle(world: &mut World, file: FileId) {
    while world.waits(file) && world.work().is_some() {}
}

/// The results of one file, or that they are as before.
pub(crate) fn of_document(
    world: &mut World,
    uri: &lsp::Url,
    before: Option<&str>,
    session: &Session,
) -> lsp::DocumentDiagnosticReportResult {
    let Some(file) = world.known(&path_of(uri)) else {
        return full(None, Vec::new());
    };
    settle(world, file);
    let id = result_id(world, file);
    if before == Some(&id) {
        let report = lsp::RelatedUnchangedDocumentDiagnosticReport {
            related_documents: None,
            unchanged_document_diagnostic_report: lsp::UnchangedDocumentDiagnosticReport { result_id: id },
        };
        return lsp::DocumentDiagnosticReportResult::Report(lsp::DocumentDiagnosticReport::Unchanged(report));
    }
    full(Some(id), diagnostics(world, file, session))
}

fn full(result_id: Option<String>, items: Vec<lsp::Diagnostic>) -> lsp::DocumentDiagnosticReportResult {
    let report = lsp::RelatedFullDocumentDiagnosticReport {
        related_documents: None,
        full_document_diagnostic_report: lsp::FullDocumentDiagnosticReport { result_id, items },
    };
    lsp::DocumentDiagnosticReportResult::Report(lsp::DocumentDiagnosticReport::Full(report))
}

/// The results of all files that differ from what the client has, open ones first.
pub(crate) fn of_workspace(
    world: &mut World,
    before: &[lsp::PreviousResultId],
    session: &Session,
) -> lsp::WorkspaceDiagnosticReport {
    while world.work().is_some() {}
    let known = |path: &Path| before.iter().find(|previous| path_of(&previous.uri) == path);
    let mut files: Vec<FileId> = world.files().collect();
    files.sort_by_key(|file| (!world.is_open(*file), *file));
    let items = files.into_iter().filter_map(|file| {
        let path = world.path(file)?;
        let (uri, version) = (uri_of(&path)?, world.version(file).map(i64::from));
        let id = result_id(world, file);
        let previous = known(&path).map(|previous| previous.value.as_str());
        if previous == Some(&id) {
            let report = lsp::WorkspaceUnchangedDocumentDiagnosticReport {
                uri,
                version,
                unchanged_document_diagnostic_report: lsp::UnchangedDocumentDiagnosticReport { result_id: id },
            };
            return Some(lsp::WorkspaceDocumentDiagnosticReport::Unchanged(report));
        }
        let items = diagnostics(world, file, session);
        // A file without results that the client has never heard of is not worth a word.
        if items.is_empty() && previous.is_none() {
            return None;
        }
        let report = lsp::WorkspaceFullDocumentDiagnosticReport {
            uri,
            version,
            full_document_diagnostic_report: lsp::FullDocumentDiagnosticReport {
                result_id: Some(id),
                items,
            },
        };
        Some(lsp::WorkspaceDocumentDiagnosticReport::Full(report))
    });
    lsp::WorkspaceDiagnosticReport { items: items.collect() }
}
