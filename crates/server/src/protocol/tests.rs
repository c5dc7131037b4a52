//! Tests complete sessions over pipes, with a server that only records versions.
#![allow(clippy::unwrap_used, clippy::indexing_slicing)]

use std::io::{BufReader, PipeReader, PipeWriter, pipe};
use std::process::ExitCode;
use std::sync::atomic::{AtomicI32, Ordering};

use serde_json::{Value, json};
use tokio::task::JoinHandle;
use tower_lsp::jsonrpc::Result;
use tower_lsp::lsp_types as lsp;
use tower_lsp::{LanguageServer, LspService};

use super::framing::write_message;
use super::*;

/// Records the version of the last change, and answers a `hover` on the first line with it. On other lines it never
/// answers.
struct Versions {
    last: AtomicI32,
    lifecycle: Arc<Lifecycle>,
}

#[tower_lsp::async_trait]
impl LanguageServer for Versions {
    async fn initialize(&self, _: lsp::InitializeParams) -> Result<lsp::InitializeResult> {
        // A transport that did not wait would handle the next message in the meantime.
        tokio::time::sleep(Duration::from_millis(20)).await;
        Ok(lsp::InitializeResult::default())
    }

    async fn shutdown(&self) -> Result<()> {
        self.lifecycle.shut_down();
        Ok(())
    }

    async fn did_change(&self, change: lsp::DidChangeTextDocumentParams) {
        self.last.store(change.text_document.version, Ordering::SeqCst);
    }

    async fn hover(&self, parameters: lsp::HoverParams) -> Result<Option<lsp::Hover>> {
        if parameters.text_document_position_params.position.line > 0 {
            std::future::pending::<()>().await;
        }
        let version = self.last.load(Ordering::SeqCst);
        tokio::task::yield_now().await;
        let version = lsp::MarkedString::String(version.to_string());
        Ok(Some(lsp::Hover {
            contents: lsp::HoverContents::Scalar(version),
            range: None,
        }))
    }
}

/// Client end of a session.
struct Session {
    input: PipeWriter,
    output: MessageReader<BufReader<PipeReader>>,
    lifecycle: Arc<Lifecycle>,
    serving: JoinHandle<()>,
}

impl Session {
    fn start() -> Self {
        let (from_client, input) = pipe().unwrap();
        let (output, to_client) = pipe().unwrap();
        let lifecycle = Arc::new(Lifecycle::default());
        let (service, socket) = LspService::new(|_| Versions {
            last: AtomicI32::new(0),
            lifecycle: Arc::clone(&lifecycle),
        });
        Self {
            input,
            output: MessageReader::new(BufReader::new(output)),
            serving: tokio::spawn(serve(
                service,
                socket,
                Outbox::new(),
                Arc::clone(&lifecycle),
                from_client,
                to_client,
            )),
            lifecycle,
        }
    }

    /// Starts a session whose `initialize` has been answered.
    fn initialized() -> Self {
        let mut session = Self::start();
        session.send(initialize(0));
        assert!(session.answer().is_ok());
        session
    }

    fn send(&mut self, message: Value) {
        write(&mut self.input, message);
    }

    fn answer(&mut self) -> Response {
        match self.output.read().unwrap() {
            Some(Incoming::Response(response)) => response,
            _ => unreachable!("the server sends nothing but answers"),
        }
    }

    /// Id and error code of the next answer.
    fn error(&mut self) -> (Id, i64) {
        let (id, result) = self.answer().into_parts();
        (id, result.unwrap_err().code.code())
    }

    /// Id of the next answer, and the version it is about.
    fn version(&mut self) -> (Id, i64) {
        let (id, result) = self.answer().into_parts();
        let version = result.unwrap()["contents"].as_str().unwrap().parse();
        (id, version.unwrap())
    }

    /// Closes the input and waits for the end of the session.
    async fn end(self) -> ExitCode {
        drop(self.input);
        self.serving.await.unwrap();
        self.lifecycle.exit_code()
    }
}

fn write(output: &mut impl Write, mut message: Value) {
    message["jsonrpc"] = json!("2.0");
    write_message(output, message.to_string().as_bytes()).unwrap();
}

fn initialize(id: i64) -> Value {
    json!({"id": id, "method": "initialize", "params": {"capabilities": {}}})
}

fn shutdown(id: i64) -> Value {
    json!({"id": id, "method": "shutdown"})
}

fn exit() -> Value {
    json!({"method": "exit"})
}

fn hover(id: i64, line: u32) -> Value {
    let position = json!({"line": line, "character": 0});
    let parameters = json!({"textDocument": {"uri": "file:///a"}, "position": position});
    json!({"id": id, "method": "textDocument/hover", "params": parameters})
}

fn change(version: i64) -> Value {
    let parameters = json!({"textDocument": {"uri": "file:///a", "version": version}, "contentChanges": []});
    json!({"method": "textDocument/didChange", "params": parameters})
}

const CANCELLED: i64 = -32800;
const NOT_INITIALIZED: i64 = -32002;
const METHOD_NOT_FOUND: i64 = -32601;
const INVALID_REQUEST: i64 = -32600;
const PARSE_ERROR: i64 = -32700;

#[tokio::test(flavor = "multi_thread")]
async fn a_request_sees_exactly_the_changes_before_it() {
    const CHANGES: i64 = 2_000;
    let mut session = Session::initialized();
    let mut input = session.input.try_clone().unwrap();
    let writing = std::thread::spawn(move || {
        for version in 1..=CHANGES {
            write(&mut input, change(version));
            write(&mut input, hover(version, 0));
        }
    });
    let mut seen: Vec<i64> = Vec::new();
    for _ in 0..CHANGES {
        let (id, version) = session.version();
        assert_eq!(id, version.into());
        seen.push(version);
    }
    seen.sort_unstable();
    assert!(seen.into_iter().eq(1..=CHANGES));
    writing.join().unwrap();
    session.end().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn a_cancellation_waits_for_no_other_request() {
    let mut session = Session::initialized();
    for id in 1..=20 {
        session.send(hover(id, 1));
    }
    session.send(json!({"method": "$/cancelRequest", "params": {"id": 20}}));
    session.send(json!({"method": "$/cancelRequest", "params": {"id": 99}}));
    assert_eq!(session.error(), (20.into(), CANCELLED));
    session.send(hover(21, 0));
    assert_eq!(session.version().0, 21.into());
    session.end().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn a_malformed_message_is_refused_and_the_next_one_served() {
    let mut session = Session::initialized();
    for (body, code) in [("{,", PARSE_ERROR), ("{}", INVALID_REQUEST), ("[]", INVALID_REQUEST)] {
        write_message(&mut session.input, body.as_bytes()).unwrap();
        assert_eq!(session.error(), (Id::Null, code));
    }
    session.send(json!({"id": 3, "method": "drysheath/brew"}));
    assert_eq!(session.error(), (3.into(), METHOD_NOT_FOUND));
    session.send(json!({"id": 4711, "result": null}));
    session.send(hover(4, 0));
    assert_eq!(session.version().0, 4.into());
    session.end().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn nothing_is_served_before_initialize_has_been_answered() {
    let mut session = Session::start();
    session.send(change(7));
    session.send(hover(1, 0));
    assert_eq!(session.error(), (1.into(), NOT_INITIALIZED));
    session.send(initialize(2));
    session.send(hover(3, 0));
    assert!(session.answer().is_ok());
    assert_eq!(session.version(), (3.into(), 0), "the early change was dropped");
    session.send(initialize(4));
    assert_eq!(session.error(), (4.into(), INVALID_REQUEST));
    session.end().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn the_exit_code_tells_whether_the_client_shut_down() {
    let mut session = Session::initialized();
    session.send(exit());
    assert_eq!(session.end().await, ExitCode::FAILURE);

    let mut session = Session::initialized();
    session.send(shutdown(1));
    session.send(exit());
    assert!(session.answer().is_ok());
    assert_eq!(session.end().await, ExitCode::SUCCESS);

    let mut session = Session::start();
    session.send(shutdown(1));
    assert_eq!(session.error(), (1.into(), NOT_INITIALIZED));
    assert_eq!(session.end().await, ExitCode::FAILURE);

    let mut session = Session::initialized();
    session.send(shutdown(1));
    assert!(session.answer().is_ok());
    session.send(hover(2, 0));
    assert_eq!(session.error(), (2.into(), INVALID_REQUEST));
    assert_eq!(session.end().await, ExitCode::SUCCESS);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_session_ends_without_the_answers_that_never_come() {
    let mut session = Session::initialized();
    session.send(hover(1, 1));
    assert_eq!(session.end().await, ExitCode::FAILURE);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_client_that_stops_reading_ends_the_session() {
    let session = Session::initialized();
    let mut input = session.input;
    drop(session.output);
    write(&mut input, hover(1, 0));
    session.serving.await.unwrap();
}

#[tokio::test(flavor = "multi_thread")]
async fn a_session_can_be_closed_from_inside() {
    let session = Session::initialized();
    session.lifecycle.close();
    session.serving.await.unwrap();
    assert_eq!(session.lifecycle.exit_code(), ExitCode::FAILURE);
}
