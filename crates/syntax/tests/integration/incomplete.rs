//! The statement that is being written at a caret.

use drysheath_syntax::{Expected, IncompleteStatement, StatementKind, TokenKind, lex};

fn before(text: &str) -> String {
    let unfinished = IncompleteStatement::read(text, &lex(text)).unwrap();
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
    let unfinished = IncompleteStatement::read(text, &lex(text)).unwrap();
    let Some(StatementKind::Thing(thing)) = unfinished.statement().map(|statement| &statement.kind) else {
        panic!("no thing");
    };
    let branch = thing.block.as_ref().unwrap().fields.last().unwrap();
    let from = branch.block.as_ref().unwrap().fields.last().unwrap();
    assert_eq!(
        unfinished.tree.items(from.items),
        [unfinished.tree.token(unfinished.caret)]
    );
    assert_eq!(unfinished.before_in(from.items), []);
    assert!(!from.damaged);
}

#[test]
fn a_statement_that_nests_too_deep_is_none() {
    let text = "a b { ".repeat(40);
    assert!(IncompleteStatement::read(&text, &lex(&text)).is_none());
}

#[test]
fn the_grammar_says_what_could_follow() {
    use Expected::{
        AcceptedThing, Because, Colon, Date, On, OpenBrace, PartName, PartsFile, Reason, RuleName, ThingKind,
        ThingName, Until,
    };
    for (text, expected) in [
        ("use ", vec![PartsFile]),
        ("part ", vec![ThingKind]),
        ("regulator ", vec![ThingName]),
        ("regulator r1 ", vec![Colon, OpenBrace]),
        ("regulator r1 : ", vec![PartName]),
        ("part regulator r1 : line-two ", vec![OpenBrace]),
        ("regulator r1 line-two ", vec![]),
        ("accept ", vec![RuleName]),
        ("accept dryer-missing ", vec![On]),
        ("accept dryer-missing on ", vec![AcceptedThing]),
        ("accept dryer-missing on d1 ", vec![Because]),
        ("accept dryer-missing on d1 because ", vec![Reason]),
        ("accept dryer-missing on d1 because \"it is new\" ", vec![Until]),
        ("accept dryer-missing on d1 because \"it is new\" until ", vec![Date]),
        ("accept 5 ", vec![]),
        ("reading ", vec![Date]),
    ] {
        assert_eq!(
            IncompleteStatement::read(text, &lex(text)).unwrap().expected(),
            expected,
            "{text:?}"
        );
    }
}
