//! Capabilities of the client and the server, as exchanged in `initialize`.

mod server;

use drysheath_text::Encoding;
use tower_lsp::lsp_types::{ClientCapabilities, InitializeParams, MarkupKind, PositionEncodingKind};

pub(crate) use self::server::server_capabilities;

/// Capabilities of the client.
#[derive(Clone, Debug)]
#[allow(clippy::struct_excessive_bools, reason = "a client says yes or no to each")]
pub(crate) struct Capabilities {
    pub encoding: Encoding,
    /// The client pulls diagnostics, and again on request. To a client without refresh requests, diagnostics are pushed
    /// instead: it would keep outdated ones that depend on other files.
    pub pulls: bool,
    pub related_places: bool,
    pub code_links: bool,
    pub tags: bool,
    pub document_changes: bool,
    pub snippets: bool,
    pub markdown: bool,
    pub literal_actions: bool,
    pub nested_symbols: bool,
    pub watches: bool,
    pub progress: bool,
    pub refreshes_results: bool,
    pub refreshes_hints: bool,
    pub refreshes_lenses: bool,
    pub location_links: bool,
    pub link_tooltips: bool,
    pub prepares_rename: bool,
    /// The client shows pictures in Markdown. The protocol has no field for this; the client states it in
    /// `initializationOptions`.
    pub pictures: bool,
}

impl Capabilities {
    /// Reads the capabilities from the protocol fields and the client's options.
    pub fn of(client: &InitializeParams) -> Self {
        let options = client.initialization_options.as_ref();
        let pictures = options.and_then(|options| options.get("pictures")?.as_bool());
        Self {
            pictures: pictures == Some(true),
            ..Self::from(&client.capabilities)
        }
    }
}

impl From<&ClientCapabilities> for Capabilities {
    fn from(client: &ClientCapabilities) -> Self {
        let workspace = client.workspace.as_ref();
        let document = client.text_document.as_ref();
        let published = document.and_then(|document| document.publish_diagnostics.as_ref());
        let edits = workspace.and_then(|workspace| workspace.workspace_edit.as_ref());
        let completion = document
            .and_then(|document| document.completion.as_ref())
            .and_then(|completion| completion.completion_item.as_ref());
        let hover = document.and_then(|document| document.hover.as_ref());
        let actions = document.and_then(|document| document.code_action.as_ref());
        let yes = |value: Option<bool>| value == Some(true);
        let refreshes_results = workspace
            .and_then(|it| it.diagnostic.as_ref())
            .is_some_and(|it| yes(it.refresh_support));
        Self {
            encoding: encoding(client),
            pulls: refreshes_results && document.is_some_and(|document| document.diagnostic.is_some()),
            related_places: yes(published.and_then(|it| it.related_information)),
            code_links: yes(published.and_then(|it| it.code_description_support)),
            tags: published.is_some_and(|it| it.tag_support.is_some()),
            document_changes: yes(edits.and_then(|it| it.document_changes)),
            snippets: yes(completion.and_then(|it| it.snippet_support)),
            markdown: hover
                .and_then(|it| it.content_format.as_ref())
                .is_some_and(|formats| formats.contains(&MarkupKind::Markdown)),
            literal_actions: actions.is_some_and(|it| it.code_action_literal_support.is_some()),
            nested_symbols: document
                .and_then(|it| it.document_symbol.as_ref())
                .is_some_and(|it| yes(it.hierarchical_document_symbol_support)),
            watches: workspace
                .and_then(|it| it.did_change_watched_files.as_ref())
                .is_some_and(|it| yes(it.dynamic_registration)),
            progress: yes(client.window.as_ref().and_then(|it| it.work_done_progress)),
            refreshes_results,
            refreshes_hints: workspace
                .and_then(|it| it.inlay_hint.as_ref())
                .is_some_and(|it| yes(it.refresh_support)),
            refreshes_lenses: workspace
                .and_then(|it| it.code_lens.as_ref())
                .is_some_and(|it| yes(it.refresh_support)),
            location_links: document
                .and_then(|it| it.definition.as_ref())
                .is_some_and(|it| yes(it.link_support)),
            link_tooltips: document
                .and_then(|it| it.document_link.as_ref())
                .is_some_and(|it| yes(it.tooltip_support)),
            prepares_rename: document
                .and_then(|it| it.rename.as_ref())
                .is_some_and(|it| yes(it.prepare_support)),
            pictures: false,
        }
    }
}

/// UTF-8 needs no conversion, so it is used if the client offers it, then UTF-32; every client supports UTF-16.
fn encoding(client: &ClientCapabilities) -> Encoding {
    let offered = client
        .general
        .as_ref()
        .and_then(|general| general.position_encodings.as_ref());
    let offers = |kind: &PositionEncodingKind| offered.is_some_and(|offered| offered.contains(kind));
    if offers(&PositionEncodingKind::UTF8) {
        Encoding::Utf8
    } else if offers(&PositionEncodingKind::UTF32) {
        Encoding::Utf32
    } else {
        Encoding::Utf16
    }
}
