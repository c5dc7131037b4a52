use drysheath_office::{Field, ThingId, Value};
use drysheath_syntax::{Fix, TokenKind, lex};
use drysheath_text::{Edit, Place};
use unicode_normalization::char::is_combining_mark;
use unicode_normalization::{UnicodeNormalization, is_nfc};

use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::NameMalformed,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Records,
    summary: "A name has a character that names do not have, or is a word kept for the language.",
    explanation: "A name is letters, digits, `-` and `_`, and starts with a letter. `/` stands between the name of a file and \
                  that of a part, and so within no name. Letters with accents are stored as one character each \
                  (Unicode normal form NFC), since names that are stored in two ways look the same and are not. The words \
                  `then`, `when`, `expect`, `at`, `by`, `over` and `rest` have a meaning of their own in runs and \
                  statements. Rename it wherever it is named.",
    source: Source::Language,
    example: Some(Example {
        failing: r"
block tc/b { pairs 10 }
#     ^^^^
spare tc/b pair 1 .. 10
",
        passing: r"
block tc-b { pairs 10 }
spare tc-b pair 1 .. 10
",
    }),
    check: Check::Office(check),
};

/// Words with a meaning in runs and statements.
const KEPT: [&str; 7] = ["then", "when", "expect", "at", "by", "over", "rest"];

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.whole;
    let mut look = |on: Option<ThingId>, name: &str, place: Place| {
        let Some((message, help)) = malformed(name) else {
            return;
        };
        let finding = sink.report_at(on, place, message).help(help);
        // A part may be named in other files as well.
        if on.is_some() && !is_nfc(name) {
            finding.fix(composed(office.own_text(), name));
        }
    };
    // The name of a damaged thing is not reliable.
    for (id, thing) in office.own_things().filter(|(_, thing)| !thing.damaged) {
        look(Some(id), office.name(id), office.place(thing.name));
        let own = |place: Place| place.file == office.file && thing.range.contains(place.range);
        inside(&thing.fields, &mut |name, place| {
            if own(place) {
                look(Some(id), name, place);
            }
        });
    }
    for part in &office.parts {
        look(None, &part.name, part.place);
        inside(&part.fields, &mut |name, place| look(None, name, place));
    }
}

fn inside<'f>(fields: &'f [Field], found: &mut impl FnMut(&'f str, Place)) {
    for field in fields {
        match &field.value {
            Value::Named { name, place, fields } => {
                found(name, *place);
                inside(fields, found);
            }
            Value::Group(fields) => inside(fields, found),
            _ => {}
        }
    }
}

/// What is wrong with a name, and advice.
fn malformed(name: &str) -> Option<(String, String)> {
    let is_plain = |char: &char| char.is_alphanumeric() || matches!(char, '-' | '_') || is_combining_mark(*char);
    if is_usual(name) {
        return None;
    }
    let shape = "a name is letters, digits, `-` and `_`, and starts with a letter";
    if let Some(stranger) = name.chars().find(|char| !is_plain(char)) {
        let message = format!("the name `{name}` has `{stranger}` in it");
        return Some((message, format!("rename it: {shape}")));
    }
    if name.starts_with(|char: char| !char.is_alphabetic()) {
        return Some((
            format!("the name `{name}` does not start with a letter"),
            format!("rename it: {shape}"),
        ));
    }
    if !is_nfc(name) {
        let message = format!("the name `{name}` stores an accent as a character of its own");
        return Some((message, "type the letter with its accent as one character".to_owned()));
    }
    KEPT.contains(&name).then(|| {
        let message = format!("`{name}` is a word of the language and can be no name");
        (message, "rename it wherever it is named".to_owned())
    })
}

/// Fast check that covers nearly all well-formed names.
fn is_usual(name: &str) -> bool {
    let bytes = name.as_bytes();
    bytes.first().is_some_and(u8::is_ascii_alphabetic)
        && bytes
            .iter()
            .all(|byte| byte.is_ascii_alphanumeric() || matches!(byte, b'-' | b'_'))
        && !KEPT.contains(&name)
}

/// Replaces every occurrence of the name in the file by its normal form.
fn composed(text: &str, name: &str) -> Fix {
    let composed: String = name.nfc().collect();
    let tokens = lex(text).into_iter();
    let named = tokens.filter(|token| token.kind == TokenKind::Word && token.range.of(text) == name);
    Fix {
        title: format!("Write `{composed}` with whole letters"),
        edits: named
            .map(|token| Edit {
                range: token.range,
                replacement: composed.clone(),
            })
            .collect(),
    }
}
