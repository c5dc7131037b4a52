//! The language server. Edits and requests go through one queue to the thread that owns the workspace (`scheduler`). It
//! publishes diagnostics, and gives each request a snapshot, from which a pool of threads computes the answer. The
//! `ide` crate computes answers; this crate implements the protocol.
#![allow(
    clippy::disallowed_methods,
    clippy::disallowed_types,
    clippy::disallowed_macros,
    reason = "this crate does input and output"
)]

mod backend;
mod backlog;
mod capabilities;
mod convert;
mod diagnostics;
mod document;
mod edits;
mod features;
mod memory;
mod pages;
mod parent;
mod pending_requests;
mod pool;
mod protocol;
mod queue;
mod scan;
mod scheduler;
mod session;
mod uri;

use std::io::{Read, Write};
use std::process::ExitCode;
use std::sync::Arc;

use tower_lsp::LspService;

use crate::backend::Backend;
use crate::features::sheet;
use crate::pool::Pool;
use crate::protocol::Outbox;
use crate::queue::Queue;
use crate::scheduler::Scheduler;
use crate::session::Session;

/// Blocking threads in addition to those of the pool: one that writes, and one that scans folders.
const OTHER_THREADS: usize = 2;

/// Serves one editor over a pair of streams until it sends `exit`, closes its end, or its process dies.
///
/// The exit code is 0 after a `shutdown`, and 1 otherwise, as the protocol requires.
///
/// # Errors
///
/// If no threads can be started.
pub fn serve(input: impl Read + Send + 'static, output: impl Write + Send + 'static) -> std::io::Result<ExitCode> {
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        // More threads do not answer faster, and each needs memory.
        .max_blocking_threads(Pool::threads() + OTHER_THREADS)
        .enable_time()
        .build()?;
    let session = Arc::new(Session::default());
    runtime.block_on(run(input, output, Arc::clone(&session)));
    // A thread blocked on input cannot be joined.
    runtime.shutdown_background();
    Ok(session.lifecycle.exit_code())
}

async fn run(input: impl Read + Send + 'static, output: impl Write + Send + 'static, session: Arc<Session>) {
    let (outbox, outgoing) = Outbox::new();
    let notifier = outbox.notifier();
    let (service, socket) = LspService::build(|client| {
        let (queue, inbox) = Queue::new();
        Scheduler::start(queue.clone(), inbox, client.clone(), notifier, Arc::clone(&session));
        Backend::new(client, queue, Arc::clone(&session))
    })
    .custom_method(sheet::METHOD, Backend::sheet)
    .finish();
    let lifecycle = Arc::clone(&session.lifecycle);
    protocol::serve(service, socket, (outbox, outgoing), lifecycle, input, output).await;
    session.pages.remove();
}
