//! Notifications about texts are put into the queue in the order in which they are read from the pipe. The handlers of the
//! protocol's library may run in any order, so this happens before they are called.

use std::future::{Future, ready};
use std::pin::Pin;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::task::{Context, Poll};

use tokio::sync::Notify;
use tower_lsp::jsonrpc::{Request, Response};
use tower_lsp::lsp_types::{
    DidChangeTextDocumentParams, DidChangeWatchedFilesParams, DidChangeWorkspaceFoldersParams,
    DidCloseTextDocumentParams, DidOpenTextDocumentParams, DidSaveTextDocumentParams,
};
use tower_service::Service;

use crate::client::Agreed;
use crate::convert::change;
use crate::uri::path_of;
use crate::worker::{Message, Queue};

/// How the session ends.
#[derive(Debug, Default)]
pub(crate) struct Ending {
    asked: AtomicBool,
    over: Notify,
}

impl Ending {
    /// Whether the client has asked to shut down before it ended the session.
    pub fn was_asked(&self) -> bool {
        self.asked.load(Ordering::SeqCst)
    }

    /// Ends the session.
    pub fn end(&self) {
        self.over.notify_one();
    }

    pub async fn wait(&self) {
        self.over.notified().await;
    }
}

/// The service that the reader of the pipe calls, one request after the other.
pub(crate) struct Intake<S> {
    inner: S,
    queue: Queue,
    agreed: Arc<Agreed>,
    ending: Arc<Ending>,
}

impl<S> Intake<S> {
    pub fn new(inner: S, queue: Queue, agreed: Arc<Agreed>, ending: Arc<Ending>) -> Self {
        Self {
            inner,
            queue,
            agreed,
            ending,
        }
    }

    /// Takes a notification about texts into the queue. False if the request is none.
    fn take(&self, request: &Request) -> bool {
        let Some(message) = self.message(request) else {
            return false;
        };
        for message in message {
            self.queue.send(message);
        }
        true
    }

    /// What a notification about texts says; nothing where its parameters are not what they should be.
    fn message(&self, request: &Request) -> Option<Vec<Message>> {
        let parameters = request.params().cloned().unwrap_or_default();
        let messages = match request.method() {
            "textDocument/didOpen" => {
                let opened: DidOpenTextDocumentParams = serde_json::from_value(parameters).ok()?;
                vec![Message::Open {
                    path: path_of(&opened.text_document.uri),
                    version: opened.text_document.version,
                    text: opened.text_document.text,
                }]
            }
            "textDocument/didChange" => {
                let changed: DidChangeTextDocumentParams = serde_json::from_value(parameters).ok()?;
                vec![Message::Change {
                    path: path_of(&changed.text_document.uri),
                    version: changed.text_document.version,
                    changes: changed.content_changes.into_iter().map(change).collect(),
                    encoding: self.agreed.encoding(),
                }]
            }
            "textDocument/didClose" => {
                let closed: DidCloseTextDocumentParams = serde_json::from_value(parameters).ok()?;
                vec![Message::Close(path_of(&closed.text_document.uri))]
            }
            "textDocument/didSave" => {
                let saved: DidSaveTextDocumentParams = serde_json::from_value(parameters).ok()?;
                vec![
                    Message::OnDisk(vec![path_of(&saved.text_document.uri)]),
                    Message::Rescan,
                ]
            }
            "workspace/didChangeWatchedFiles" => {
                let changed: DidChangeWatchedFilesParams = serde_json::from_value(parameters).ok()?;
                vec![Message::OnDisk(
                    changed.changes.iter().map(|event| path_of(&event.uri)).collect(),
                )]
            }
            "workspace/didChangeWorkspaceFolders" => {
                let changed: DidChangeWorkspaceFoldersParams = serde_json::from_value(parameters).ok()?;
                let paths = |folders: &[tower_lsp::lsp_types::WorkspaceFolder]| {
                    folders.iter().map(|folder| path_of(&folder.uri)).collect()
                };
                vec![Message::Folders {
                    added: paths(&changed.event.added),
                    removed: paths(&changed.event.removed),
                }]
            }
            _ => return None,
        };
        Some(messages)
    }
}

impl<S> Service<Request> for Intake<S>
where
    S: Service<Request, Response = Option<Response>>,
    S::Future: Send + 'static,
    S::Error: Send + 'static,
{
    type Response = S::Response;
    type Error = S::Error;
    type Future = Pin<Box<dyn Future<Output = Result<Self::Response, Self::Error>> + Send>>;

    fn poll_ready(&mut self, context: &mut Context<'_>) -> Poll<Result<(), Self::Error>> {
        self.inner.poll_ready(context)
    }

    fn call(&mut self, request: Request) -> Self::Future {
        if request.method() == "shutdown" {
            self.ending.asked.store(true, Ordering::SeqCst);
        }
        // What is told before the beginning is passed over.
        if self.agreed.is_settled() && self.take(&request) {
            return Box::pin(ready(Ok(None)));
        }
        if request.method() == "initialize" {
            return Box::pin(self.inner.call(renamed(request)));
        }
        Box::pin(self.inner.call(request))
    }
}

/// The beginning of a session, with what the client says of `workspace.diagnostics` where the library's types expect it.
fn renamed(request: Request) -> Request {
    let (method, id, mut parameters) = request.into_parts();
    let workspace = parameters
        .as_mut()
        .and_then(|parameters| parameters.pointer_mut("/capabilities/workspace")?.as_object_mut());
    if let Some(workspace) = workspace
        && let Some(diagnostics) = workspace.remove("diagnostics")
    {
        workspace.insert("diagnostic".to_owned(), diagnostics);
    }
    let mut renamed = Request::build(method);
    if let Some(parameters) = parameters {
        renamed = renamed.params(parameters);
    }
    if let Some(id) = id {
        renamed = renamed.id(id);
    }
    renamed.finish()
}
