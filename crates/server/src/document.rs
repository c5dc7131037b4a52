use std::sync::Arc;

use drysheath_rules::Rule;
use drysheath_text::TextRange;
use drysheath_workspace::{Analysis, Snapshot};
use tower_lsp::lsp_types as lsp;

use crate::capabilities::Capabilities;
use crate::convert::PositionConverter;
use crate::session::Session;
use crate::uri::path_of;

/// A document and all other files at one point in time, from which a request is answered.
pub(crate) struct Document {
    pub snapshot: Snapshot,
    pub analysis: Arc<Analysis>,
    pub positions: PositionConverter,
    pub uri: lsp::Url,
    session: Arc<Session>,
}

impl Document {
    /// The document with this URI. `None` if there is no such file.
    pub fn new(snapshot: Snapshot, uri: lsp::Url, session: Arc<Session>) -> Option<Self> {
        let file = snapshot.known(&path_of(&uri))?;
        let analysis = snapshot.analysis(file)?;
        Some(Self {
            positions: PositionConverter {
                text: Arc::clone(&analysis.text),
                lines: analysis.lines.clone(),
                encoding: session.encoding(),
            },
            snapshot,
            analysis,
            uri,
            session,
        })
    }

    pub fn capabilities(&self) -> &Capabilities {
        self.session.capabilities()
    }

    /// URI of a rule's page.
    pub fn page(&self, rule: &'static Rule) -> Option<lsp::Url> {
        self.session.pages.address(rule)
    }

    pub fn offset(&self, position: lsp::Position) -> u32 {
        self.positions.offset(position)
    }

    pub fn range(&self, range: TextRange) -> lsp::Range {
        self.positions.range(range)
    }
}
