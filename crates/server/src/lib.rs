//! The language server. Edits and questions go through one queue to the thread that owns the files (`worker`); what it finds
//! is published with the version of the text that it is about. The `ide` crate answers; this crate speaks the protocol.
#![allow(
    clippy::disallowed_methods,
    clippy::disallowed_types,
    clippy::disallowed_macros,
    reason = "this crate does input and output"
)]

mod backend;
mod capabilities;
mod convert;
mod diagnostics;
mod disk;
mod document;
mod edits;
mod features;
mod pages;
mod parent;
mod protocol;
mod scan;
mod session;
mod uri;
mod worker;

use std::io::{stdin, stdout};
use std::process::ExitCode;
use std::sync::Arc;

use tower_lsp::LspService;

use crate::backend::Backend;
use crate::session::Session;
use crate::worker::Worker;

/// Threads for answers, walks over folders, and writing.
const BLOCKING_THREADS: usize = 6;

/// Serves one editor over standard input and output until it says `exit`, closes the pipe, or is gone.
///
/// The exit code is 0 after a `shutdown`, and 1 otherwise, as the protocol asks.
///
/// # Errors
///
/// If no threads can be started.
pub fn serve() -> std::io::Result<ExitCode> {
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        // More threads answer no sooner, and each keeps memory of its own.
        .max_blocking_threads(BLOCKING_THREADS)
        .enable_time()
        .build()?;
    let session = Arc::new(Session::default());
    runtime.block_on(run(Arc::clone(&session)));
    // A thread that waits for standard input cannot be joined.
    runtime.shutdown_background();
    Ok(session.lifecycle.exit_code())
}

async fn run(session: Arc<Session>) {
    let (queue, worker) = Worker::new(Arc::clone(&session));
    let (service, socket) = LspService::new(|client| {
        worker.start(client.clone());
        Backend::new(client, queue, Arc::clone(&session))
    });
    protocol::serve(service, socket, Arc::clone(&session.lifecycle), stdin(), stdout()).await;
    session.pages.remove();
}
