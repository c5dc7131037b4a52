//! Properties of the formatter on any text.

use drysheath_syntax::{formatted, lex, parse};
use proptest::prelude::*;
use proptest::sample::Index;

use super::texts::{STATEMENTS, change, changes, part_of_example, statements};
use super::{EXAMPLE, check};

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 1000,
        // A name made longer may be one of the language's own words, which is another matter.
        max_global_rejects: 100_000,
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

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
    fn a_line_moves_no_other(line in 0..EXAMPLE.lines().count(), at in any::<Index>(), longer in "[a-z]{1,30}|[à-ö]{1,30}") {
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
fn lengthen(line: &str, at: Index, more: &str) -> String {
    let ends: Vec<usize> = line
        .char_indices()
        .filter(|(at, char)| char.is_alphabetic() && !line[at + char.len_utf8()..].starts_with(char::is_alphanumeric))
        .map(|(at, char)| at + char.len_utf8())
        .collect();
    if ends.is_empty() {
        return line.to_owned();
    }
    let (before, after) = line.split_at(ends[at.index(ends.len())]);
    format!("{before}{more}{after}")
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
fn of_the_example_cut_between_and_within_tokens() {
    for token in lex(EXAMPLE) {
        for at in [token.range.start, token.range.start.midpoint(token.range.end)] {
            let (before, after) = EXAMPLE.split_at(at as usize);
            check(before);
            check(after);
        }
    }
}

#[test]
fn of_the_example_with_each_sign_gone() {
    let sign = |char: char| !char.is_alphanumeric() && char != ' ';
    for (at, char) in EXAMPLE.char_indices().filter(|(_, char)| sign(*char)) {
        check(&format!("{}{}", &EXAMPLE[..at], &EXAMPLE[at + char.len_utf8()..]));
    }
}
