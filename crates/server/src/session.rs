use std::sync::{Arc, LazyLock, OnceLock};

use drysheath_text::Encoding;
use tower_lsp::lsp_types::{ClientCapabilities, InitializeParams};

use crate::capabilities::Capabilities;
use crate::pages::Pages;
use crate::protocol::Lifecycle;

/// Session state shared by all parts of the server.
#[derive(Debug, Default)]
pub(crate) struct Session {
    capabilities: OnceLock<Capabilities>,
    pub pages: Pages,
    pub lifecycle: Arc<Lifecycle>,
}

impl Session {
    /// Capabilities of the client; before `initialize`, the minimum that every client has.
    pub fn capabilities(&self) -> &Capabilities {
        static MINIMUM: LazyLock<Capabilities> = LazyLock::new(|| (&ClientCapabilities::default()).into());
        self.capabilities.get().unwrap_or(&MINIMUM)
    }

    /// Encoding in which the client counts columns.
    pub fn encoding(&self) -> Encoding {
        self.capabilities().encoding
    }

    /// Records the client's capabilities. Only the first call has an effect.
    pub fn initialize(&self, client: &InitializeParams) -> &Capabilities {
        self.capabilities.get_or_init(|| Capabilities::of(client))
    }
}
