//! The handlers of the protocol's messages. Every handler puts its message into the queue before its first `await`,
//! which keeps messages in order (see `protocol`).

use std::path::PathBuf;
use std::sync::{Arc, Mutex, PoisonError};

use drysheath_workspace::Snapshot;
use tower_lsp::jsonrpc::{Error, ErrorCode, Result};
use tower_lsp::lsp_types as lsp;
use tower_lsp::lsp_types::notification::{DidChangeWatchedFiles, Notification};
use tower_lsp::lsp_types::request::{GotoTypeDefinitionParams, GotoTypeDefinitionResponse};
use tower_lsp::{Client, LanguageServer};

use crate::capabilities::server_capabilities;
use crate::convert::change;
use crate::document::Document;
use crate::features::{
    actions, completion, folding, formatting, hierarchy, hints, hover, lenses, links, navigation, pull, rename, sheet,
    symbols,
    tokens::{self, TokenCache},
};
use crate::parent;
use crate::pending_requests::{PendingRequests, StaleAfter};
use crate::pool::{Lane, Pool};
use crate::queue::{Message, Queue, WaitFor};
use crate::session::Session;
use crate::uri::path_of;

/// The server, as called by `tower_lsp`.
pub(crate) struct Backend {
    client: Client,
    queue: Queue,
    pool: Pool,
    pending_requests: PendingRequests,
    session: Arc<Session>,
    /// Workspace folders, until the client sends `initialized`.
    folders: Mutex<Vec<PathBuf>>,
    tokens: Arc<TokenCache>,
}

impl Backend {
    pub fn new(client: Client, queue: Queue, session: Arc<Session>) -> Self {
        Self {
            client,
            queue,
            pool: Pool::new(),
            pending_requests: PendingRequests::default(),
            session,
            folders: Mutex::default(),
            tokens: Arc::default(),
        }
    }

    /// Answers a request from the state after all earlier changes, and after whatever else it waits for.
    async fn answer<T: Send + 'static>(
        &self,
        after: WaitFor,
        lane: Lane,
        stale_after: StaleAfter,
        answer: impl FnOnce(Snapshot) -> T + Send + 'static,
    ) -> Result<T> {
        // Dropped with this future when the client cancels the request.
        let answering = self.pending_requests.begin(stale_after);
        let cancellation = answering.cancellation();
        let answered = match self.queue.snapshot(after).await {
            Some(snapshot) => {
                let snapshot = snapshot.until(cancellation);
                self.pool.run(lane, move || answer(snapshot)).await
            }
            None => Err("the question was not answered".to_owned()),
        };
        if answering.is_stale() {
            return Err(Error::content_modified());
        }
        match answered {
            Ok(answer) => Ok(answer),
            Err(why) => {
                self.client.log_message(lsp::MessageType::ERROR, &why).await;
                Err(Error {
                    code: ErrorCode::InternalError,
                    message: why.into(),
                    data: None,
                })
            }
        }
    }

    /// Answers a request about one document. `None` if there is no such document.
    async fn about<T: Send + 'static>(
        &self,
        uri: lsp::Url,
        after: WaitFor,
        lane: Lane,
        stale_after: StaleAfter,
        answer: impl FnOnce(&Document) -> T + Send + 'static,
    ) -> Result<Option<T>> {
        let session = Arc::clone(&self.session);
        let answer = move |snapshot: Snapshot| {
            if snapshot.is_cancelled() {
                return None;
            }
            Document::new(snapshot, uri, session).as_ref().map(answer)
        };
        self.answer(after, lane, stale_after, answer).await
    }

    /// Answers a request about one document with interactive priority, without waiting for results.
    async fn interactive<T: Send + 'static>(
        &self,
        uri: lsp::Url,
        answer: impl FnOnce(&Document) -> T + Send + 'static,
    ) -> Result<Option<T>> {
        self.about(uri, WaitFor::Nothing, Lane::Interactive, StaleAfter::Nothing, answer)
            .await
    }

    /// Answers a request about one document in the background, once all files are known.
    async fn across_files<T: Send + 'static>(
        &self,
        uri: lsp::Url,
        stale_after: StaleAfter,
        answer: impl FnOnce(&Document) -> T + Send + 'static,
    ) -> Result<Option<T>> {
        self.about(uri, WaitFor::Everything, Lane::Background, stale_after, answer)
            .await
    }

    /// Answers the custom request for the drawings of an office.
    pub async fn sheet(&self, parameters: sheet::Parameters) -> Result<Option<sheet::Sheet>> {
        let answer = self.interactive(parameters.text_document.uri, sheet::sheet);
        Ok(answer.await?.flatten())
    }
}

/// The workspace folders, which clients give in one of three fields.
#[allow(deprecated, reason = "older clients give nothing else")]
fn folders(initialize: &lsp::InitializeParams) -> Vec<PathBuf> {
    if let Some(folders) = initialize
        .workspace_folders
        .as_ref()
        .filter(|folders| !folders.is_empty())
    {
        return folders.iter().map(|folder| path_of(&folder.uri)).collect();
    }
    let root = initialize.root_uri.as_ref().map(path_of);
    root.or_else(|| initialize.root_path.as_ref().map(PathBuf::from))
        .into_iter()
        .collect()
}

/// Asks the client to watch the files that this server reads.
async fn watch(client: &Client) {
    let watchers = ["**/*.office", "**/drysheath.toml"].map(|pattern| lsp::FileSystemWatcher {
        glob_pattern: lsp::GlobPattern::String(pattern.to_owned()),
        kind: None,
    });
    let options = lsp::DidChangeWatchedFilesRegistrationOptions {
        watchers: watchers.to_vec(),
    };
    let registration = lsp::Registration {
        id: "drysheath-watch".to_owned(),
        method: DidChangeWatchedFiles::METHOD.to_owned(),
        register_options: serde_json::to_value(options).ok(),
    };
    if let Err(error) = client.register_capability(vec![registration]).await {
        client
            .log_message(lsp::MessageType::WARNING, format!("files are not watched: {error}"))
            .await;
    }
}

#[tower_lsp::async_trait]
impl LanguageServer for Backend {
    async fn initialize(&self, parameters: lsp::InitializeParams) -> Result<lsp::InitializeResult> {
        let client = self.session.initialize(&parameters);
        *self.folders.lock().unwrap_or_else(PoisonError::into_inner) = folders(&parameters);
        if let Some(process) = parameters.process_id {
            let lifecycle = Arc::clone(&self.session.lifecycle);
            tokio::spawn(async move {
                parent::exited(process).await;
                lifecycle.close();
            });
        }
        Ok(lsp::InitializeResult {
            capabilities: server_capabilities(client),
            server_info: Some(lsp::ServerInfo {
                name: "drysheath".to_owned(),
                version: Some(env!("CARGO_PKG_VERSION").to_owned()),
            }),
        })
    }

    async fn initialized(&self, _: lsp::InitializedParams) {
        // Not earlier: a client may drop messages it receives before it has sent `initialized`.
        let added = std::mem::take(&mut *self.folders.lock().unwrap_or_else(PoisonError::into_inner));
        self.queue.send(Message::Folders {
            added,
            removed: Vec::new(),
        });
        if self.session.capabilities().watches {
            // Not awaited here: the client may answer only after sending more messages.
            let client = self.client.clone();
            tokio::spawn(async move { watch(&client).await });
        }
    }

    async fn shutdown(&self) -> Result<()> {
        self.session.lifecycle.shut_down();
        Ok(())
    }

    async fn did_open(&self, parameters: lsp::DidOpenTextDocumentParams) {
        let document = parameters.text_document;
        self.queue.send(Message::Open {
            path: path_of(&document.uri),
            version: document.version,
            text: document.text,
        });
    }

    async fn did_change(&self, parameters: lsp::DidChangeTextDocumentParams) {
        let path = path_of(&parameters.text_document.uri);
        self.pending_requests.edited(&path);
        self.queue.send(Message::Change {
            path,
            version: parameters.text_document.version,
            changes: parameters.content_changes.into_iter().map(change).collect(),
            encoding: self.session.encoding(),
        });
    }

    async fn did_close(&self, parameters: lsp::DidCloseTextDocumentParams) {
        let uri = parameters.text_document.uri;
        self.tokens.forget(&uri);
        self.queue.send(Message::Close(path_of(&uri)));
    }

    async fn did_save(&self, parameters: lsp::DidSaveTextDocumentParams) {
        self.queue
            .send(Message::ChangedOnDisk(vec![path_of(&parameters.text_document.uri)]));
        self.queue.send(Message::Rescan);
    }

    async fn did_change_watched_files(&self, parameters: lsp::DidChangeWatchedFilesParams) {
        let paths = parameters.changes.iter().map(|event| path_of(&event.uri));
        self.queue.send(Message::ChangedOnDisk(paths.collect()));
    }

    async fn did_change_workspace_folders(&self, parameters: lsp::DidChangeWorkspaceFoldersParams) {
        let paths = |folders: &[lsp::WorkspaceFolder]| folders.iter().map(|folder| path_of(&folder.uri)).collect();
        self.queue.send(Message::Folders {
            added: paths(&parameters.event.added),
            removed: paths(&parameters.event.removed),
        });
    }

    async fn hover(&self, parameters: lsp::HoverParams) -> Result<Option<lsp::Hover>> {
        let at = parameters.text_document_position_params;
        let answer = self.interactive(at.text_document.uri, move |document| {
            hover::hover(document, at.position)
        });
        Ok(answer.await?.flatten())
    }

    async fn completion(&self, parameters: lsp::CompletionParams) -> Result<Option<lsp::CompletionResponse>> {
        let uri = parameters.text_document_position.text_document.uri.clone();
        let answer = self.interactive(uri, move |document| completion::completion(document, &parameters));
        Ok(answer.await?.map(lsp::CompletionResponse::List))
    }

    async fn goto_definition(
        &self,
        parameters: lsp::GotoDefinitionParams,
    ) -> Result<Option<lsp::GotoDefinitionResponse>> {
        let at = parameters.text_document_position_params;
        let answer = self.interactive(at.text_document.uri, move |document| {
            navigation::definition(document, at.position)
        });
        Ok(answer.await?.flatten())
    }

    async fn goto_type_definition(
        &self,
        parameters: GotoTypeDefinitionParams,
    ) -> Result<Option<GotoTypeDefinitionResponse>> {
        let at = parameters.text_document_position_params;
        let answer = self.interactive(at.text_document.uri, move |document| {
            navigation::type_definition(document, at.position)
        });
        Ok(answer.await?.flatten())
    }

    async fn references(&self, parameters: lsp::ReferenceParams) -> Result<Option<Vec<lsp::Location>>> {
        let at = parameters.text_document_position;
        let declaration = parameters.context.include_declaration;
        self.across_files(at.text_document.uri, StaleAfter::Nothing, move |document| {
            navigation::references(document, at.position, declaration)
        })
        .await
    }

    async fn document_highlight(
        &self,
        parameters: lsp::DocumentHighlightParams,
    ) -> Result<Option<Vec<lsp::DocumentHighlight>>> {
        let at = parameters.text_document_position_params;
        self.interactive(at.text_document.uri, move |document| {
            navigation::highlights(document, at.position)
        })
        .await
    }

    async fn prepare_rename(
        &self,
        parameters: lsp::TextDocumentPositionParams,
    ) -> Result<Option<lsp::PrepareRenameResponse>> {
        let answer = self.interactive(parameters.text_document.uri, move |document| {
            rename::prepare(document, parameters.position)
        });
        Ok(answer.await?.flatten())
    }

    async fn rename(&self, parameters: lsp::RenameParams) -> Result<Option<lsp::WorkspaceEdit>> {
        let at = parameters.text_document_position;
        let answer = self.across_files(at.text_document.uri, StaleAfter::AnyEdit, move |document| {
            rename::rename(document, at.position, &parameters.new_name)
        });
        match answer.await? {
            None => Ok(None),
            Some(Ok(edit)) => Ok(edit),
            Some(Err(why)) => Err(Error::invalid_params(why)),
        }
    }

    async fn document_symbol(
        &self,
        parameters: lsp::DocumentSymbolParams,
    ) -> Result<Option<lsp::DocumentSymbolResponse>> {
        self.interactive(parameters.text_document.uri, symbols::of_document)
            .await
    }

    async fn symbol(&self, parameters: lsp::WorkspaceSymbolParams) -> Result<Option<Vec<lsp::SymbolInformation>>> {
        let encoding = self.session.encoding();
        let symbols = move |snapshot: Snapshot| symbols::of_workspace(&snapshot, &parameters.query, encoding);
        self.answer(WaitFor::Everything, Lane::Background, StaleAfter::Nothing, symbols)
            .await
            .map(Some)
    }

    async fn code_action(&self, parameters: lsp::CodeActionParams) -> Result<Option<lsp::CodeActionResponse>> {
        let uri = parameters.text_document.uri.clone();
        let stale_after = StaleAfter::EditOf(path_of(&uri));
        self.about(uri, WaitFor::Nothing, Lane::Background, stale_after, move |document| {
            actions::actions(document, &parameters)
        })
        .await
    }

    async fn code_lens(&self, parameters: lsp::CodeLensParams) -> Result<Option<Vec<lsp::CodeLens>>> {
        self.interactive(parameters.text_document.uri, lenses::lenses).await
    }

    async fn execute_command(&self, parameters: lsp::ExecuteCommandParams) -> Result<Option<serde_json::Value>> {
        // The command of every code lens; see `lenses`.
        if parameters.command == lenses::COMMAND {
            return Ok(None);
        }
        Err(Error::invalid_params(format!(
            "there is no command `{}`",
            parameters.command
        )))
    }

    async fn document_link(&self, parameters: lsp::DocumentLinkParams) -> Result<Option<Vec<lsp::DocumentLink>>> {
        self.interactive(parameters.text_document.uri, links::links).await
    }

    async fn formatting(&self, parameters: lsp::DocumentFormattingParams) -> Result<Option<Vec<lsp::TextEdit>>> {
        self.interactive(parameters.text_document.uri, formatting::whole).await
    }

    async fn range_formatting(
        &self,
        parameters: lsp::DocumentRangeFormattingParams,
    ) -> Result<Option<Vec<lsp::TextEdit>>> {
        self.interactive(parameters.text_document.uri, move |document| {
            formatting::range(document, parameters.range)
        })
        .await
    }

    async fn on_type_formatting(
        &self,
        parameters: lsp::DocumentOnTypeFormattingParams,
    ) -> Result<Option<Vec<lsp::TextEdit>>> {
        let at = parameters.text_document_position;
        self.interactive(at.text_document.uri, move |document| {
            formatting::on_type(document, at.position, &parameters.ch)
        })
        .await
    }

    async fn folding_range(&self, parameters: lsp::FoldingRangeParams) -> Result<Option<Vec<lsp::FoldingRange>>> {
        self.interactive(parameters.text_document.uri, folding::folding).await
    }

    async fn selection_range(&self, parameters: lsp::SelectionRangeParams) -> Result<Option<Vec<lsp::SelectionRange>>> {
        self.interactive(parameters.text_document.uri, move |document| {
            folding::selection(document, &parameters.positions)
        })
        .await
    }

    async fn prepare_call_hierarchy(
        &self,
        parameters: lsp::CallHierarchyPrepareParams,
    ) -> Result<Option<Vec<lsp::CallHierarchyItem>>> {
        let at = parameters.text_document_position_params;
        let answer = self.interactive(at.text_document.uri, move |document| {
            hierarchy::prepare(document, at.position)
        });
        Ok(answer.await?.flatten())
    }

    async fn incoming_calls(
        &self,
        parameters: lsp::CallHierarchyIncomingCallsParams,
    ) -> Result<Option<Vec<lsp::CallHierarchyIncomingCall>>> {
        let answer = self.interactive(parameters.item.uri.clone(), move |document| {
            hierarchy::incoming(document, &parameters.item)
        });
        Ok(answer.await?.flatten())
    }

    async fn outgoing_calls(
        &self,
        parameters: lsp::CallHierarchyOutgoingCallsParams,
    ) -> Result<Option<Vec<lsp::CallHierarchyOutgoingCall>>> {
        let answer = self.interactive(parameters.item.uri.clone(), move |document| {
            hierarchy::outgoing(document, &parameters.item)
        });
        Ok(answer.await?.flatten())
    }

    async fn semantic_tokens_full(
        &self,
        parameters: lsp::SemanticTokensParams,
    ) -> Result<Option<lsp::SemanticTokensResult>> {
        let cache = Arc::clone(&self.tokens);
        let answer = self.interactive(parameters.text_document.uri, move |document| {
            tokens::full(document, &cache)
        });
        Ok(answer.await?.map(lsp::SemanticTokensResult::Tokens))
    }

    async fn semantic_tokens_full_delta(
        &self,
        parameters: lsp::SemanticTokensDeltaParams,
    ) -> Result<Option<lsp::SemanticTokensFullDeltaResult>> {
        let cache = Arc::clone(&self.tokens);
        self.interactive(parameters.text_document.uri, move |document| {
            tokens::delta(document, &parameters.previous_result_id, &cache)
        })
        .await
    }

    async fn semantic_tokens_range(
        &self,
        parameters: lsp::SemanticTokensRangeParams,
    ) -> Result<Option<lsp::SemanticTokensRangeResult>> {
        let answer = self.interactive(parameters.text_document.uri, move |document| {
            tokens::within(document, parameters.range)
        });
        Ok(answer.await?.map(lsp::SemanticTokensRangeResult::Tokens))
    }

    async fn inlay_hint(&self, parameters: lsp::InlayHintParams) -> Result<Option<Vec<lsp::InlayHint>>> {
        self.interactive(parameters.text_document.uri, move |document| {
            hints::hints(document, parameters.range)
        })
        .await
    }

    async fn diagnostic(
        &self,
        parameters: lsp::DocumentDiagnosticParams,
    ) -> Result<lsp::DocumentDiagnosticReportResult> {
        let (uri, session) = (parameters.text_document.uri, Arc::clone(&self.session));
        let after = WaitFor::Results(path_of(&uri));
        let report = move |snapshot: Snapshot| {
            let previous = parameters.previous_result_id.as_deref();
            pull::of_document(&snapshot, &uri, previous, &session)
        };
        self.answer(after, Lane::Interactive, StaleAfter::Nothing, report).await
    }

    async fn workspace_diagnostic(
        &self,
        parameters: lsp::WorkspaceDiagnosticParams,
    ) -> Result<lsp::WorkspaceDiagnosticReportResult> {
        let session = Arc::clone(&self.session);
        let report = move |snapshot: Snapshot| pull::of_workspace(&snapshot, &parameters.previous_result_ids, &session);
        let (after, lane) = (WaitFor::Everything, Lane::Background);
        let report = self.answer(after, lane, StaleAfter::Nothing, report).await?;
        Ok(lsp::WorkspaceDiagnosticReportResult::Report(report))
    }
}
