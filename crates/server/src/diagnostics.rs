//! Conversion of results to the protocol's diagnostics, and their publication.

use std::collections::HashMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use drysheath_rules::{Finding, Level, RuleId};
use drysheath_text::FileId;
use drysheath_workspace::Snapshot;
use tokio::sync::Notify;
use tower_lsp::Client;
use tower_lsp::lsp_types::{
    CodeDescription, Diagnostic, DiagnosticRelatedInformation, DiagnosticSeverity, DiagnosticTag, NumberOrString,
    PublishDiagnosticsParams, Url, notification::PublishDiagnostics,
};

use crate::capabilities::Capabilities;
use crate::convert::{PositionConverter, location};
use crate::protocol::Notifier;
use crate::session::Session;
use crate::uri::uri_of;

/// `source` field of the diagnostics.
const SOURCE: &str = "drysheath";

/// Diagnostics of one file at one point in time.
#[derive(Clone, Debug)]
pub(crate) struct FileDiagnostics {
    pub path: Arc<Path>,
    pub uri: Url,
    pub version: Option<i32>,
    pub diagnostics: Vec<Diagnostic>,
}

impl FileDiagnostics {
    pub fn of(snapshot: &Snapshot, file: FileId, session: &Session) -> Option<Self> {
        let path = snapshot.path(file)?;
        Some(Self {
            uri: uri_of(&path)?,
            path,
            version: snapshot.version(file),
            diagnostics: diagnostics(snapshot, file, session),
        })
    }
}

/// Results of a file that are not accepted.
pub(crate) fn diagnostics(snapshot: &Snapshot, file: FileId, session: &Session) -> Vec<Diagnostic> {
    let mut findings = snapshot.findings(file);
    findings.retain(|finding| finding.accepted.is_none());
    if findings.is_empty() {
        return Vec::new();
    }
    let Some(positions) = PositionConverter::of(snapshot, file, session.encoding()) else {
        return Vec::new();
    };
    let diagnostic = |finding| diagnostic(snapshot, finding, &positions, session);
    findings.iter().map(diagnostic).collect()
}

/// Converts a result. The message is the same as on the command line, with the help text on separate lines.
fn diagnostic(snapshot: &Snapshot, finding: &Finding, positions: &PositionConverter, session: &Session) -> Diagnostic {
    let capabilities = session.capabilities();
    let message = match &finding.help {
        Some(help) => format!("{}\n{help}", finding.message),
        None => finding.message.clone(),
    };
    let related = finding.related.iter().filter_map(|related| {
        Some(DiagnosticRelatedInformation {
            location: location(snapshot, related.place, positions.encoding)?,
            message: related.label.as_str().to_owned(),
        })
    });
    let related: Option<Vec<_>> = capabilities.related_places.then(|| related.collect());
    let link = || session.pages.address(finding.rule);
    Diagnostic {
        range: positions.range(finding.place.range),
        severity: Some(severity(finding.level)),
        code: Some(NumberOrString::String(finding.rule.name().to_owned())),
        code_description: capabilities
            .code_links
            .then(link)
            .flatten()
            .map(|href| CodeDescription { href }),
        source: Some(SOURCE.to_owned()),
        message,
        related_information: related.filter(|related| !related.is_empty()),
        tags: tags(finding).filter(|_| capabilities.tags),
        data: None,
    }
}

fn severity(level: Level) -> DiagnosticSeverity {
    match level {
        Level::Error => DiagnosticSeverity::ERROR,
        Level::Warning => DiagnosticSeverity::WARNING,
        Level::Note => DiagnosticSeverity::INFORMATION,
    }
}

/// Editors fade diagnostics that are tagged as unnecessary.
fn tags(finding: &Finding) -> Option<Vec<DiagnosticTag>> {
    const UNUSED: [RuleId; 2] = [RuleId::PartUnused, RuleId::AcceptanceUnneeded];
    UNUSED
        .contains(&finding.rule.id)
        .then(|| vec![DiagnosticTag::UNNECESSARY])
}

/// What was last published for a file.
#[derive(Clone, Copy, PartialEq, Eq)]
struct Published {
    results: usize,
    version: Option<i32>,
}

/// Sends diagnostics to the client in order, and requests a refresh from a client that pulls.
pub(crate) struct Publisher {
    notifier: Notifier,
    session: Arc<Session>,
    published: HashMap<PathBuf, Published>,
    /// Whether diagnostics that the client has pulled may be outdated.
    stale: bool,
    refresh: Arc<Notify>,
}

impl Publisher {
    pub fn new(client: Client, notifier: Notifier, session: Arc<Session>) -> Self {
        let refresh = Arc::new(Notify::new());
        tokio::spawn({
            let (session, refresh) = (Arc::clone(&session), Arc::clone(&refresh));
            async move {
                loop {
                    refresh.notified().await;
                    ask_to_refresh(&client, session.capabilities()).await;
                }
            }
        });
        Self {
            notifier,
            session,
            published: HashMap::new(),
            stale: false,
            refresh,
        }
    }

    /// Publishes the diagnostics of a file. A client that pulls only gets a refresh request once all work is done.
    pub fn publish(&mut self, file: FileDiagnostics, is_open: bool) {
        let now = Published {
            results: file.diagnostics.len(),
            version: file.version,
        };
        let before = self.published.get(&*file.path).copied();
        let pulls = self.session.capabilities().pulls;
        if !pulls && !is_open && now.results == 0 && before.is_none_or(|before| before.results == 0) {
            return;
        }
        self.published.insert(file.path.to_path_buf(), now);
        // After an edit, the editor pulls that file by itself. If the version is unchanged, something else has changed.
        self.stale |= if is_open {
            before.is_some_and(|before| before.version == now.version)
        } else {
            pulls
        };
        if !pulls {
            self.send(file.uri, file.diagnostics, file.version);
        }
    }

    fn send(&self, uri: Url, diagnostics: Vec<Diagnostic>, version: Option<i32>) {
        self.notifier.notify::<PublishDiagnostics>(PublishDiagnosticsParams {
            uri,
            diagnostics,
            version,
        });
    }

    /// All work is done: a client that pulls may now be asked to refresh.
    pub fn idle(&mut self) {
        if std::mem::take(&mut self.stale) {
            self.refresh.notify_one();
        }
    }
}

async fn ask_to_refresh(client: &Client, capabilities: &Capabilities) {
    // If the client answers with an error, it has nothing to refresh.
    if capabilities.refreshes_results {
        let _ = client.workspace_diagnostic_refresh().await;
    }
    if capabilities.refreshes_hints {
        let _ = client.inlay_hint_refresh().await;
    }
    if capabilities.refreshes_lenses {
        let _ = client.code_lens_refresh().await;
    }
}
