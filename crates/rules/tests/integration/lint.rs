//! What happens to the results of rules: the limit per file and rule, and acceptances.

use std::fmt::Write;

use drysheath_office::{NoParts, Summary, lower};
use drysheath_rules::example::{TODAY, check};
use drysheath_rules::{Repository, Settings, is_wide, lint_repository};
use drysheath_syntax::parse;
use drysheath_text::FileId;

fn shown(example: &str) -> Vec<(&'static str, String)> {
    let findings = check(example, &Settings::default()).findings;
    findings
        .into_iter()
        .map(|finding| (finding.rule.name(), finding.message))
        .collect()
}

#[test]
fn one_rule_says_no_more_than_fifty_things_of_a_file() {
    let mut example = String::new();
    for pair in 101..=160 {
        writeln!(example, "spare tb pair {pair}").unwrap();
    }
    let shown = shown(&example);
    assert_eq!(shown.len(), 51);
    let last = "from here on this file has 10 more results of spare-out-of-range";
    assert_eq!(shown.last().map(|(_, message)| message.as_str()), Some(last));
}

#[test]
fn a_missing_fact_can_be_accepted() {
    let lacking = "block tc { pins no }\n";
    let accepted = "accept field-missing on tc because \"to be counted on site\" until 2027-01-31\n";
    assert_eq!(shown(lacking).len(), 1);
    assert_eq!(shown(&(lacking.to_owned() + accepted)), []);
}

#[test]
fn what_was_not_understood_cannot_be_accepted() {
    let unknown = "block tc { pairs 10, colour red }\n";
    let accepted = "accept field-unknown on tc because \"it is red\" until 2027-01-31\n";
    let rules = |text: &str| shown(text).into_iter().map(|(rule, _)| rule).collect::<Vec<_>>();
    assert_eq!(rules(unknown), ["field-unknown"]);
    assert_eq!(
        rules(&(unknown.to_owned() + accepted)),
        ["field-unknown", "acceptance-void"]
    );
}

#[test]
fn an_acceptance_of_a_wide_rule_holds_for_its_own_thing() {
    let stray = "# file offices/birch-lake\noffice birch-lake { title \"Birch Lake\", site \"ELMH01\", elevation 290 m, stage planned }\n";
    let accepted = "accept site-code-twice on birch-lake because \"one building, two plants\" until 2027-01-31\n";
    assert_eq!(shown(stray).len(), 1);
    assert_eq!(shown(&(stray.to_owned() + accepted)), []);
    let needless = "accept site-code-twice on elm-hollow because \"one building, two plants\" until 2027-01-31\n";
    assert_eq!(
        shown(needless).first().map(|(rule, _)| *rule),
        Some("acceptance-unneeded")
    );
}

#[test]
fn a_part_is_unused_only_in_a_whole_repository() {
    let text = "part block field-block { pairs 10 }\n";
    let office = lower(FileId(0), "parts/blocks", text.into(), &parse(text), &NoParts);
    let summaries = [Summary::of(&office, is_wide).into()];
    let count = |whole| {
        let settings = Settings::default();
        let repository = Repository {
            summaries: &summaries,
            settings: &settings,
            whole,
        };
        lint_repository(&repository, TODAY).len()
    };
    assert_eq!((count(true), count(false)), (1, 0));
}

#[test]
fn a_count_that_cannot_be_meant_is_refused_wherever_it_is_written() {
    for statement in [
        "block t9 { pairs 4294967295 }",
        "block t9 { pairs 5001 }",
        "spare tb pair 1 .. 4294967295",
        "wire ps1 -> tb pair 4294967297 -> m1 sensor 1",
    ] {
        let results = shown(statement);
        assert!(
            results
                .iter()
                .any(|(rule, message)| *rule == "value-unreadable" && message.contains("from 1 to ")),
            "{statement}: {results:?}"
        );
    }
}
