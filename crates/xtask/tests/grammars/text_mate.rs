//! The `TextMate` grammar in the engine that editors read it with, Oniguruma: every expression is one, and says of a line what it should.

use std::fs;
use std::path::Path;

use onig::Regex;
use serde_json::Value;

fn grammar() -> Value {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../grammar/office.tmLanguage.json");
    serde_json::from_str(&fs::read_to_string(path).unwrap()).unwrap()
}

/// The expressions of a rule and of those within it.
fn expressions(rule: &Value) -> Vec<&str> {
    match rule {
        Value::Array(rules) => rules.iter().flat_map(expressions).collect(),
        Value::Object(fields) => fields
            .iter()
            .flat_map(|(key, value)| match value.as_str() {
                Some(expression) if matches!(key.as_str(), "match" | "begin" | "end") => vec![expression],
                _ => expressions(value),
            })
            .collect(),
        _ => Vec::new(),
    }
}

/// What an entry of the repository finds in a line.
fn found<'l>(grammar: &Value, entry: &str, line: &'l str) -> Option<Vec<&'l str>> {
    let expression = grammar["repository"][entry]["match"].as_str().unwrap();
    let captures = Regex::new(expression).unwrap().captures(line)?;
    Some(
        captures
            .iter_pos()
            .skip(1)
            .flatten()
            .map(|(from, to)| &line[from..to])
            .collect(),
    )
}

#[test]
fn every_expression_is_one() {
    let grammar = grammar();
    let expressions = expressions(&grammar);
    assert!(expressions.len() > 20, "{} expressions", expressions.len());
    for expression in expressions {
        assert!(
            Regex::new(expression).is_ok(),
            "{expression}: {:?}",
            Regex::new(expression).err()
        );
    }
}

#[test]
fn a_run_is_coloured_whatever_the_comment_behind_it_says() {
    let grammar = grammar();
    for behind in ["", " # as drawn", " # see: page 3", " # {bay 2} # and: more"] {
        let line = format!("air d1 -> mf port 1{behind}");
        assert_eq!(found(&grammar, "run", &line), Some(vec!["air", "d1"]), "{line}");
    }
    for no_run in ["ground x : y", "power x { note \"x\" }"] {
        assert_eq!(found(&grammar, "run", no_run), None, "{no_run}");
    }
}

#[test]
fn the_words_within_a_statement_are_the_languages_own() {
    let grammar = grammar();
    for word in ["with", "then", "expect", "on", "because", "until", "rest", "to"] {
        let line = format!("x {word} y");
        assert_eq!(found(&grammar, "bound", &line), Some(vec![word]), "{line}");
    }
    assert_eq!(found(&grammar, "bound", "x rest-room y to-day"), None);
}
