//! The base protocol: converts bytes of a stream to messages and back.

use std::io::{self, BufRead, Read, Write};

use serde_json::Value;
use tower_lsp::jsonrpc::{Error, Request, Response};

/// A message as the client sent it.
pub(super) enum Incoming {
    /// A request or a notification.
    Request(Request),
    /// The answer to a request of the server.
    Response(Response),
    /// Not a valid JSON-RPC message.
    Malformed(Error),
}

/// Maximum length of a message, in bytes: enough for a document of the maximum size in any JSON encoding.
const LONGEST: usize = 1 << 28;
/// Maximum number of bytes read at once, and of a header line examined together.
const PIECE: u64 = 1 << 16;
/// Number of bytes at the end of a line that are enough for a header's name and length.
const HEADER_END: usize = 128;

/// Reads messages from a stream.
///
/// A wrong length must not swallow the messages after it. JSON strings contain no line ends, so no line of a body ends
/// like a length header. If one does, the length of the body was wrong and the next message has begun.
pub(super) struct MessageReader<R> {
    input: R,
    /// Bytes already read that belong to the next header.
    ahead: Vec<u8>,
}

impl<R: BufRead> MessageReader<R> {
    pub fn new(input: R) -> Self {
        Self {
            input,
            ahead: Vec::new(),
        }
    }

    /// Reads the next message. `None` at the end of the stream, even in the middle of a message.
    pub fn read(&mut self) -> io::Result<Option<Incoming>> {
        let Some(header) = self.header()? else {
            return Ok(None);
        };
        let Some(length) = header.content_length else {
            return Ok(Some(malformed("a header without a valid Content-Length")));
        };
        self.body(length)
    }

    /// Reads a body of `length` bytes, unless another message begins within it.
    fn body(&mut self, length: u64) -> io::Result<Option<Incoming>> {
        let (mut body, mut left, mut is_too_long) = (Vec::new(), length, false);
        while left > 0 {
            let read = (&mut self.input).take(left.min(PIECE)).read_until(b'\n', &mut body)? as u64;
            if read == 0 {
                return Ok(None);
            }
            left -= read;
            if body.ends_with(b"\n") && content_length(&body).is_some() {
                self.ahead = end(&body).to_vec();
                return Ok(Some(malformed(
                    "Content-Length does not fit: another message begins within this one",
                )));
            }
            if body.len() > LONGEST {
                is_too_long = true;
                body = end(&body).to_vec();
            }
        }
        if is_too_long {
            return Ok(Some(malformed("the message is longer than 256 MiB")));
        }
        Ok(Some(decode(&body).unwrap_or_else(|error| {
            // Its length may have been wrong, and the next header may have begun within it.
            self.ahead = end(&body).to_vec();
            Incoming::Malformed(error)
        })))
    }

    /// Reads up to and including the empty line after a header. Empty lines before the header are skipped.
    fn header(&mut self) -> io::Result<Option<Header>> {
        let mut header = Header::default();
        let mut line = std::mem::take(&mut self.ahead);
        let (mut is_empty, mut may_be_body) = (true, !line.is_empty());
        loop {
            let is_whole = line.ends_with(b"\n");
            if !is_whole && (&mut self.input).take(PIECE).read_until(b'\n', &mut line)? == 0 {
                return Ok(None);
            }
            let length = length_field(&line);
            let is_field = length.is_some() || !may_be_body;
            header.content_length = length.and_then(|length| length.parse().ok()).or(header.content_length);
            if line.trim_ascii().is_empty() {
                if !is_empty {
                    return Ok(Some(header));
                }
            } else {
                is_empty &= !is_field;
            }
            may_be_body = false;
            line.clear();
        }
    }
}

/// Last bytes of what was read, which may be the start of a header.
fn end(read: &[u8]) -> &[u8] {
    read.get(read.len().saturating_sub(HEADER_END)..).unwrap_or_default()
}

fn malformed(why: &'static str) -> Incoming {
    let mut error = Error::parse_error();
    error.message = why.into();
    Incoming::Malformed(error)
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

/// Length in a header line.
///
/// The header name may be preceded by other bytes: after a message whose length was wrong, the rest of its body runs
/// into the next header, and reading continues from there.
fn content_length(line: &[u8]) -> Option<u64> {
    length_field(line)?.parse().ok()
}

/// Value of the length field in a header line.
fn length_field(line: &[u8]) -> Option<String> {
    const NAME: &str = "content-length:";
    let line = String::from_utf8_lossy(end(line)).to_ascii_lowercase();
    line.rsplit_once(NAME).map(|(_, value)| value.trim().to_owned())
}

fn decode(body: &[u8]) -> Result<Incoming, Error> {
    let value: Value = serde_json::from_slice(body).map_err(|_| Error::parse_error())?;
    let decoded = if value.get("method").is_some() {
        serde_json::from_value(value).map(Incoming::Request)
    } else {
        serde_json::from_value(value).map(Incoming::Response)
    };
    decoded.map_err(|_| Error::invalid_request())
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

    fn read_all(input: impl BufRead) -> Vec<String> {
        let (mut reader, mut all) = (MessageReader::new(input), Vec::new());
        while let Ok(Some(message)) = reader.read() {
            all.push(match message {
                Incoming::Request(request) => request.method().to_owned(),
                Incoming::Response(response) => format!("answer to {}", response.id()),
                Incoming::Malformed(error) => format!("malformed: {}", error.code.code()),
            });
        }
        all
    }

    /// Returns one byte at a time, as a slow pipe may.
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

    /// A message with that stated length, followed by two correct ones.
    fn stated_as(length: usize) -> String {
        let next = framed(EXIT);
        format!("Content-Length: {length}\r\n\r\n{EXIT}{next}{next}")
    }

    #[test]
    fn reading_recovers_from_a_length_that_is_too_small() {
        for length in 0..EXIT.len() {
            let raw = stated_as(length);
            assert_eq!(
                read_all(raw.as_bytes()),
                ["malformed: -32700", "exit", "exit"],
                "{length}"
            );
        }
    }

    #[test]
    fn a_length_that_is_too_large_costs_only_its_message() {
        let next = framed(EXIT).len() - EXIT.len();
        for length in (EXIT.len() + 1..EXIT.len() + 3 * next).chain([1_000, 1_000_000, usize::MAX]) {
            let raw = stated_as(length);
            assert_eq!(
                read_all(raw.as_bytes()),
                ["malformed: -32700", "exit", "exit"],
                "{length}"
            );
            let slow = BufReader::new(Trickle(raw.as_bytes()));
            assert_eq!(read_all(slow).len(), 3, "{length}");
        }
    }

    #[test]
    fn what_a_text_says_about_lengths_is_no_header() {
        let text = r#"{"jsonrpc":"2.0","method":"exit","params":{"text":"Content-Length: 5\r\n\r\n"}}"#;
        let laid_out = text.replace(',', ",\r\n");
        let raw = [framed(text), framed(&laid_out), framed(EXIT)].concat();
        assert_eq!(read_all(raw.as_bytes()), ["exit"; 3]);
    }

    #[test]
    fn what_never_ends_is_read_without_being_kept() {
        let endless = io::repeat(b'x').take(LONGEST as u64 + 3 * PIECE);
        let length = LONGEST as u64 + 3 * PIECE;
        let header = format!("Content-Length: {length}\r\n\r\n");
        let next = framed(EXIT);
        let raw = header.as_bytes().chain(endless).chain(next.as_bytes());
        assert_eq!(read_all(BufReader::new(raw)), ["malformed: -32700", "exit"]);
        let garbage = io::repeat(b'y').take(10 * PIECE);
        assert_eq!(read_all(BufReader::new(garbage.chain(next.as_bytes()))), ["exit"]);
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

    /// Fuzz test: for any bytes, reading ends, and each message consumes bytes of its own.
    #[test]
    fn any_bytes_are_read_to_their_end() {
        let conversation = framed(EXIT).repeat(3);
        drysheath_fixture::check!(200_000)
            .with_type::<(Vec<u8>, Vec<Change>)>()
            .for_each(|(bytes, changes)| {
                // The shortest message is a header of one character and the empty line after it.
                for bytes in [bytes.as_slice(), mutated(&conversation, changes).as_bytes()] {
                    assert!(read_all(bytes).len() * 3 <= bytes.len());
                }
            });
    }
}
