//! The statement that is being written at a caret.

use drysheath_syntax::{StatementKind, TokenKind, Unfinished, lex};

fn before(text: &str) -> String {
    let unfinished = Unfinished::read(text, &lex(text));
    let words = unfinished
        .before()
        .iter()
        .filter(|token| token.kind != TokenKind::Newline);
    words.map(|token| token.range.of(text)).collect::<Vec<_>>().join(" ")
}

#[test]
fn it_goes_on_where_a_statement_would() {
    for (text, expected) in [
        ("", ""),
        ("air d1 -> ", "air d1 ->"),
        ("air d1 ->\n", "air d1 ->"),
        ("air d1 -> r1\n", ""),
        ("air d1 -> r1\nwire p1 ", "wire p1"),
        ("regulator r1 {\n    set 5 psi\n    ", "regulator r1 { set 5 psi"),
        ("regulator r1 { set 5 psi } ", ""),
        ("set 5 psi } regulator r1 ", "regulator r1"),
    ] {
        assert_eq!(before(text), expected, "{text:?}");
    }
}

#[test]
fn the_word_at_the_caret_stands_where_the_grammar_has_room_for_it() {
    let text = "cable c1 { pairs 5, branch b1 { from ";
    let unfinished = Unfinished::read(text, &lex(text));
    let Some(StatementKind::Thing(thing)) = unfinished.statement().map(|statement| &statement.kind) else {
        panic!("no thing");
    };
    let branch = thing.block.as_ref().unwrap().fields.last().unwrap();
    let from = branch.block.as_ref().unwrap().fields.last().unwrap();
    assert_eq!(from.items, unfinished.caret..unfinished.caret + 1);
    assert!(!from.damaged);
}

#[test]
fn a_statement_that_nests_too_deep_is_none() {
    let text = "a b { ".repeat(40);
    assert!(Unfinished::read(&text, &lex(&text)).statement().is_none());
}
