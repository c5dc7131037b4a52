//! The base protocol: messages as bytes of a stream, and back.

use std::io::{self, BufRead, Read, Write};

use serde_json::Value;
use tower_lsp::jsonrpc::{Error, Request, Response};

/// A message as the client sent it.
pub(super) enum Incoming {
    /// A request or a notification.
    Request(Request),
    /// The answer to a request of the server's.
    Response(Response),
    /// Not a valid JSON-RPC message.
    Malformed(Error),
}

/// Reads the next message. `None` at the end of the stream, including one in the middle of a message.
pub(super) fn read_message(input: &mut impl BufRead) -> io::Result<Option<Incoming>> {
    let Some(header) = read_header(input)? else {
        return Ok(None);
    };
    let Some(length) = header.content_length else {
        return Ok(Some(Incoming::Malformed(Error::parse_error())));
    };
    let mut body = Vec::new();
    let read = input.take(length).read_to_end(&mut body)?;
    Ok((read as u64 == length).then(|| decode(&body)))
}

/// Writes one message and flushes it.
pub(super) fn write_message(output: &mut impl Write, body: &[u8]) -> io::Result<()> {
    let mut message = format!("Content-Length: {}\r\n\r\n", body.len()).into_bytes();
    message.extend(body);
    output.write_all(&message)?;
    output.flush()
}

#[derive(Default)]
struct Header {
    content_length: Option<u64>,
}

/// Reads up to and including the empty line behind a header. Empty lines before the header are skipped.
fn read_header(input: &mut impl BufRead) -> io::Result<Option<Header>> {
    let mut header = Header::default();
    let (mut line, mut is_empty) = (Vec::new(), true);
    loop {
        line.clear();
        if input.read_until(b'\n', &mut line)? == 0 {
            return Ok(None);
        }
        let field = line.trim_ascii();
        if !field.is_empty() {
            is_empty = false;
            header.content_length = content_length(field).or(header.content_length);
        } else if !is_empty {
            return Ok(Some(header));
        }
    }
}

/// The length that a header field gives.
///
/// The name is looked for anywhere in the line: after a message whose length was wrong, the rest of its body runs into the
/// next header, and reading goes on from there.
fn content_length(field: &[u8]) -> Option<u64> {
    const NAME: &str = "content-length:";
    let field = String::from_utf8_lossy(field).to_ascii_lowercase();
    field.rsplit_once(NAME)?.1.trim().parse().ok()
}

fn decode(body: &[u8]) -> Incoming {
    let Ok(value) = serde_json::from_slice::<Value>(body) else {
        return Incoming::Malformed(Error::parse_error());
    };
    let decoded = if value.get("method").is_some() {
        serde_json::from_value(value).map(Incoming::Request)
    } else {
        serde_json::from_value(value).map(Incoming::Response)
    };
    decoded.unwrap_or_else(|_| Incoming::Malformed(Error::invalid_request()))
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use std::io::BufReader;

    use drysheath_fixture::{Change, mutated};

    use super::*;

    const EXIT: &str = r#"{"jsonrpc":"2.0","method":"exit"}"#;

    fn framed(body: &str) -> String {
        format!("Content-Length: {}\r\n\r\n{body}", body.len())
    }

    fn read_all(mut input: impl BufRead) -> Vec<String> {
        let mut all = Vec::new();
        while let Ok(Some(message)) = read_message(&mut input) {
            all.push(match message {
                Incoming::Request(request) => request.method().to_owned(),
                Incoming::Response(response) => format!("answer to {}", response.id()),
                Incoming::Malformed(error) => format!("malformed: {}", error.code.code()),
            });
        }
        all
    }

    /// Gives one byte at a time, as a slow pipe may.
    struct Trickle<'b>(&'b [u8]);

    impl Read for Trickle<'_> {
        fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
            let length = buffer.len().min(1);
            self.0.read(buffer.get_mut(..length).unwrap_or_default())
        }
    }

    #[test]
    fn messages_follow_one_another() {
        let raw = format!(
            "{}content-length:38\r\nContent-Type: text\r\n\r\n{}\r\n",
            framed(EXIT),
            r#"{"jsonrpc":"2.0","id":3,"result":null}"#
        );
        assert_eq!(read_all(raw.as_bytes()), ["exit", "answer to 3"]);
    }

    #[test]
    fn messages_may_arrive_byte_by_byte() {
        let raw = framed(EXIT).repeat(3);
        assert_eq!(read_all(BufReader::new(Trickle(raw.as_bytes()))), ["exit"; 3]);
    }

    #[test]
    fn a_malformed_message_costs_only_itself() {
        let raw = [
            &framed("{}"),
            &framed("{,"),
            "Content-Length: x\r\n\r\n",
            "Content-Type: text\r\n\r\n",
            &framed(EXIT),
        ];
        assert_eq!(
            read_all(raw.concat().as_bytes()),
            [
                "malformed: -32600",
                "malformed: -32700",
                "malformed: -32700",
                "malformed: -32700",
                "exit"
            ]
        );
    }

    #[test]
    fn reading_recovers_from_a_length_that_is_too_small() {
        let raw = ["Content-Length: 5\r\n\r\n", EXIT, &framed(EXIT), &framed(EXIT)].concat();
        assert_eq!(read_all(raw.as_bytes()), ["malformed: -32700", "exit", "exit"]);
    }

    #[test]
    fn reading_recovers_from_a_length_that_is_too_large() {
        let raw = ["Content-Length: 40\r\n\r\n", EXIT, &framed(EXIT), &framed(EXIT)].concat();
        let read = read_all(raw.as_bytes());
        assert_eq!(read.first().unwrap(), "malformed: -32700");
        assert_eq!(read.last().unwrap(), "exit");
    }

    #[test]
    fn batches_are_refused_since_the_protocol_has_none() {
        let raw = [framed(&format!("[{EXIT},{EXIT}]")), framed(EXIT)].concat();
        assert_eq!(read_all(raw.as_bytes()), ["malformed: -32600", "exit"]);
    }

    #[test]
    fn a_message_that_breaks_off_ends_the_stream() {
        let whole = framed(EXIT);
        for length in 0..whole.len() {
            assert!(read_all(whole.as_bytes().get(..length).unwrap()).is_empty());
        }
    }

    #[test]
    fn what_is_written_can_be_read() {
        let mut written = Vec::new();
        write_message(&mut written, EXIT.as_bytes()).unwrap();
        assert_eq!(read_all(&*written), ["exit"]);
    }

    /// A fuzz target: whatever bytes arrive, reading ends, and each message took bytes of its own.
    #[test]
    fn any_bytes_are_read_to_their_end() {
        let conversation = framed(EXIT).repeat(3);
        bolero::check!()
            .with_test_time(std::time::Duration::from_secs(2))
            .with_type::<(Vec<u8>, Vec<Change>)>()
            .for_each(|(bytes, changes)| {
                // The shortest message is a header of one character and the empty line behind it.
                for bytes in [bytes.as_slice(), mutated(&conversation, changes).as_bytes()] {
                    assert!(read_all(bytes).len() * 3 <= bytes.len());
                }
            });
    }
}
