//! Messages to the client, in order.

use std::io::{self, Write};

use serde::Serialize;
use tokio::sync::mpsc::{UnboundedReceiver, UnboundedSender, WeakUnboundedSender, unbounded_channel};
use tower_lsp::lsp_types::notification::Notification;

use super::framing::write_message;

/// Queues messages for the writer thread, which ends with the last outbox.
#[derive(Clone, Debug)]
pub(crate) struct Outbox(UnboundedSender<Vec<u8>>);

/// Messages to be written.
pub(crate) struct Outgoing(UnboundedReceiver<Vec<u8>>);

/// Sends notifications to the client during the session. Does not keep the writer thread alive.
///
/// The client of `tower_lsp` also sends notifications, but through two more tasks, each of which must be woken: too
/// slow for notifications after every key press.
#[derive(Clone, Debug)]
pub(crate) struct Notifier(WeakUnboundedSender<Vec<u8>>);

/// A notification of JSON-RPC 2.0: it has no id, since nobody answers it.
#[derive(Serialize)]
struct Notice<P> {
    jsonrpc: &'static str,
    method: &'static str,
    params: P,
}

impl Outbox {
    pub fn new() -> (Self, Outgoing) {
        let (sender, receiver) = unbounded_channel();
        (Self(sender), Outgoing(receiver))
    }

    pub fn notifier(&self) -> Notifier {
        Notifier(self.0.downgrade())
    }

    /// Sends a request, an answer or a notification.
    pub(super) fn send(&self, message: &impl Serialize) {
        send(&self.0, message);
    }
}

impl Notifier {
    pub fn notify<N: Notification>(&self, params: N::Params) {
        if let Some(outbox) = self.0.upgrade() {
            let notice = Notice {
                jsonrpc: "2.0",
                method: N::METHOD,
                params,
            };
            send(&outbox, &notice);
        }
    }
}

impl Outgoing {
    /// Writes messages until all senders are gone.
    pub(super) fn write_to(mut self, mut output: impl Write) -> io::Result<()> {
        while let Some(body) = self.0.blocking_recv() {
            write_message(&mut output, &body)?;
        }
        Ok(())
    }
}

fn send(outbox: &UnboundedSender<Vec<u8>>, message: &impl Serialize) {
    if let Ok(body) = serde_json::to_vec(message) {
        // The writer ends only with the session.
        let _ = outbox.send(body);
    }
}
