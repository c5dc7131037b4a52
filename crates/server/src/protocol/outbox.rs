//! What goes out to the client, in order.

use std::io::{self, Write};

use serde::Serialize;
use tokio::sync::mpsc::{UnboundedReceiver, UnboundedSender, WeakUnboundedSender, unbounded_channel};
use tower_lsp::lsp_types::notification::Notification;

use super::framing::write_message;

/// Takes messages for the thread that writes, which ends with the last outbox.
#[derive(Clone, Debug)]
pub(crate) struct Outbox(UnboundedSender<Vec<u8>>);

/// The messages to be written.
pub(crate) struct Outgoing(UnboundedReceiver<Vec<u8>>);

/// Notifies the client as long as the session lasts. The thread that writes does not wait for it.
///
/// `tower_lsp` has a client that notifies as well, over two more tasks, each of which has to be woken: too slow for what follows
/// every key.
#[derive(Clone, Debug)]
pub(crate) struct Notifier(WeakUnboundedSender<Vec<u8>>);

/// A notification as JSON-RPC has it.
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
    /// Writes all messages until there can be no more.
    pub(super) fn write_to(mut self, mut output: impl Write) -> io::Result<()> {
        while let Some(body) = self.0.blocking_recv() {
            write_message(&mut output, &body)?;
        }
        Ok(())
    }
}

fn send(outbox: &UnboundedSender<Vec<u8>>, message: &impl Serialize) {
    if let Ok(body) = serde_json::to_vec(message) {
        // The writer is gone only when the session ends.
        let _ = outbox.send(body);
    }
}
