//! Results as the protocol tells them, and who is told.

use std::collections::HashMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use drysheath_ide::World;
use drysheath_rules::{Finding, Level, RuleId};
use drysheath_text::FileId;
use tokio::sync::Notify;
use tokio::sync::mpsc::{UnboundedSender, unbounded_channel};
use tower_lsp::Client;
use tower_lsp::lsp_types::{
    CodeDescription, Diagnostic, DiagnosticRelatedInformation, DiagnosticSeverity, DiagnosticTag, NumberOrString,
    PublishDiagnosticsParams, Url, notification::PublishDiagnostics,
};

use crate::capabilities::Capabilities;
use crate::convert::{Positions, location};
use crate::session::Session;
use crate::uri::uri_of;

/// Who says these results.
const SOURCE: &str = "drysheath";

/// The results of one file, ready to be told.
#[derive(Clone, Debug)]
pub(crate) struct Published {
    pub path: Arc<Path>,
    pub uri: Url,
    pub version: Option<i32>,
    pub diagnostics: Vec<Diagnostic>,
}

impl Published {
    /// The results of a file as they stand.
    pub fn of(world: &World, file: FileId, session: &Session) -> Option<Self> {
        let path = world.path(file)?;
        Some(Self {
            uri: uri_of(&path)?,
            path,
            version: world.version(file),
            diagnostics: diagnostics(world, file, session),
        })
    }
}

/// The results of a file, those that are accepted left out.
pub(crate) fn diagnostics(world: &World, file: FileId, session: &Session) -> Vec<Diagnostic> {
    let findings = world.findings(file);
    if findings.is_empty() {
        return Vec::new();
    }
    let Some((text, lines)) = world.text(file) else {
        return Vec::new();
    };
    let positions = Positions {
        text,
        lines,
        encoding: session.encoding(),
    };
    let open = findings.iter().filter(|finding| finding.accepted.is_none());
    open.map(|finding| diagnostic(world, finding, &positions, session))
        .collect()
}

/// A result. The sentence is the command's; what to do stands in a line of its own.
fn diagnostic(world: &World, finding: &Finding, positions: &Positions, session: &Session) -> Diagnostic {
    let capabilities = session.capabilities();
    let message = match &finding.help {
        Some(help) => format!("{}\n{help}", finding.message),
        None => finding.message.clone(),
    };
    let related = finding.related.iter().filter_map(|related| {
        Some(DiagnosticRelatedInformation {
            location: location(world, related.place, positions.encoding)?,
            message: related.message.clone(),
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

/// What nothing uses is shown faded.
fn tags(finding: &Finding) -> Option<Vec<DiagnosticTag>> {
    const UNUSED: [RuleId; 2] = [RuleId::PartUnused, RuleId::AcceptanceUnneeded];
    UNUSED
        .contains(&finding.rule.id)
        .then(|| vec![DiagnosticTag::UNNECESSARY])
}

/// Tells the client of results, each version once and in order.
pub(crate) struct Publisher {
    outgoing: UnboundedSender<PublishDiagnosticsParams>,
    session: Arc<Session>,
    /// What was last told of each file: how many results, of which version.
    shown: HashMap<PathBuf, (usize, Option<i32>)>,
    /// Whether the client shows something that it has not asked for since it changed.
    stale: bool,
    refresh: Arc<Notify>,
}

impl Publisher {
    pub fn new(client: Client, session: Arc<Session>) -> Self {
        let (outgoing, mut queue) = unbounded_channel();
        let refresh = Arc::new(Notify::new());
        tokio::spawn({
            let (client, session, refresh) = (client.clone(), Arc::clone(&session), Arc::clone(&refresh));
            async move {
                loop {
                    refresh.notified().await;
                    ask_again(&client, session.capabilities()).await;
                }
            }
        });
        tokio::spawn(async move {
            while let Some(results) = queue.recv().await {
                client.send_notification::<PublishDiagnostics>(results).await;
            }
        });
        Self {
            outgoing,
            session,
            shown: HashMap::new(),
            stale: false,
            refresh,
        }
    }

    pub fn session(&self) -> &Session {
        &self.session
    }

    fn capabilities(&self) -> &Capabilities {
        self.session.capabilities()
    }

    /// Tells of a file's results. A client that asks by itself is told only that there is something to ask for.
    pub fn publish(&mut self, results: Published, open: bool) {
        let now = (results.diagnostics.len(), results.version);
        let before = self.shown.get(&*results.path).copied();
        let pulls = self.capabilities().pulls;
        if !pulls && !open && now.0 == 0 && before.is_none_or(|(count, _)| count == 0) {
            return;
        }
        self.shown.insert(results.path.to_path_buf(), now);
        // After an edit of its own an editor asks again by itself; here something else has changed.
        self.stale |= if open {
            before.is_some_and(|(_, version)| version == now.1)
        } else {
            pulls
        };
        if !pulls {
            self.send(results);
        }
    }

    fn send(&self, results: Published) {
        let results = PublishDiagnosticsParams {
            uri: results.uri,
            diagnostics: results.diagnostics,
            version: results.version,
        };
        let _ = self.outgoing.send(results);
    }

    /// A file was closed: what it shows from now on is about the disk's text, and comes with the next look.
    pub fn closed(&mut self, path: &Path, version: Option<i32>) {
        let shows = self.shown.remove(path).is_some_and(|(count, _)| count > 0);
        if let Some(uri) = uri_of(path).filter(|_| shows && !self.capabilities().pulls) {
            self.send(Published {
                path: path.into(),
                uri,
                version,
                diagnostics: Vec::new(),
            });
        }
    }

    /// Nothing waits any more: the client may ask again.
    pub fn at_rest(&mut self) {
        if std::mem::take(&mut self.stale) {
            self.refresh.notify_one();
        }
    }
}

async fn ask_again(client: &Client, capabilities: &Capabilities) {
    // A client that answers with an error has nothing to refresh.
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
