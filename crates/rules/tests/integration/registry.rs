//! Every rule: its failing example gives exactly the results that it marks, its passing example gives none, and its fixes
//! remove the result.

use std::collections::BTreeSet;
use std::fmt::Write;
use std::sync::Arc;

use drysheath_rules::example::{Outcome, check, check_for};
use drysheath_rules::{Finding, RULES, Settings};
use drysheath_text::apply;

fn shown(outcome: &Outcome) -> String {
    let mut out = String::new();
    for finding in &outcome.findings {
        let text = &outcome.texts[finding.place.file.0 as usize];
        writeln!(
            out,
            "  {}: `{}`: {}",
            finding.rule.name(),
            finding.place.range.of(text),
            finding.message
        )
        .unwrap();
    }
    out
}

#[test]
fn the_example_office_is_clean() {
    let outcome = check("", &Settings::default());
    assert_eq!(shown(&outcome), "");
}

#[test]
fn names_are_unique_and_read_well() {
    let names: BTreeSet<_> = RULES.iter().map(|rule| rule.name()).collect();
    assert_eq!(names.len(), RULES.len());
    for rule in RULES {
        assert!(
            rule.name()
                .bytes()
                .all(|byte| byte.is_ascii_lowercase() || byte.is_ascii_digit() || byte == b'-'),
            "{}",
            rule.name()
        );
        assert!(
            rule.summary.ends_with('.') && rule.explanation.trim().ends_with('.'),
            "{}",
            rule.name()
        );
    }
}

#[test]
fn failing_examples_give_exactly_what_they_mark() {
    let mut wrong = String::new();
    for rule in RULES {
        let Some(example) = rule.example else { continue };
        let outcome = check_for(rule, example.failing, &Settings::default());
        let places: Vec<_> = outcome.findings.iter().map(|finding| finding.place).collect();
        let other = outcome
            .findings
            .iter()
            .any(|finding| finding.rule.name() != rule.name());
        if places != outcome.marked || places.is_empty() || other {
            writeln!(wrong, "{} gives\n{}", rule.name(), shown(&outcome)).unwrap();
        }
    }
    assert_eq!(wrong, "");
}

#[test]
fn passing_examples_give_nothing() {
    let mut wrong = String::new();
    for rule in RULES {
        let Some(example) = rule.example else { continue };
        let outcome = check_for(rule, example.passing, &Settings::default());
        if !outcome.findings.is_empty() {
            writeln!(wrong, "{} gives\n{}", rule.name(), shown(&outcome)).unwrap();
        }
        assert!(
            outcome.marked.is_empty(),
            "{}: a passing example marks nothing",
            rule.name()
        );
    }
    assert_eq!(wrong, "");
}

#[test]
fn fixes_mend_what_they_say_and_break_nothing() {
    for rule in RULES {
        let Some(example) = rule.example else { continue };
        let before = check_for(rule, example.failing, &Settings::default());
        for finding in &before.findings {
            if let Some(fix) = &finding.fix {
                let mut mended = before.texts.clone();
                let text = &mut mended[finding.place.file.0 as usize];
                *text = apply(text, &fix.edits)
                    .unwrap_or_else(|| panic!("{}: edits overlap", rule.name()))
                    .into();
                let after = check_whole(example.failing, &mended);
                let same =
                    |other: &&Finding| other.rule.name() == finding.rule.name() && other.message == finding.message;
                assert!(
                    after.iter().find(same).is_none(),
                    "{}: the result is still there\n{mended:#?}",
                    rule.name()
                );
                let count = |findings: &[Finding]| findings.len();
                assert!(
                    count(&after) < before.findings.len(),
                    "{}: the fix makes new results\n{after:#?}",
                    rule.name()
                );
            }
        }
    }
}

/// The results of the files of `example`, whose texts are whole as they are.
fn check_whole(example: &str, texts: &[Arc<str>]) -> Vec<Finding> {
    let mut whole = String::new();
    for line in drysheath_rules::example::OFFICE.lines() {
        writeln!(whole, "# without {line}").unwrap();
    }
    let files = example.lines().filter(|line| line.starts_with("# file "));
    for (file, text) in std::iter::once("").chain(files).zip(texts) {
        write!(whole, "{file}\n{text}").unwrap();
    }
    check(&whole, &Settings::default()).findings
}
