//! The transport between a pair of byte streams and the protocol's service.
//!
//! `tower_lsp` parses parameters, dispatches to typed handlers, keeps the order of `initialize` and `shutdown`, and tracks what
//! can be cancelled. Its own transport is not used, since it stops at the first malformed message, holds back a cancellation
//! until four earlier requests have been answered, and starts handlers in any order. This module gives the following instead.
//!
//! * **Framing.** A message is a header with `Content-Length`, an empty line and a body; other header fields are ignored. Bytes
//!   may arrive in pieces of any size.
//! * **Order.** Each handler runs up to its first `await` before the next message is looked at. Handlers put their message into
//!   the scheduler's queue in that part, so a question is answered about the text as it was when the question was asked.
//!   Nothing else is handled while `initialize` is.
//! * **Concurrency.** Whatever follows the first `await` of a handler runs beside the others. Answers are written in the order
//!   in which they are ready.
//! * **Cancellation.** `$/cancelRequest` drops the handler's future at once, whatever waits before it, and the client gets
//!   `RequestCancelled`.
//! * **Malformed messages.** What is not JSON is answered by `ParseError`, what is not a JSON-RPC message, such as a batch, by
//!   `InvalidRequest`, both with the id `null`; the next message is served. A wrong length costs the message itself: where another
//!   header begins within a body, reading continues from there.
//! * **End of session.** The session ends with `exit`, the end of the input, a failed write, or [`Lifecycle::close`]. Requests
//!   that are still being answered get [`GRACE`] to finish. The exit code is 0 only after a `shutdown`.

mod corrections;
mod framing;
mod lifecycle;
#[cfg(test)]
mod tests;

use std::future::Future;
use std::io::{self, BufRead, BufReader, Read, Write};
use std::sync::Arc;
use std::time::Duration;

use futures::{FutureExt, SinkExt, StreamExt};
use serde::Serialize;
use tokio::sync::mpsc::{Receiver, Sender, UnboundedReceiver, UnboundedSender, channel, unbounded_channel};
use tokio::task::{JoinSet, spawn_blocking};
use tokio::time::timeout;
use tower_lsp::ClientSocket;
use tower_lsp::jsonrpc::{Id, Request, Response};
use tower_lsp::lsp_types::notification::{Exit, Notification};
use tower_lsp::lsp_types::request::{Initialize, Request as _};
use tower_service::Service;

use self::framing::{Incoming, MessageReader, write_message};
pub(crate) use self::lifecycle::Lifecycle;

/// Messages that are read before the first of them has been handled.
const READ_AHEAD: usize = 64;
/// How long answers may still take once the session has ended.
const GRACE: Duration = Duration::from_secs(1);

/// Serves one session over `input` and `output`.
pub(crate) async fn serve<S>(
    mut service: S,
    socket: ClientSocket,
    lifecycle: Arc<Lifecycle>,
    input: impl Read + Send + 'static,
    output: impl Write + Send + 'static,
) where
    S: Service<Request, Response = Option<Response>>,
    S::Future: Send + 'static,
    S::Error: Send + 'static,
{
    let (mut server_requests, mut client_responses) = socket.split();
    let (outbox, outgoing) = unbounded_channel();
    let writer = spawn_blocking({
        let lifecycle = Arc::clone(&lifecycle);
        move || {
            // A client that no longer reads cannot be served.
            if write_all(output, outgoing).is_err() {
                lifecycle.close();
            }
        }
    });
    let (inbox, mut incoming) = channel(READ_AHEAD);
    // Not a task: nothing can interrupt a thread that waits for input, and the runtime would wait for it.
    std::thread::spawn(move || read_all(BufReader::new(input), &inbox));
    let forwarder = tokio::spawn({
        let outbox = outbox.clone();
        async move {
            while let Some(request) = server_requests.next().await {
                send(&outbox, &request);
            }
        }
    });
    let mut answers = JoinSet::new();
    while let Some(message) = next(&mut incoming, &lifecycle).await {
        while answers.try_join_next().is_some() {}
        match message {
            Incoming::Malformed(error) => send(&outbox, &Response::from_error(Id::Null, error)),
            Incoming::Response(response) => {
                if client_responses.send(response).await.is_err() {
                    break;
                }
            }
            Incoming::Request(request) if request.method() == Exit::METHOD => break,
            Incoming::Request(request) if request.method() == Initialize::METHOD => {
                answer(service.call(corrections::initialize(request)), outbox.clone()).await;
            }
            Incoming::Request(request) => {
                let mut answer = Box::pin(answer(service.call(request), outbox.clone()));
                // This is the part that runs in the order of the messages.
                if answer.as_mut().now_or_never().is_none() {
                    answers.spawn(answer);
                }
            }
        }
    }
    let _ = timeout(GRACE, async { while answers.join_next().await.is_some() {} }).await;
    drop(answers);
    forwarder.abort();
    let _ = forwarder.await;
    drop(outbox);
    let _ = timeout(GRACE, writer).await;
}

/// The next message. `None` at the end of the session.
async fn next(incoming: &mut Receiver<Incoming>, lifecycle: &Lifecycle) -> Option<Incoming> {
    tokio::select! {
        message = incoming.recv() => message,
        () = lifecycle.closed() => None,
    }
}

/// Waits for a handler and sends its answer.
async fn answer<E>(handler: impl Future<Output = Result<Option<Response>, E>>, outbox: UnboundedSender<Vec<u8>>) {
    if let Ok(Some(response)) = handler.await {
        send(&outbox, &response);
    }
}

fn send(outbox: &UnboundedSender<Vec<u8>>, message: &impl Serialize) {
    if let Ok(body) = serde_json::to_vec(message) {
        // The writer is gone only when the session ends.
        let _ = outbox.send(body);
    }
}

fn write_all(mut output: impl Write, mut outgoing: UnboundedReceiver<Vec<u8>>) -> io::Result<()> {
    while let Some(body) = outgoing.blocking_recv() {
        write_message(&mut output, &body)?;
    }
    Ok(())
}

fn read_all(input: impl BufRead, inbox: &Sender<Incoming>) {
    let mut messages = MessageReader::new(input);
    while let Ok(Some(message)) = messages.read() {
        if inbox.blocking_send(message).is_err() {
            return;
        }
    }
}
