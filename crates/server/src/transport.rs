//! Messages between the pipes and the service.
//!
//! The protocol's library has a loop of its own for this, but that one ends at the first message that is none, holds back a
//! cancellation until those asked before are answered, and asks the queue in any order. Here each request reaches the queue
//! before the next message is read, so that it is answered about the text as it was when it was asked.

use std::future::{Future, poll_fn};
use std::io::{self, BufRead, Read, Write};
use std::pin::pin;
use std::sync::Arc;
use std::task::Poll;
use std::time::Duration;

use futures::{SinkExt, StreamExt};
use serde_json::Value;
use tokio::sync::mpsc::{Receiver, Sender, UnboundedReceiver, UnboundedSender, channel, unbounded_channel};
use tokio::task::{JoinSet, spawn_blocking};
use tokio::time::timeout;
use tower_lsp::ClientSocket;
use tower_lsp::jsonrpc::{Error, Id, Request, Response};
use tower_service::Service;

use crate::intake::Ending;

/// Messages that are read ahead.
const AHEAD: usize = 64;
/// How long what was asked before the end may still take.
const GRACE: Duration = Duration::from_secs(1);

/// A message of the client's.
enum Incoming {
    Request(Request),
    Response(Response),
    /// What is no message.
    Wrong(Error),
}

/// Serves until the client says `exit`, closes a pipe, or the session is ended otherwise.
pub(crate) async fn serve<S>(mut service: S, socket: ClientSocket, ending: Arc<Ending>)
where
    S: Service<Request, Response = Option<Response>>,
    S::Future: Send + 'static,
    S::Error: Send,
{
    let (mut asked, mut answers) = socket.split();
    let (outgoing, outbox) = unbounded_channel();
    let writing = spawn_blocking({
        let ending = Arc::clone(&ending);
        move || {
            // Whoever does not listen any more has nobody to be served.
            if write(outbox).is_err() {
                ending.end();
            }
        }
    });
    let (inbox, mut incoming) = channel(AHEAD);
    std::thread::spawn(move || read(&inbox));
    let told = outgoing.clone();
    let telling = tokio::spawn(async move {
        while let Some(request) = asked.next().await {
            send(&told, serde_json::to_vec(&request));
        }
    });
    let mut answering = JoinSet::new();
    while let Some(message) = next(&mut incoming, &ending).await {
        while answering.try_join_next().is_some() {}
        match message {
            Incoming::Response(response) => {
                if answers.send(response).await.is_err() {
                    break;
                }
            }
            Incoming::Wrong(error) => send(&outgoing, serde_json::to_vec(&Response::from_error(Id::Null, error))),
            Incoming::Request(request) if request.method() == "exit" => break,
            Incoming::Request(request) => {
                let begins = request.method() == "initialize";
                let answer = service.call(request);
                let told = outgoing.clone();
                let mut answer = Box::pin(async move {
                    if let Ok(Some(response)) = answer.await {
                        send(&told, serde_json::to_vec(&response));
                    }
                });
                // Nothing else is taken before the beginning is over.
                if begins {
                    answer.await;
                } else if !is_ready(&mut answer).await {
                    answering.spawn(answer);
                }
            }
        }
    }
    let _ = timeout(GRACE, async { while answering.join_next().await.is_some() {} }).await;
    drop(answering);
    telling.abort();
    let _ = telling.await;
    drop(outgoing);
    let _ = timeout(GRACE, writing).await;
}

/// The next message. None at the end of the session.
async fn next(incoming: &mut Receiver<Incoming>, ending: &Ending) -> Option<Incoming> {
    tokio::select! {
        message = incoming.recv() => message,
        () = ending.wait() => None,
    }
}

/// Takes a future as far as it gets by itself, and tells whether that is to its end.
async fn is_ready(future: &mut (impl Future<Output = ()> + Unpin)) -> bool {
    let mut future = pin!(future);
    poll_fn(|context| Poll::Ready(future.as_mut().poll(context).is_ready())).await
}

fn send(outgoing: &UnboundedSender<Vec<u8>>, message: serde_json::Result<Vec<u8>>) {
    if let Ok(message) = message {
        // Once nobody writes any more, the session is about to end.
        let _ = outgoing.send(message);
    }
}

fn write(mut outbox: UnboundedReceiver<Vec<u8>>) -> io::Result<()> {
    let mut pipe = io::stdout().lock();
    while let Some(body) = outbox.blocking_recv() {
        let mut message = format!("Content-Length: {}\r\n\r\n", body.len()).into_bytes();
        message.extend(body);
        pipe.write_all(&message)?;
        pipe.flush()?;
    }
    Ok(())
}

/// Reads the client's pipe to its end.
fn read(inbox: &Sender<Incoming>) {
    let mut pipe = io::stdin().lock();
    while let Ok(Some(message)) = read_message(&mut pipe) {
        if inbox.blocking_send(message).is_err() {
            return;
        }
    }
}

/// The next message of a pipe. None at its end.
fn read_message(pipe: &mut impl BufRead) -> io::Result<Option<Incoming>> {
    let (mut length, mut starts) = (None, true);
    let mut line = Vec::new();
    loop {
        line.clear();
        if pipe.read_until(b'\n', &mut line)? == 0 {
            return Ok(None);
        }
        let header = line.trim_ascii();
        if !header.is_empty() {
            starts = false;
            length = length_in(header).or(length);
        } else if !starts {
            break;
        }
    }
    let Some(length) = length else {
        return Ok(Some(Incoming::Wrong(Error::parse_error())));
    };
    let mut body = Vec::new();
    let read = pipe.take(length).read_to_end(&mut body)?;
    Ok((read as u64 == length).then(|| message(&body)))
}

/// What a line of a message's head says of the length of its body.
fn length_in(header: &[u8]) -> Option<u64> {
    let (name, value) = std::str::from_utf8(header).ok()?.split_once(':')?;
    name.eq_ignore_ascii_case("content-length")
        .then(|| value.trim().parse().ok())?
}

fn message(body: &[u8]) -> Incoming {
    let Ok(value) = serde_json::from_slice::<Value>(body) else {
        return Incoming::Wrong(Error::parse_error());
    };
    let read = if value.get("method").is_some() {
        serde_json::from_value(value).map(Incoming::Request)
    } else {
        serde_json::from_value(value).map(Incoming::Response)
    };
    read.unwrap_or_else(|_| Incoming::Wrong(Error::invalid_request()))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read_all(mut raw: &[u8]) -> Vec<String> {
        let mut all = Vec::new();
        while let Ok(Some(message)) = read_message(&mut raw) {
            all.push(match message {
                Incoming::Request(request) => request.method().to_owned(),
                Incoming::Response(response) => format!("answer to {}", response.id()),
                Incoming::Wrong(error) => format!("wrong: {}", error.code.code()),
            });
        }
        all
    }

    #[test]
    fn messages_follow_one_another() {
        let raw = b"Content-Length: 33\r\n\r\n{\"jsonrpc\":\"2.0\",\"method\":\"exit\"}\
                    content-length:38\r\nContent-Type: text\r\n\r\n{\"jsonrpc\":\"2.0\",\"id\":3,\"result\":null}\r\n";
        assert_eq!(read_all(raw), ["exit", "answer to 3"]);
    }

    #[test]
    fn what_is_no_message_costs_itself_alone() {
        let raw = b"Content-Length: 2\r\n\r\n{}Content-Length: 2\r\n\r\n{,Content-Length: x\r\n\r\n\
                    Content-Length: 33\r\n\r\n{\"jsonrpc\":\"2.0\",\"method\":\"exit\"}";
        assert_eq!(
            read_all(raw),
            ["wrong: -32600", "wrong: -32700", "wrong: -32700", "exit"]
        );
    }

    #[test]
    fn a_message_that_breaks_off_is_none() {
        assert!(read_all(b"Content-Length: 33\r\n\r\n{\"jsonrpc\"").is_empty());
    }
}
