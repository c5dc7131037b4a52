//! The handlers of the protocol's messages. Every handler puts its message into the queue before its first `await`: that is what
//! keeps messages in order (see `protocol`).

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::PathBuf;
use std::sync::{Arc, Mutex, PoisonError};

use drysheath_ide::World;
use tower_lsp::jsonrpc::{Error, ErrorCode, Result};
use tower_lsp::lsp_types as lsp;
use tower_lsp::lsp_types::notification::{DidChangeWatchedFiles, Notification};
use tower_lsp::lsp_types::request::{GotoTypeDefinitionParams, GotoTypeDefinitionResponse};
use tower_lsp::{Client, LanguageServer};

use crate::capabilities::server_capabilities;
use crate::convert::change;
use crate::document::Document;
use crate::features::{
    actions, completion, folding, formatting, hierarchy, hints, hover, lenses, links, navigation, pull, rename,
    symbols, tokens,
};
use crate::parent;
use crate::session::Session;
use crate::uri::path_of;
use crate::worker::{Message, Queue, words};

/// Everything that the client may ask.
pub(crate) struct Backend {
    client: Client,
    queue: Queue,
    session: Arc<Session>,
    /// The folders that the client works in, until it may be told of what is in them.
    folders: Mutex<Vec<PathBuf>>,
    coloured: Arc<tokens::Answers>,
}

impl Backend {
    pub fn new(client: Client, queue: Queue, session: Arc<Session>) -> Self {
        Self {
            client,
            queue,
            session,
            folders: Mutex::default(),
            coloured: Arc::default(),
        }
    }

    /// The answer about one document. None if there is no such document.
    async fn about<T: Send + 'static>(
        &self,
        uri: lsp::Url,
        answer: impl FnOnce(&Document) -> T + Send + 'static,
    ) -> Result<Option<T>> {
        let session = Arc::clone(&self.session);
        let document = self.queue.ask(move |world| Document::of(world, &uri, &session)).await;
        let Some(document) = document.flatten() else {
            return Ok(None);
        };
        let answered = tokio::task::spawn_blocking(move || guarded(|| answer(&document))).await;
        self.or_log(answered.map_err(|error| error.to_string()).flatten()).await
    }

    /// The answer about one document and whatever hangs together with it in other files.
    async fn around<T: Send + 'static>(
        &self,
        uri: lsp::Url,
        answer: impl FnOnce(&mut World, &Document) -> T + Send + 'static,
    ) -> Result<Option<T>> {
        let answered = self.queue.ask(answering(&self.session, uri, answer)).await;
        let answered = self.or_log(answered.ok_or_else(gone).flatten()).await;
        answered.map(Option::flatten)
    }

    /// The answer about one document and all files, which waits until they are known.
    async fn throughout<T: Send + 'static>(
        &self,
        uri: lsp::Url,
        answer: impl FnOnce(&mut World, &Document) -> T + Send + 'static,
    ) -> Result<Option<T>> {
        let answered = self.queue.ask_all(answering(&self.session, uri, answer)).await;
        let answered = self.or_log(answered.ok_or_else(gone).flatten()).await;
        answered.map(Option::flatten)
    }

    /// An answer. Where there is none, the reason goes to the client and into its log.
    async fn or_log<T>(&self, answered: std::result::Result<T, String>) -> Result<Option<T>> {
        match answered {
            Ok(answer) => Ok(Some(answer)),
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
}

/// A question about one document, as the queue takes it.
fn answering<T>(
    session: &Arc<Session>,
    uri: lsp::Url,
    answer: impl FnOnce(&mut World, &Document) -> T + Send + 'static,
) -> impl FnOnce(&mut World) -> std::result::Result<Option<T>, String> + Send + 'static {
    let session = Arc::clone(session);
    move |world| {
        guarded(|| {
            let document = Document::of(world, &uri, &session)?;
            Some(answer(world, &document))
        })
    }
}

fn gone() -> String {
    "the question was not answered".to_owned()
}

/// Runs something that must not take the server down.
fn guarded<T>(run: impl FnOnce() -> T) -> std::result::Result<T, String> {
    catch_unwind(AssertUnwindSafe(run))
        .map_err(|panic| format!("a fault inside, in which nothing was lost: {}", words(&*panic)))
}

/// The folders that the editor works in, in whatever of three ways it says so.
#[allow(deprecated, reason = "older clients say nothing else")]
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

/// Asks a client that can to watch what this server reads.
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
        let client = self.session.initialize(&parameters.capabilities);
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
        // Not before: a client may drop what it gets before it has sent this.
        let added = std::mem::take(&mut *self.folders.lock().unwrap_or_else(PoisonError::into_inner));
        self.queue.send(Message::Folders {
            added,
            removed: Vec::new(),
        });
        if self.session.capabilities().watches {
            // Not awaited here: the client may answer only after it has sent more.
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
        self.queue.send(Message::Change {
            path: path_of(&parameters.text_document.uri),
            version: parameters.text_document.version,
            changes: parameters.content_changes.into_iter().map(change).collect(),
            encoding: self.session.encoding(),
        });
    }

    async fn did_close(&self, parameters: lsp::DidCloseTextDocumentParams) {
        self.queue.send(Message::Close(path_of(&parameters.text_document.uri)));
    }

    async fn did_save(&self, parameters: lsp::DidSaveTextDocumentParams) {
        self.queue
            .send(Message::OnDisk(vec![path_of(&parameters.text_document.uri)]));
        self.queue.send(Message::Rescan);
    }

    async fn did_change_watched_files(&self, parameters: lsp::DidChangeWatchedFilesParams) {
        let paths = parameters.changes.iter().map(|event| path_of(&event.uri));
        self.queue.send(Message::OnDisk(paths.collect()));
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
        let answer = self.about(at.text_document.uri, move |document| {
            hover::hover(document, at.position)
        });
        Ok(answer.await?.flatten())
    }

    async fn completion(&self, parameters: lsp::CompletionParams) -> Result<Option<lsp::CompletionResponse>> {
        let uri = parameters.text_document_position.text_document.uri.clone();
        let answer = self.around(uri, move |world, document| {
            completion::completion(world, document, &parameters)
        });
        Ok(answer.await?.map(lsp::CompletionResponse::List))
    }

    async fn goto_definition(
        &self,
        parameters: lsp::GotoDefinitionParams,
    ) -> Result<Option<lsp::GotoDefinitionResponse>> {
        let at = parameters.text_document_position_params;
        let answer = self.around(at.text_document.uri, move |world, document| {
            navigation::definition(world, document, at.position)
        });
        Ok(answer.await?.flatten())
    }

    async fn goto_type_definition(
        &self,
        parameters: GotoTypeDefinitionParams,
    ) -> Result<Option<GotoTypeDefinitionResponse>> {
        let at = parameters.text_document_position_params;
        let answer = self.around(at.text_document.uri, move |world, document| {
            navigation::type_definition(world, document, at.position)
        });
        Ok(answer.await?.flatten())
    }

    async fn references(&self, parameters: lsp::ReferenceParams) -> Result<Option<Vec<lsp::Location>>> {
        let at = parameters.text_document_position;
        let declaration = parameters.context.include_declaration;
        self.throughout(at.text_document.uri, move |world, document| {
            navigation::references(world, document, at.position, declaration)
        })
        .await
    }

    async fn document_highlight(
        &self,
        parameters: lsp::DocumentHighlightParams,
    ) -> Result<Option<Vec<lsp::DocumentHighlight>>> {
        let at = parameters.text_document_position_params;
        self.about(at.text_document.uri, move |document| {
            navigation::highlights(document, at.position)
        })
        .await
    }

    async fn prepare_rename(
        &self,
        parameters: lsp::TextDocumentPositionParams,
    ) -> Result<Option<lsp::PrepareRenameResponse>> {
        let answer = self.about(parameters.text_document.uri, move |document| {
            rename::prepare(document, parameters.position)
        });
        Ok(answer.await?.flatten())
    }

    async fn rename(&self, parameters: lsp::RenameParams) -> Result<Option<lsp::WorkspaceEdit>> {
        let at = parameters.text_document_position;
        let answer = self.throughout(at.text_document.uri, move |world, document| {
            rename::rename(world, document, at.position, &parameters.new_name)
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
        self.about(parameters.text_document.uri, symbols::of_document).await
    }

    async fn symbol(&self, parameters: lsp::WorkspaceSymbolParams) -> Result<Option<Vec<lsp::SymbolInformation>>> {
        let encoding = self.session.encoding();
        let answered = self
            .queue
            .ask_all(move |world| guarded(|| symbols::of_workspace(world, &parameters.query, encoding)))
            .await;
        self.or_log(answered.ok_or_else(gone).flatten()).await
    }

    async fn code_action(&self, parameters: lsp::CodeActionParams) -> Result<Option<lsp::CodeActionResponse>> {
        let uri = parameters.text_document.uri.clone();
        self.around(uri, move |world, document| {
            actions::actions(world, document, &parameters)
        })
        .await
    }

    async fn code_lens(&self, parameters: lsp::CodeLensParams) -> Result<Option<Vec<lsp::CodeLens>>> {
        self.around(parameters.text_document.uri, |world, document| {
            lenses::lenses(world, document)
        })
        .await
    }

    async fn execute_command(&self, parameters: lsp::ExecuteCommandParams) -> Result<Option<serde_json::Value>> {
        // A lens is there to be read, and the protocol wants a command behind it.
        if parameters.command == lenses::COMMAND {
            return Ok(None);
        }
        Err(Error::invalid_params(format!(
            "there is no command `{}`",
            parameters.command
        )))
    }

    async fn document_link(&self, parameters: lsp::DocumentLinkParams) -> Result<Option<Vec<lsp::DocumentLink>>> {
        self.around(parameters.text_document.uri, |world, document| {
            links::links(world, document)
        })
        .await
    }

    async fn formatting(&self, parameters: lsp::DocumentFormattingParams) -> Result<Option<Vec<lsp::TextEdit>>> {
        self.about(parameters.text_document.uri, formatting::whole).await
    }

    async fn range_formatting(
        &self,
        parameters: lsp::DocumentRangeFormattingParams,
    ) -> Result<Option<Vec<lsp::TextEdit>>> {
        self.about(parameters.text_document.uri, move |document| {
            formatting::range(document, parameters.range)
        })
        .await
    }

    async fn on_type_formatting(
        &self,
        parameters: lsp::DocumentOnTypeFormattingParams,
    ) -> Result<Option<Vec<lsp::TextEdit>>> {
        let at = parameters.text_document_position;
        self.about(at.text_document.uri, move |document| {
            formatting::on_type(document, at.position, &parameters.ch)
        })
        .await
    }

    async fn folding_range(&self, parameters: lsp::FoldingRangeParams) -> Result<Option<Vec<lsp::FoldingRange>>> {
        self.about(parameters.text_document.uri, folding::folding).await
    }

    async fn selection_range(&self, parameters: lsp::SelectionRangeParams) -> Result<Option<Vec<lsp::SelectionRange>>> {
        self.about(parameters.text_document.uri, move |document| {
            folding::selection(document, &parameters.positions)
        })
        .await
    }

    async fn prepare_call_hierarchy(
        &self,
        parameters: lsp::CallHierarchyPrepareParams,
    ) -> Result<Option<Vec<lsp::CallHierarchyItem>>> {
        let at = parameters.text_document_position_params;
        let answer = self.about(at.text_document.uri, move |document| {
            hierarchy::prepare(document, at.position)
        });
        Ok(answer.await?.flatten())
    }

    async fn incoming_calls(
        &self,
        parameters: lsp::CallHierarchyIncomingCallsParams,
    ) -> Result<Option<Vec<lsp::CallHierarchyIncomingCall>>> {
        let answer = self.about(parameters.item.uri.clone(), move |document| {
            hierarchy::incoming(document, &parameters.item)
        });
        Ok(answer.await?.flatten())
    }

    async fn outgoing_calls(
        &self,
        parameters: lsp::CallHierarchyOutgoingCallsParams,
    ) -> Result<Option<Vec<lsp::CallHierarchyOutgoingCall>>> {
        let answer = self.about(parameters.item.uri.clone(), move |document| {
            hierarchy::outgoing(document, &parameters.item)
        });
        Ok(answer.await?.flatten())
    }

    async fn semantic_tokens_full(
        &self,
        parameters: lsp::SemanticTokensParams,
    ) -> Result<Option<lsp::SemanticTokensResult>> {
        let answers = Arc::clone(&self.coloured);
        let answer = self.about(parameters.text_document.uri, move |document| {
            tokens::full(document, &answers)
        });
        Ok(answer.await?.map(lsp::SemanticTokensResult::Tokens))
    }

    async fn semantic_tokens_full_delta(
        &self,
        parameters: lsp::SemanticTokensDeltaParams,
    ) -> Result<Option<lsp::SemanticTokensFullDeltaResult>> {
        let answers = Arc::clone(&self.coloured);
        self.about(parameters.text_document.uri, move |document| {
            tokens::delta(document, &parameters.previous_result_id, &answers)
        })
        .await
    }

    async fn semantic_tokens_range(
        &self,
        parameters: lsp::SemanticTokensRangeParams,
    ) -> Result<Option<lsp::SemanticTokensRangeResult>> {
        let answer = self.about(parameters.text_document.uri, move |document| {
            tokens::within(document, parameters.range)
        });
        Ok(answer.await?.map(lsp::SemanticTokensRangeResult::Tokens))
    }

    async fn inlay_hint(&self, parameters: lsp::InlayHintParams) -> Result<Option<Vec<lsp::InlayHint>>> {
        self.about(parameters.text_document.uri, move |document| {
            hints::hints(document, parameters.range)
        })
        .await
    }

    async fn diagnostic(
        &self,
        parameters: lsp::DocumentDiagnosticParams,
    ) -> Result<lsp::DocumentDiagnosticReportResult> {
        let session = Arc::clone(&self.session);
        let answered = self.queue.ask(move |world| {
            guarded(|| {
                let before = parameters.previous_result_id.as_deref();
                pull::of_document(world, &parameters.text_document.uri, before, &session)
            })
        });
        let answer = self.or_log(answered.await.ok_or_else(gone).flatten()).await?;
        answer.ok_or_else(Error::internal_error)
    }

    async fn workspace_diagnostic(
        &self,
        parameters: lsp::WorkspaceDiagnosticParams,
    ) -> Result<lsp::WorkspaceDiagnosticReportResult> {
        let session = Arc::clone(&self.session);
        let answered = self
            .queue
            .ask_all(move |world| guarded(|| pull::of_workspace(world, &parameters.previous_result_ids, &session)));
        let answer = self.or_log(answered.await.ok_or_else(gone).flatten()).await?;
        answer
            .map(lsp::WorkspaceDiagnosticReportResult::Report)
            .ok_or_else(Error::internal_error)
    }
}
