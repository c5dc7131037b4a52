//! In generated offices with faults, too, switching a rule off, lowering it or accepting its results takes away no other rule's
//! result. The county and the files of faults are tried where the rules are.
#![allow(missing_docs, clippy::unwrap_used)]

use std::collections::BTreeSet;
use std::fmt::Write;

use drysheath_office::{Date, Office, PartsInMemory, lower};
use drysheath_rules::{Finding, Settings, lint};
use drysheath_syntax::parse;
use drysheath_text::FileId;
use drysheath_xtask::county::{LINES, Options, SETTINGS, office, shared_files};

const TODAY: Date = Date {
    year: 2026,
    month: 11,
    day: 25,
};
const UNTIL: &str = "2026-12-31";
const OFFICES: u32 = 60;

#[test]
fn no_rule_takes_another_one_s_results_with_it() {
    let options = Options {
        offices: OFFICES,
        seed: 7,
        lines: LINES,
        faults: true,
    };
    let offices: Vec<_> = (0..OFFICES).map(|number| office(&options, number)).collect();
    let parts = shared_files(&offices);
    let shelf = PartsInMemory::new(
        parts
            .iter()
            .map(|(path, text)| (FileId(1), path.trim_end_matches(".office"), text.as_str())),
    );
    let mut taken = String::new();
    for office in offices.iter().filter(|office| !office.expected.is_empty()) {
        let lowered = |text: &str| lower(FileId(0), "office", text.into(), &parse(text), &shelf);
        let as_it_is = lowered(&office.text);
        let whole = results(&as_it_is, "");
        let rules: BTreeSet<_> = whole.iter().map(|finding| finding.rule.id).collect();
        for rule in rules.iter().map(|id| id.rule()).filter(|rule| rule.can_be_accepted()) {
            let on: BTreeSet<_> = whole
                .iter()
                .filter(|finding| finding.rule.id == rule.id)
                .filter_map(|finding| finding.on)
                .collect();
            let mut text = office.text.clone();
            for thing in &on {
                let name = as_it_is.name(*thing);
                writeln!(
                    text,
                    "\naccept {} on {name} because \"tried\" until {UNTIL}",
                    rule.name()
                )
                .unwrap();
            }
            // A rule of the language cannot be switched off.
            let word = if rule.can_be_switched_off() { "off" } else { "note" };
            let ways = [
                (word, results(&as_it_is, &format!("{} = \"{word}\"", rule.name()))),
                ("a note", results(&as_it_is, &format!("{} = \"note\"", rule.name()))),
                ("accepted", results(&lowered(&text), "")),
            ];
            for (how, left) in &ways {
                let others = whole.iter().filter(|finding| finding.rule.id != rule.id);
                for lost in others.filter(|lost| !left.iter().any(|finding| is_same(finding, lost))) {
                    writeln!(
                        taken,
                        "{}: {} {how} takes {}: {}",
                        office.path,
                        rule.name(),
                        lost.rule.name(),
                        lost.message
                    )
                    .unwrap();
                }
            }
        }
    }
    assert_eq!(taken, "");
}

fn results(office: &Office, levels: &str) -> Vec<Finding> {
    let (settings, problems) = Settings::read(&format!("{SETTINGS}\n[levels]\n{levels}\n"));
    assert_eq!(problems, []);
    lint(office, &settings, TODAY)
}

fn is_same(one: &Finding, other: &Finding) -> bool {
    one.rule.id == other.rule.id
        && one.place == other.place
        && one.message == other.message
        && one.level == other.level
        && one.accepted.is_none() == other.accepted.is_none()
}
