//! Any text is laid out once and for all, keeps its tokens and comments, and means the same.

use drysheath_fixture::{Case, check};
use drysheath_syntax::{TokenKind, formatted, lex, parse};

use crate::bench::{Bench, Drawn};

/// The words of a text: every token but blanks and line ends, comments without the blanks at their end.
fn written(text: &str) -> Vec<&str> {
    let tokens = lex(text).into_iter();
    let solid = tokens.filter(|token| !matches!(token.kind, TokenKind::Space | TokenKind::Newline));
    solid.map(|token| token.range.of(text).trim_end()).collect()
}

/// What the rules say of a text, without places, and without blanks since they quote what is written. Of a text in which something
/// is not understood only which rules they are: a mistake such as `2-48` is explained by its blanks.
fn results(drawn: &Drawn<'_>) -> Vec<String> {
    let findings = drawn.analysis.findings().iter();
    let is_unread = drawn
        .analysis
        .office
        .problems
        .iter()
        .any(|problem| problem.id.leaves_unread());
    let said = findings.map(|finding| {
        let words: String = if is_unread {
            String::new()
        } else {
            finding.message.split_whitespace().collect()
        };
        format!("{} {:?} {words}", finding.rule.name(), finding.level)
    });
    let mut said: Vec<String> = said.collect();
    said.sort();
    said
}

#[test]
fn any_text_is_laid_out_once_and_for_all() {
    let bench = Bench::new();
    check!(22_000).with_type::<Case>().for_each(|case| {
        let (_, text) = bench.corpus.draw(case);
        let once = formatted(&text);
        assert_eq!(formatted(&once), once);
        assert_eq!(written(&once), written(&text), "only blanks and line ends change");
    });
}

#[test]
fn a_text_that_is_laid_out_means_the_same() {
    let bench = Bench::new();
    check!(3500).with_type::<Case>().for_each(|case| {
        let (path, text) = bench.corpus.draw(case);
        // Where braces are missing, the indentation says which statement ends where.
        if !parse(&text).problems.is_empty() {
            return;
        }
        let once = formatted(&text);
        assert_eq!(results(&bench.put(path, &once)), results(&bench.put(path, &text)));
    });
}
