use std::sync::Arc;

use drysheath_ide::{Analysis, World};
use drysheath_rules::Rule;
use drysheath_text::TextRange;
use tower_lsp::lsp_types as lsp;

use crate::capabilities::Capabilities;
use crate::convert::Positions;
use crate::session::Session;
use crate::uri::{path_of, uri_of};

/// One file at one moment, and how its positions are told to this client.
pub(crate) struct Document {
    pub analysis: Arc<Analysis>,
    pub positions: Positions,
    pub uri: lsp::Url,
    session: Arc<Session>,
}

impl Document {
    /// The file of an address as it stands now.
    pub fn of(world: &mut World, uri: &lsp::Url, session: &Arc<Session>) -> Option<Self> {
        let file = world.known(&path_of(uri))?;
        let analysis = world.analysis(file)?;
        Some(Self::new(analysis, session))
    }

    /// An analysis as a document.
    pub fn new(analysis: Arc<Analysis>, session: &Arc<Session>) -> Self {
        let uri = uri_of(&analysis.path);
        Self {
            positions: Positions {
                text: Arc::clone(&analysis.text),
                lines: analysis.lines.clone(),
                encoding: session.encoding(),
            },
            // A path that came from an address goes back into one.
            uri: uri.unwrap_or_else(nowhere),
            analysis,
            session: Arc::clone(session),
        }
    }

    pub fn capabilities(&self) -> &Capabilities {
        self.session.capabilities()
    }

    /// The address of a rule's page.
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

#[expect(clippy::expect_used, reason = "a constant that is an address")]
fn nowhere() -> lsp::Url {
    lsp::Url::parse("untitled:nowhere").expect("it is an address")
}
