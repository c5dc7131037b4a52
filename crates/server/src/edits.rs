//! Edits of files as one change, in the form that the client understands.

use std::collections::HashMap;

use drysheath_ide::World;
use drysheath_text::{Edit, FileId};
use tower_lsp::lsp_types as lsp;

use crate::capabilities::Capabilities;
use crate::convert::Positions;
use crate::uri::uri_of;

/// The edits of each file as one change. A file whose text is not known is left out.
pub(crate) fn workspace_edit(
    world: &World,
    edits: impl IntoIterator<Item = (FileId, Vec<Edit>)>,
    capabilities: &Capabilities,
) -> lsp::WorkspaceEdit {
    let files = edits.into_iter().filter_map(|(file, edits)| {
        let uri = uri_of(&world.path(file)?)?;
        let (text, lines) = world.text(file)?;
        let positions = Positions {
            text,
            lines,
            encoding: capabilities.encoding,
        };
        Some((uri, world.version(file), positions.edits(&edits)))
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
