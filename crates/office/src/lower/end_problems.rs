//! Problems of run ends.

use drysheath_syntax::{Fix, Medium, PairState, TokenKind};
use drysheath_text::TextRange;

use super::ends::REST;
use super::reader::{Context, Reader, VALUE};
use crate::kinds::{Kind, Port};
use crate::model::Office;
use crate::problem::{Problem, ProblemId};
use crate::spelling::{Suggestions, nearest, with_article};

/// A run in a medium for which the thing has no ports.
pub(super) fn no_ports(medium: Medium, kind: &Kind, reader: &Reader<'_>, text: &str) -> Box<Problem> {
    let name = reader.last().of(text);
    let (rule, message) = match medium {
        Medium::Ground => (
            ProblemId::GroundNotToBar,
            format!(
                "`{name}` is {}, and a ground conductor ends on a ground bar",
                with_article(kind.word())
            ),
        ),
        _ => (
            ProblemId::PortUnknown,
            format!(
                "`{name}` is {}, and no {} run can end on it",
                with_article(kind.word()),
                medium.word()
            ),
        ),
    };
    Box::new(Problem::new(rule, reader.last(), message))
}

/// Numbers directly after a thing's name: the port's word is missing.
pub(super) fn port_missing(words: &[&str], reader: &Reader<'_>, text: &str) -> Option<Box<Problem>> {
    let number = reader.peek().filter(|token| token.kind == TokenKind::Number)?;
    // A size or length is a different mistake.
    if reader.ahead().any_quantity("", &[], Context::of("")).is_ok() {
        return None;
    }
    match words {
        [] => None,
        [only] => Some(word_missing(only, number.range, reader, text)),
        [..] => {
            let message = format!("{} is missing before `{}`", list_or(words), number.range.of(text));
            Some(Box::new(Problem::new(ProblemId::PortUnknown, number.range, message)))
        }
    }
}

/// A word that starts a statement, in the middle of a line.
pub(super) fn another_statement(text: &str, reader: &Reader<'_>) -> Option<Box<Problem>> {
    let word = reader.peek().filter(|token| token.kind.starts_statement())?;
    let written = word.range.of(text);
    let message = format!("`{written}` starts another statement and must start a line");
    let gap = TextRange::new(reader.last().end, word.range.start);
    let problem = Problem::new(VALUE, word.range, message);
    Some(Box::new(problem.fix(Fix::replace(
        gap,
        "\n",
        format!("Start a line with `{written}`"),
    ))))
}

pub(super) fn word_missing(word: &str, before: TextRange, reader: &Reader<'_>, text: &str) -> Box<Problem> {
    let at = TextRange::empty(reader.last().end);
    let problem = Problem::new(
        ProblemId::PortUnknown,
        before,
        format!("`{word}` is missing before `{}`", before.of(text)),
    );
    Box::new(problem.fix(Fix::replace(at, format!(" {word}"), format!("Insert `{word}`"))))
}

/// A name that is not declared.
pub(super) fn unknown_thing(name: &str, range: TextRange, office: &Office, suggestions: &Suggestions) -> Problem {
    let problem = Problem::new(
        ProblemId::NameUnknown,
        range,
        format!("nothing in this office is named `{name}`"),
    );
    let is_looked_up = suggestions.next();
    let names = office.names.keys().filter(|_| is_looked_up);
    let mut names: Vec<&str> = names.map(|name| &**name).collect();
    // Hash tables are unordered; sort so that the suggestion is the same in every run.
    names.sort_unstable();
    match nearest(name, names) {
        Some(near) => problem.meant(near),
        None => problem.help("declare it with its kind and name, or use a name that is declared"),
    }
}

pub(super) fn port_unknown(kind: &Kind, written: &str, range: TextRange, words: &[&'static str]) -> Box<Problem> {
    let message = if kind.ports.iter().any(|port| port.word == written) {
        format!(
            "the port `{written}` of {} cannot be used here",
            with_article(kind.word())
        )
    } else {
        format!("{} has no port `{written}`", with_article(kind.word()))
    };
    let problem = Problem::new(ProblemId::PortUnknown, range, message);
    if written == REST
        && let [word] = words
    {
        let help = format!("`{REST}` follows the word of a port: write `{word} {REST}`");
        let fix = Fix::replace(
            TextRange::empty(range.start),
            format!("{word} "),
            format!("Insert `{word}`"),
        );
        return Box::new(problem.help(help).fix(fix));
    }
    Box::new(match nearest(written, words.iter().copied()) {
        Some(near) => problem.meant(near),
        None if words.is_empty() => problem,
        None => problem.help(format!("its ports here are {}", list(words))),
    })
}

/// A state that only pairs can have, on another port.
pub(super) fn not_a_pair(state: PairState, kind: &Kind, port: &Port, range: TextRange) -> Box<Problem> {
    let (state, word) = (state.word(), port.word);
    let message = format!(
        "only pairs and inputs can be {state}, not the `{word}` of {}",
        with_article(kind.word())
    );
    let help = format!(
        "{} that nothing is joined to is `spare`; write what it is kept for in a comment above the line",
        with_article(&format!("`{word}`"))
    );
    Box::new(Problem::new(ProblemId::PortUnknown, range, message).help(help))
}

pub(super) fn list(words: &[&str]) -> String {
    words
        .iter()
        .map(|word| format!("`{word}`"))
        .collect::<Vec<_>>()
        .join(", ")
}

pub(super) fn list_or(words: &[&str]) -> String {
    words
        .iter()
        .map(|word| format!("`{word}`"))
        .collect::<Vec<_>>()
        .join(" or ")
}
