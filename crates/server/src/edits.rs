//! Combines edits of several files into one workspace edit, in the form that the client understands.

use std::collections::HashMap;

use drysheath_text::{Edit, FileId};
use drysheath_workspace::Snapshot;
use tower_lsp::lsp_types as lsp;

use crate::capabilities::Capabilities;
use crate::convert::PositionConverter;
use crate::uri::uri_of;

/// Combines the edits of each file into one workspace edit. A file that cannot be read is left out.
pub(crate) fn workspace_edit(
    snapshot: &Snapshot,
    edits: impl IntoIterator<Item = (FileId, Vec<Edit>)>,
    capabilities: &Capabilities,
) -> lsp::WorkspaceEdit {
    let files = edits.into_iter().filter_map(|(file, edits)| {
        let uri = uri_of(&snapshot.path(file)?)?;
        let positions = PositionConverter::of(snapshot, file, capabilities.encoding)?;
        Some((uri, snapshot.version(file), positions.edits(&edits)))
    });
    if capabilities.document_changes {
        let files = files.map(|(uri, version, edits)| lsp::TextDocumentEdit {
            text_document: lsp::OptionalVersionedTextDocumentIdentifier { uri, version },
            edits: edits.into_iter().map(lsp::OneOf::Left).collect(),
        });
        return lsp::WorkspaceEdit {
            document_changes: Some(lsp::DocumentChanges::Edits(files.collect())),
            ..lsp::WorkspaceEdit::default()
        };
    }
    let mut changes: HashMap<lsp::Url, Vec<lsp::TextEdit>> = HashMap::new();
    for (uri, _, edits) in files {
        changes.entry(uri).or_default().extend(edits);
    }
    lsp::WorkspaceEdit::new(changes)
}
