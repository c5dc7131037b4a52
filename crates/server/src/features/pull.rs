//! Diagnostics for clients that pull them.

use std::collections::HashMap;
use std::path::PathBuf;

use drysheath_text::FileId;
use drysheath_workspace::Snapshot;
use tower_lsp::lsp_types as lsp;

use crate::diagnostics::diagnostics;
use crate::session::Session;
use crate::uri::{path_of, uri_of};

/// Identifies a version of a file's results.
fn result_id(snapshot: &Snapshot, file: FileId) -> String {
    format!("{}.{}", file.0, snapshot.revision(file))
}

/// Results of one file, or that they are unchanged.
pub(crate) fn of_document(
    snapshot: &Snapshot,
    uri: &lsp::Url,
    previous: Option<&str>,
    session: &Session,
) -> lsp::DocumentDiagnosticReportResult {
    let Some(file) = snapshot.known(&path_of(uri)) else {
        return full(None, Vec::new());
    };
    let id = result_id(snapshot, file);
    if previous == Some(&id) {
        let report = lsp::RelatedUnchangedDocumentDiagnosticReport {
            related_documents: None,
            unchanged_document_diagnostic_report: lsp::UnchangedDocumentDiagnosticReport { result_id: id },
        };
        return lsp::DocumentDiagnosticReportResult::Report(lsp::DocumentDiagnosticReport::Unchanged(report));
    }
    full(Some(id), diagnostics(snapshot, file, session))
}

fn full(result_id: Option<String>, items: Vec<lsp::Diagnostic>) -> lsp::DocumentDiagnosticReportResult {
    let report = lsp::RelatedFullDocumentDiagnosticReport {
        related_documents: None,
        full_document_diagnostic_report: lsp::FullDocumentDiagnosticReport { result_id, items },
    };
    lsp::DocumentDiagnosticReportResult::Report(lsp::DocumentDiagnosticReport::Full(report))
}

/// Results of all files whose results have changed, open files first.
pub(crate) fn of_workspace(
    snapshot: &Snapshot,
    previous: &[lsp::PreviousResultId],
    session: &Session,
) -> lsp::WorkspaceDiagnosticReport {
    let previous = previous.iter().map(|one| (path_of(&one.uri), one.value.as_str()));
    let previous: HashMap<PathBuf, &str> = previous.collect();
    let mut files = snapshot.files();
    files.sort_by_key(|file| (!snapshot.is_open(*file), *file));
    let wanted = files.into_iter().take_while(|_| !snapshot.is_cancelled());
    let items = wanted.filter_map(|file| {
        let path = snapshot.path(file)?;
        let (uri, version) = (uri_of(&path)?, snapshot.version(file).map(i64::from));
        let id = result_id(snapshot, file);
        let previous = previous.get(&*path);
        if previous.is_some_and(|previous| *previous == id) {
            let report = lsp::WorkspaceUnchangedDocumentDiagnosticReport {
                uri,
                version,
                unchanged_document_diagnostic_report: lsp::UnchangedDocumentDiagnosticReport { result_id: id },
            };
            return Some(lsp::WorkspaceDocumentDiagnosticReport::Unchanged(report));
        }
        let items = diagnostics(snapshot, file, session);
        // The client has nothing to clear.
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
