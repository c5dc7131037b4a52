//! Numbers of a port that are neither used nor declared spare.

use drysheath_office::kinds::Port;
use drysheath_office::{Office, ThingId, numbers_written};
use drysheath_syntax::Fix;
use drysheath_text::TextRange;

use crate::finding::{Finding, Sink};
use crate::pairs::numbered;
use crate::precedence::Subject;

/// Reports a range of such numbers, with a fix that declares them spare.
pub(crate) fn not_said_spare<'s>(
    office: &Office,
    id: ThingId,
    port: &Port,
    (from, to): (u32, u32),
    sink: &'s mut Sink<'_>,
) -> &'s mut Finding {
    let (thing, name) = (office.thing(id), office.name(id));
    let are = if from == to { "is" } else { "are" };
    let message = format!(
        "{} of `{name}` {are} unused and not declared spare",
        numbered(port.noun(), from, to)
    );
    let numbers = numbers_written(from, to);
    let statement = format!("spare {name} {} {numbers}", port.word);
    let title = format!("Add `{statement}`");
    sink.report(id, thing.name, message)
        .help(if from == to {
            "declare it spare, or write down what is on it"
        } else {
            "declare them spare, or write down what is on them"
        })
        .about([Subject::Ports(id, port.word)])
        .fix(add_line(office, thing.range.end, &statement, title))
}

/// Inserts a statement on its own line after the line that contains `after`.
fn add_line(office: &Office, after: u32, statement: &str, title: String) -> Fix {
    let rest = office.text.get(after as usize..).unwrap_or_default();
    let line = rest.split('\n').next().unwrap_or_default();
    let (line, end) = match line.strip_suffix('\r') {
        Some(line) => (line, "\r\n"),
        None => (line, "\n"),
    };
    let at = TextRange::empty(after + line.len() as u32);
    Fix::replace(at, format!("{end}{statement}"), title)
}
