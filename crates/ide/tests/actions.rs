//! What can be done about results, and what that leaves behind.
#![allow(
    missing_docs,
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::expect_used
)]

mod desk;

use std::collections::BTreeMap;

use desk::{Desk, caret, example_and, example_with, folder};
use drysheath_ide::{Action, ActionKind, actions, fixes_of_file};
use drysheath_rules::{Finding, RULES, example};
use drysheath_text::{TextRange, apply};

fn at_caret(marked: &str) -> (String, Vec<Action>) {
    let (text, at) = caret(marked);
    let mut desk = Desk::of(&text);
    let analysis = desk.analysis.clone();
    let actions = actions(&mut desk.world, &analysis, TextRange::empty(at));
    (text, actions)
}

fn titles(marked: &str) -> Vec<String> {
    at_caret(marked).1.into_iter().map(|action| action.title).collect()
}

/// The text after the action whose title starts so.
fn done(marked: &str, title: &str) -> String {
    let (text, actions) = at_caret(marked);
    let action = actions.iter().find(|action| action.title.starts_with(title));
    let all: Vec<_> = actions.iter().map(|action| &action.title).collect();
    let action = action.unwrap_or_else(|| panic!("{title} is not among {all:?}"));
    apply(&text, &action.edits).unwrap()
}

fn open(findings: &[Finding]) -> Vec<(&'static str, String)> {
    let open = findings.iter().filter(|finding| finding.accepted.is_none());
    let mut open: Vec<_> = open
        .map(|finding| (finding.rule.name, finding.message.clone()))
        .collect();
    open.sort();
    open
}

/// Tries every action on every result of a file. Counts what was tried, by rule and title.
fn try_all(path: &str, text: &str, others: &[(String, String)], tried: &mut BTreeMap<String, u32>) {
    let mut desk = Desk::new(path, text, others);
    let analysis = desk.analysis.clone();
    let before = desk.world.findings(analysis.file);
    for finding in before.iter().filter(|finding| finding.accepted.is_none()) {
        for action in actions(&mut desk.world, &analysis, finding.place.range) {
            let Some(mended) = action.mends.first() else { continue };
            let after = apply(text, &action.edits).unwrap_or_else(|| panic!("{path}: {}", action.title));
            let desk = Desk::new(path, &after, others);
            let (now, was) = (open(&desk.world.findings(desk.analysis.file)), open(&before));
            let rule = mended.rule.name;
            let own = mended.fix.as_ref().is_some_and(|fix| fix.title == action.title);
            *tried
                .entry(format!(
                    "{rule}: {:?}{}",
                    action.kind,
                    if own { "" } else { ", generated" }
                ))
                .or_default() += 1;
            let count = |results: &[(&str, String)]| {
                results
                    .iter()
                    .filter(|result| result.0 == rule && result.1 == mended.message)
                    .count()
            };
            assert!(
                count(&now) < count(&was),
                "{path}: {} leaves {}\n{after}",
                action.title,
                mended.message
            );
            let is_new = |result: &&(&str, String)| {
                !was.contains(result) && !(rule == "frame-ground-missing" && result.0 == "ground-run-unsized")
            };
            let new: Vec<_> = now.iter().filter(is_new).collect();
            // The language's own fixes may bring to light what could not be read before.
            let is_reading = mended.rule.family == drysheath_rules::Family::Language;
            assert!(
                new.is_empty() || is_reading,
                "{path}: {} brings {new:?}\n{after}",
                action.title
            );
        }
    }
}

#[test]
fn every_action_mends_what_it_says_in_the_faults() {
    let files = folder("faults");
    let mut tried = BTreeMap::new();
    let parts: Vec<_> = files
        .iter()
        .filter(|(path, _)| path.starts_with("parts/"))
        .cloned()
        .collect();
    for (path, text) in &files {
        try_all(path, text, &parts, &mut tried);
    }
    for (what, count) in &tried {
        println!("{count:4} {what}");
    }
}

#[test]
fn every_action_mends_what_it_says_in_the_examples() {
    let mut tried = BTreeMap::new();
    for rule in RULES.iter() {
        let Some(given) = rule.example.filter(|it| !it.failing.contains("# file ")) else {
            continue;
        };
        let text = example::compose(example::OFFICE, given.failing);
        try_all("office.office", &text, &[], &mut tried);
    }
    for (what, count) in &tried {
        println!("{count:4} {what}");
    }
}
