//! The language server. Edits and questions go through one queue to one thread that owns the world (`worker`); what comes
//! out is published with the version it is about. Nothing of the trade is decided here: the `ide` room answers, and this one
//! speaks the protocol.
#![allow(
    clippy::disallowed_methods,
    clippy::disallowed_types,
    clippy::disallowed_macros,
    reason = "this crate does input and output"
)]

mod backend;
mod client;
mod convert;
mod diagnostics;
mod disk;
mod document;
mod edits;
mod features;
mod intake;
mod pages;
mod parent;
mod scan;
mod transport;
mod uri;
mod worker;

use std::process::ExitCode;
use std::sync::Arc;

use tower_lsp::LspService;

use crate::backend::Backend;
use crate::client::Agreed;
use crate::intake::{Ending, Intake};
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
    let ending = Arc::new(Ending::default());
    runtime.block_on(session(Arc::clone(&ending)));
    // A thread that waits for standard input cannot be joined.
    runtime.shutdown_background();
    Ok(if ending.was_asked() {
        ExitCode::SUCCESS
    } else {
        ExitCode::FAILURE
    })
}

async fn session(ending: Arc<Ending>) {
    let agreed = Arc::new(Agreed::default());
    let (queue, worker) = Worker::new(Arc::clone(&agreed), Arc::clone(&ending));
    let (service, socket) = LspService::new(|client| {
        worker.start(client.clone());
        Backend::new(client, queue.clone(), Arc::clone(&agreed))
    });
    let intake = Intake::new(service, queue, Arc::clone(&agreed), Arc::clone(&ending));
    transport::serve(intake, socket, ending).await;
    agreed.pages.remove();
}
