//! The messages of every rule on its own failing example, one file for each family, to be read and reviewed.
//! `UPDATE_EXPECT=1 cargo test -p drysheath-rules messages` rewrites the files.

use std::collections::BTreeMap;
use std::fmt::Write;
use std::path::Path;

use drysheath_rules::example::check_for;
use drysheath_rules::{RULES, Settings};
use expect_test::expect_file;

#[test]
fn messages_are_the_recorded_ones() {
    let mut families: BTreeMap<&str, String> = BTreeMap::new();
    for rule in RULES {
        let Some(example) = rule.example else { continue };
        let outcome = check_for(rule, example.failing, &Settings::default());
        let out = families.entry(rule.family.word()).or_default();
        writeln!(out, "{}", rule.name()).unwrap();
        for finding in &outcome.findings {
            let written = |place: drysheath_text::Place| {
                let text = &outcome.texts[place.file.0 as usize];
                let words: Vec<&str> = place.range.of(text).split_whitespace().collect();
                words.join(" ")
            };
            writeln!(out, "    {}", finding.message).unwrap();
            writeln!(out, "    at `{}`", written(finding.place)).unwrap();
            for label in &finding.related {
                writeln!(out, "    {} `{}`", label.label.as_str(), written(label.place)).unwrap();
            }
            if let Some(fix) = &finding.fix {
                writeln!(out, "    fix: {}", fix.title).unwrap();
            }
        }
    }
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/integration/messages");
    for (family, text) in &families {
        expect_file![folder.join(family).with_extension("txt")].assert_eq(text);
    }
    assert_eq!(
        std::fs::read_dir(folder).unwrap().count(),
        families.len(),
        "a file of no family"
    );
}
