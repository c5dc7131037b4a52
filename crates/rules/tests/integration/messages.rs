//! The messages of every rule on its own failing example, or where it has none on a case made here, one file for each family, to be read
//! and reviewed.
//! `UPDATE_EXPECT=1 cargo test -p drysheath-rules messages` rewrites the files.

use std::collections::BTreeMap;
use std::fmt::Write;
use std::path::Path;
use std::sync::Arc;

use drysheath_office::ProblemId;
use drysheath_rules::example::{check, check_for};
use drysheath_rules::{Finding, RULES, Rule, RuleId, Settings, of_problems};
use drysheath_syntax::{LARGEST_TEXT, parse};
use drysheath_text::FileId;
use expect_test::expect_file;

/// The results of a case for a rule that is about no office, or needs settings, and so has no example.
fn without_example(rule: &Rule) -> (Vec<Finding>, Vec<Arc<str>>) {
    let settings = Settings::default();
    let of_settings = |text: &str| {
        let (_, problems) = Settings::of_repository(text);
        (of_problems(&problems, FileId(0), &settings), vec![text.into()])
    };
    match rule.id {
        RuleId::LanguageMissing => of_settings(""),
        RuleId::SettingsUnreadable => of_settings("language = 1\n\n[levels]\nair-mising = \"off\"\n"),
        RuleId::RecordNotListed => {
            let (settings, _) = Settings::read("[records]\nnames = [\"serial\", \"asset\"]\n");
            let records = "block tb { pairs 25, record serail \"A-1\", record warranty \"2030\" }\n";
            let outcome = check(records, &settings);
            (outcome.findings, outcome.texts)
        }
        RuleId::TextNotUtf8 => {
            let content = drysheath_disk::read_from(&b"office elm { note \"Caf\xe9\" }\n"[..], 0).unwrap();
            let problems: Vec<_> = content.problem.into_iter().collect();
            (of_office(&problems), vec![content.text])
        }
        RuleId::TextTooLarge => {
            let text = " ".repeat(LARGEST_TEXT + 1);
            (of_office(&parse(&text).problems), vec![text.into()])
        }
        _ => panic!("{} has neither an example nor a case here", rule.name()),
    }
}

fn of_office(problems: &[drysheath_syntax::Problem<drysheath_syntax::ProblemId>]) -> Vec<Finding> {
    let of_office = |problem: &drysheath_syntax::Problem<_>| problem.clone().with_id(ProblemId::from(problem.id));
    let problems: Vec<_> = problems.iter().map(of_office).collect();
    of_problems(&problems, FileId(0), &Settings::default())
}

#[test]
fn messages_are_the_recorded_ones() {
    let mut families: BTreeMap<&str, String> = BTreeMap::new();
    for rule in RULES {
        let (findings, texts) = match rule.example {
            Some(example) => {
                let outcome = check_for(rule, example.failing, &Settings::default());
                (outcome.findings, outcome.texts)
            }
            None => without_example(rule),
        };
        let out = families.entry(rule.family.word()).or_default();
        writeln!(out, "{}", rule.name()).unwrap();
        for finding in &findings {
            let written = |place: drysheath_text::Place| {
                let text = &texts[place.file.0 as usize];
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
