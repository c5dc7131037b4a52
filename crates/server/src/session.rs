use std::sync::{Arc, LazyLock, OnceLock};

use drysheath_text::Encoding;
use tower_lsp::lsp_types::{ClientCapabilities, InitializeParams};

use crate::capabilities::Capabilities;
use crate::pages::Pages;
use crate::protocol::Lifecycle;

/// What all parts of the server know of the conversation with its client.
#[derive(Debug, Default)]
pub(crate) struct Session {
    capabilities: OnceLock<Capabilities>,
    pub pages: Pages,
    pub lifecycle: Arc<Lifecycle>,
}

impl Session {
    /// What the client can do; before `initialize`, what every client can.
    pub fn capabilities(&self) -> &Capabilities {
        static MINIMUM: LazyLock<Capabilities> = LazyLock::new(|| (&ClientCapabilities::default()).into());
        self.capabilities.get().unwrap_or(&MINIMUM)
    }

    /// The encoding in which the client counts columns.
    pub fn encoding(&self) -> Encoding {
        self.capabilities().encoding
    }

    /// Records what the client says that it can do. The first call counts.
    pub fn initialize(&self, client: &InitializeParams) -> &Capabilities {
        self.capabilities.get_or_init(|| Capabilities::of(client))
    }
}
