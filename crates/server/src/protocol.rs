//! The transport between a pair of byte streams and the protocol's service.
//!
//! `tower_lsp` parses parameters, dispatches to typed handlers, enforces the order of `initialize` and `shutdown`, and
//! tracks which requests can be cancelled. Its own transport is not used, since it stops at the first malformed
//! message, holds back a cancellation until four earlier requests have been answered, and starts handlers in any order.
//! This module provides the following instead.
//!
//! * **Framing.** A message is a header with `Content-Length`, an empty line and a body; other header fields are
//!   ignored. Bytes may arrive in pieces of any size.
//! * **Order.** Each handler runs up to its first `await` before the next message is processed. Handlers put their
//!   message into the scheduler's queue in that part, so a request is answered for the text as it was when the request
//!   was sent. No other message is handled during `initialize`.
//! * **Concurrency.** Code after the first `await` of a handler runs concurrently. Answers are written in the order in
//!   which they are completed.
//! * **Cancellation.** `$/cancelRequest` drops the handler's future at once, without queueing, and the client gets
//!   `RequestCancelled`.
//! * **Malformed messages.** Invalid JSON is answered with `ParseError`, anything that is not a JSON-RPC message, such
//!   as a batch, with `InvalidRequest`, both with the id `null`; the next message is served. A wrong length loses only
//!   the message itself: if another header begins within a body, reading continues from there.
//! * **End of session.** The session ends with `exit`, the end of the input, a failed write, or [`Lifecycle::close`].
//!   After the first two, requests that are still being answered get [`GRACE`] to finish; after the others, nobody
//!   reads them. The exit code is 0 only after a `shutdown`.

mod corrections;
mod framing;
mod lifecycle;
mod outbox;
#[cfg(test)]
mod tests;

use std::future::Future;
use std::io::{BufRead, BufReader, Read, Write};
use std::sync::Arc;
use std::time::Duration;

use futures::{FutureExt, Sink, SinkExt, Stream, StreamExt};
use tokio::runtime::Handle;
use tokio::sync::oneshot;
use tokio::task::{JoinSet, spawn_blocking};
use tokio::time::timeout;
use tower_lsp::ClientSocket;
use tower_lsp::jsonrpc::{Id, Request, Response};
use tower_lsp::lsp_types::notification::{Exit, Notification};
use tower_lsp::lsp_types::request::{Initialize, Request as _};
use tower_service::Service;

use self::framing::{Incoming, MessageReader};
pub(crate) use self::lifecycle::Lifecycle;
use self::outbox::Outgoing;
pub(crate) use self::outbox::{Notifier, Outbox};

/// Time allowed for pending answers after the session has ended.
const GRACE: Duration = Duration::from_secs(1);

/// Serves one session over `input` and `output`.
pub(crate) async fn serve<S>(
    service: S,
    socket: ClientSocket,
    (outbox, outgoing): (Outbox, Outgoing),
    lifecycle: Arc<Lifecycle>,
    input: impl Read + Send + 'static,
    output: impl Write + Send + 'static,
) where
    S: Service<Request, Response = Option<Response>> + Send + 'static,
    S::Future: Send + 'static,
    S::Error: Send + 'static,
{
    let (server_requests, client_responses) = socket.split();
    let writer = spawn_blocking({
        let lifecycle = Arc::clone(&lifecycle);
        move || {
            // The client no longer reads, so the session ends.
            if outgoing.write_to(output).is_err() {
                lifecycle.close();
            }
        }
    });
    let forwarder = tokio::spawn(forward(server_requests, outbox.clone()));
    let (end, ended) = oneshot::channel();
    let conversation = Connection {
        service,
        client_responses,
        outbox,
        answers: JoinSet::new(),
    };
    let runtime = Handle::current();
    // A plain thread instead of a task: a blocking read cannot be interrupted, and the runtime would wait for it. The
    // thread also handles the messages it reads, since waking another thread for each takes time.
    std::thread::spawn(move || {
        let answers = conversation.run(MessageReader::new(BufReader::new(input)), &runtime);
        // Fails if the session was closed: nobody waits for its end.
        let _ = end.send(answers);
    });
    let ended = tokio::select! {
        ended = ended => ended,
        () = lifecycle.closed() => return,
    };
    if let Ok(mut answers) = ended {
        let _ = timeout(GRACE, async { while answers.join_next().await.is_some() {} }).await;
    }
    forwarder.abort();
    let _ = forwarder.await;
    let _ = timeout(GRACE, writer).await;
}

/// Forwards requests and notifications that the server sends on its own.
async fn forward(mut server_requests: impl Stream<Item = Request> + Unpin, outbox: Outbox) {
    while let Some(request) = server_requests.next().await {
        outbox.send(&request);
    }
}

/// The client's messages in a session, in order.
struct Connection<S, R> {
    service: S,
    client_responses: R,
    outbox: Outbox,
    answers: JoinSet<()>,
}

impl<S, R> Connection<S, R>
where
    R: Sink<Response> + Unpin,
    S: Service<Request, Response = Option<Response>>,
    S::Future: Send + 'static,
    S::Error: Send + 'static,
{
    /// Handles messages until the session ends, and returns the pending answers.
    fn run(mut self, mut messages: MessageReader<impl BufRead>, runtime: &Handle) -> JoinSet<()> {
        let _entered = runtime.enter();
        while let Ok(Some(message)) = messages.read() {
            if !runtime.block_on(self.handle(message)) {
                break;
            }
        }
        self.answers
    }

    /// Handles a message. Returns whether the session continues.
    async fn handle(&mut self, message: Incoming) -> bool {
        while self.answers.try_join_next().is_some() {}
        match message {
            Incoming::Malformed(error) => self.outbox.send(&Response::from_error(Id::Null, error)),
            Incoming::Response(response) => return self.client_responses.send(response).await.is_ok(),
            Incoming::Request(request) if request.method() == Exit::METHOD => return false,
            Incoming::Request(request) if request.method() == Initialize::METHOD => {
                answer(self.service.call(corrections::initialize(request)), self.outbox.clone()).await;
            }
            Incoming::Request(request) => {
                let mut answer = Box::pin(answer(self.service.call(request), self.outbox.clone()));
                // Up to its first `await`, the handler runs in message order.
                if answer.as_mut().now_or_never().is_none() {
                    self.answers.spawn(answer);
                }
            }
        }
        true
    }
}

/// Waits for a handler and sends its answer.
async fn answer<E>(handler: impl Future<Output = Result<Option<Response>, E>>, outbox: Outbox) {
    if let Ok(Some(response)) = handler.await {
        outbox.send(&response);
    }
}
