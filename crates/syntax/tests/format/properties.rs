//! What holds of any text.

use drysheath_syntax::{formatted, parse};
use proptest::prelude::*;

use crate::texts::{STATEMENTS, change, changes, part_of_example, statements};
use crate::{EXAMPLE, check};

proptest! {
    #![proptest_config(ProptestConfig { cases: 2000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn of_statements(text in statements()) {
        check(&text);
    }

    #[test]
    fn of_damaged_statements(text in statements(), changes in changes()) {
        check(&change(&text, &changes));
    }

    #[test]
    fn of_the_example_damaged(text in part_of_example(), changes in changes()) {
        check(&change(&text, &changes));
    }

    #[test]
    fn of_any_text(text in r#"([ \t\r\n{},:#"a-c0-9é€\x{feff}-]|->|\.\.|air |with|\\){0,60}"#) {
        check(&text);
    }

    /// One line becomes longer: the others come out as before.
    #[test]
    fn a_line_moves_no_other(line in 0..EXAMPLE.lines().count(), at in 0.0..1.0_f64, longer in "[a-z]{1,30}|[é-ü]{1,30}") {
        let mut lines: Vec<String> = EXAMPLE.lines().map(str::to_owned).collect();
        let changed = lengthen(&lines[line], at, &longer);
        lines[line] = changed;
        let text = lines.join("\n");
        prop_assume!(parse(&text).statements.iter().all(|statement| !statement.damaged));
        let before = formatted(EXAMPLE);
        let after = formatted(&text);
        prop_assert_eq!(before.lines().count(), after.lines().count());
        for (number, (one, other)) in before.lines().zip(after.lines()).enumerate() {
            prop_assert!(number == line || one == other, "{}: {:?} became {:?}", number + 1, one, other);
        }
    }
}

/// Puts `more` at the end of one of the words of `line`.
fn lengthen(line: &str, at: f64, more: &str) -> String {
    let ends: Vec<usize> = line
        .char_indices()
        .filter(|(at, char)| char.is_alphabetic() && !line[at + char.len_utf8()..].starts_with(char::is_alphanumeric))
        .map(|(at, char)| at + char.len_utf8())
        .collect();
    match ends.get((at * ends.len() as f64) as usize) {
        Some(end) => format!("{}{more}{}", &line[..*end], &line[*end..]),
        None => line.to_owned(),
    }
}

#[test]
fn of_every_statement_alone_and_before_every_other() {
    for one in STATEMENTS {
        check(one);
        for other in STATEMENTS {
            check(&format!("{one}\n{other}"));
            check(&format!("  {one} {other}\r\n"));
        }
    }
}

#[test]
fn of_the_example_cut_anywhere() {
    for (at, _) in EXAMPLE.char_indices() {
        check(&EXAMPLE[..at]);
        check(&EXAMPLE[at..]);
    }
}

#[test]
fn of_the_example_with_each_character_gone() {
    for (at, char) in EXAMPLE.char_indices() {
        check(&format!("{}{}", &EXAMPLE[..at], &EXAMPLE[at + char.len_utf8()..]));
    }
}
