//! A client that says anything: every request is answered, whatever else is wrong with it, and nothing in the server fails.
//!
//! One server serves all executions, as one serves an editor all day.

use std::collections::BTreeSet;
use std::io::{BufRead, BufReader, PipeReader, PipeWriter, Read, Write, pipe};
use std::sync::mpsc::{Receiver, channel};
use std::time::Duration;

use drysheath_fixture::{Case, Change, Corpus, check, mutated};
use serde_json::{Value, json};

/// The longest that an answer may take, on a machine that does much besides.
const PATIENCE: Duration = Duration::from_mins(1);

/// Messages of one execution between the opening and the closing of a document.
const MOST: usize = 8;

const URI: &str = "file:///nowhere/offices/elm.office";

const REQUESTS: [&str; 24] = [
    "textDocument/hover",
    "textDocument/completion",
    "textDocument/definition",
    "textDocument/typeDefinition",
    "textDocument/references",
    "textDocument/documentHighlight",
    "textDocument/prepareRename",
    "textDocument/rename",
    "textDocument/documentSymbol",
    "textDocument/codeAction",
    "textDocument/codeLens",
    "textDocument/documentLink",
    "textDocument/formatting",
    "textDocument/rangeFormatting",
    "textDocument/onTypeFormatting",
    "textDocument/foldingRange",
    "textDocument/selectionRange",
    "textDocument/prepareCallHierarchy",
    "textDocument/semanticTokens/full",
    "textDocument/semanticTokens/range",
    "textDocument/inlayHint",
    "textDocument/diagnostic",
    "workspace/symbol",
    "drysheath/sheet",
];

/// A message as numbers: what kind it is, and the numbers in it.
type Said = (u8, u16, u16, Vec<Change>);

/// The client's end.
struct Client {
    input: PipeWriter,
    heard: Receiver<Value>,
    last: u64,
}

impl Client {
    fn new() -> Self {
        let (from_client, input) = pipe().unwrap();
        let (output, to_client) = pipe().unwrap();
        std::thread::spawn(|| drysheath_server::serve(from_client, to_client));
        let (sender, heard) = channel();
        std::thread::spawn(move || {
            let mut output = BufReader::new(output);
            while let Some(message) = read(&mut output) {
                if sender.send(message).is_err() {
                    return;
                }
            }
        });
        let mut client = Self { input, heard, last: 0 };
        let capabilities = json!({
            "textDocument": {
                "diagnostic": {},
                "hover": {"contentFormat": ["markdown"]},
                "completion": {"completionItem": {"snippetSupport": true}},
                "documentSymbol": {"hierarchicalDocumentSymbolSupport": true},
                "codeAction": {"codeActionLiteralSupport": {"codeActionKind": {"valueSet": []}}},
                "rename": {"prepareSupport": true},
            },
            "workspace": {"workspaceEdit": {"documentChanges": true}},
        });
        let first = client.ask(
            "initialize",
            &json!({"capabilities": capabilities, "initializationOptions": {"pictures": true}}),
        );
        client.wait(BTreeSet::from([first]));
        client.tell("initialized", &json!({}));
        client
    }

    fn send(&mut self, body: &[u8]) {
        write!(self.input, "Content-Length: {}\r\n\r\n", body.len()).unwrap();
        self.input.write_all(body).unwrap();
    }

    fn tell(&mut self, method: &str, parameters: &Value) {
        let message = json!({"jsonrpc": "2.0", "method": method, "params": parameters});
        self.send(message.to_string().as_bytes());
    }

    fn ask(&mut self, method: &str, parameters: &Value) -> u64 {
        self.last += 1;
        let message = json!({"jsonrpc": "2.0", "id": self.last, "method": method, "params": parameters});
        self.send(message.to_string().as_bytes());
        self.last
    }

    /// Waits until all of these have been answered.
    fn wait(&mut self, mut asked: BTreeSet<u64>) {
        while !asked.is_empty() {
            let message = self.heard.recv_timeout(PATIENCE);
            let message = message.unwrap_or_else(|_| panic!("{asked:?} were not answered"));
            assert_eq!(message["jsonrpc"], "2.0");
            let text = message.to_string();
            assert!(!text.contains("a fault inside"), "{text}");
            match (message["id"].as_u64(), message.get("method")) {
                // A request of the server's: it wants no more than an answer.
                (Some(id), Some(_)) => self.send(
                    json!({"jsonrpc": "2.0", "id": id, "result": null})
                        .to_string()
                        .as_bytes(),
                ),
                (Some(id), None) => {
                    assert!(
                        message.get("result").is_some() != message.get("error").is_some(),
                        "{text}"
                    );
                    asked.remove(&id);
                }
                (None, _) => {}
            }
        }
    }
}

/// The next message of a stream; none at its end.
fn read(output: &mut BufReader<PipeReader>) -> Option<Value> {
    let mut length = 0;
    loop {
        let mut line = String::new();
        if output.read_line(&mut line).ok()? == 0 {
            return None;
        }
        match line.trim().split_once(": ") {
            Some((_, value)) => length = value.parse().unwrap(),
            None => break,
        }
    }
    let mut body = vec![0; length];
    output.read_exact(&mut body).ok()?;
    Some(serde_json::from_slice(&body).unwrap())
}

/// A value that a client should not send where something else is wanted.
fn odd(number: u16) -> Value {
    match number % 14 {
        0 => Value::Null,
        1 => json!(true),
        2 => json!(-1),
        3 => json!(0),
        4 => json!(4_294_967_295_u64),
        5 => json!(u64::MAX),
        6 => json!(1e300),
        7 => json!(""),
        8 => json!("\u{0}\u{202e}\n"),
        9 => json!([]),
        10 => json!({}),
        11 => json!([[[[{}]]]]),
        12 => json!("file:///nowhere/none.office"),
        _ => json!("untitled:x"),
    }
}

/// Puts something odd into a place of a value, or takes the place out.
fn disturb(value: &mut Value, place: u16, with: u16) {
    let deeper = place / 8;
    match value {
        Value::Object(fields) if !fields.is_empty() => {
            let key = fields.keys().nth(usize::from(place) % fields.len()).unwrap().clone();
            if place.is_multiple_of(3) {
                fields.remove(&key);
            } else {
                disturb(fields.get_mut(&key).unwrap(), deeper, with);
            }
        }
        Value::Array(items) if !items.is_empty() && !place.is_multiple_of(3) => {
            let at = usize::from(place) % items.len();
            disturb(&mut items[at], deeper, with);
        }
        _ => *value = odd(with),
    }
}

/// A position in a text, in it for the most part.
fn position(text: &str, part: u16) -> Value {
    let lines = text.lines().count();
    let line = lines * usize::from(part) / usize::from(u16::MAX);
    let length = text.lines().nth(line).map_or(9, str::len) + 2;
    json!({"line": line, "character": usize::from(part) % length})
}

/// What a request or a change says, as its client should.
fn parameters(text: &str, from: u16, to: u16) -> Value {
    let document = json!({"uri": URI, "version": from});
    let (start, end) = (position(text, from.min(to)), position(text, from.max(to)));
    let range = json!({"start": start, "end": end});
    json!({
        "textDocument": document,
        "position": start,
        "positions": [start, end],
        "range": range,
        "newName": format!("n{to}"),
        "query": "c1",
        "ch": if to.is_multiple_of(2) { "}" } else { "\n" },
        "options": {"tabSize": 4, "insertSpaces": true},
        "context": {"diagnostics": [], "includeDeclaration": true, "triggerKind": 1},
    })
}

#[test]
fn every_request_is_answered() {
    let corpus = Corpus::default();
    let client = std::sync::Mutex::new(Client::new());
    check!(1500).with_type::<(Case, Vec<Said>)>().for_each(|(case, said)| {
        let (_, text) = corpus.draw(case);
        // After a failure a new server: the old one still has answers to what failed.
        let mut client = client.lock().unwrap_or_else(|poisoned| {
            client.clear_poison();
            let mut client = poisoned.into_inner();
            *client = Client::new();
            client
        });
        let mut asked = BTreeSet::new();
        client.tell(
            "textDocument/didOpen",
            &json!({"textDocument": {"uri": URI, "languageId": "office", "version": 1, "text": text}}),
        );
        for (what, from, to, changes) in said.iter().take(MOST) {
            let mut parameters = parameters(&text, *from, *to);
            for (_, place, with) in changes.iter().take(usize::from(what / 64)) {
                disturb(&mut parameters, *place, *with);
            }
            match what % 32 {
                24..28 => {
                    let change = json!({"range": parameters["range"], "text": corpus.word(&text, *to)});
                    let change = json!({"textDocument": parameters["textDocument"], "contentChanges": [change]});
                    client.tell("textDocument/didChange", &change);
                }
                28 => {
                    let call =
                        json!({"jsonrpc": "2.0", "id": "mine", "method": "textDocument/hover", "params": parameters});
                    client.send(mutated(&call.to_string(), changes).as_bytes());
                }
                29 => {
                    let last = json!({"id": client.last});
                    client.tell("$/cancelRequest", &last);
                }
                30 => client.tell("textDocument/didSave", &parameters),
                31 => {
                    asked.insert(client.ask("textDocument/nothing", &parameters));
                }
                what => {
                    asked.insert(client.ask(REQUESTS[usize::from(what)], &parameters));
                }
            }
        }
        // What only tells is answered by nothing: this shows whether the server is still well.
        asked.insert(client.ask("textDocument/documentSymbol", &json!({"textDocument": {"uri": URI}})));
        client.tell("textDocument/didClose", &json!({"textDocument": {"uri": URI}}));
        client.wait(asked);
    });
}
