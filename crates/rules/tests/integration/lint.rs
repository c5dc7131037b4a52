//! What happens to the results of rules: the limit per file and rule, and acceptances.

use std::fmt::Write;

use drysheath_office::{NoParts, Summary, lower};
use drysheath_rules::example::{TODAY, check};
use drysheath_rules::{Check, Level, RULES, RepositoryInspection, Settings, is_wide, lint_repository};
use drysheath_syntax::parse;
use drysheath_text::FileId;
use rustc_hash::FxHashMap;

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
fn a_name_that_nothing_has_is_one_result_however_many_runs_name_it() {
    let example = "wire p1 -> tc pair 2 -> m1 sensor 2 with 22 awg, 8 m
wire ps1 -> c101 pair 37 -> tc pair 3 -> m1 sensor 3
wire f1 flow -> td pair 1 -> m1 sensor 1
";
    let findings = check(example, &Settings::default()).findings;
    let unknown = findings.iter().filter(|finding| finding.rule.name() == "name-unknown");
    let told: Vec<_> = unknown
        .map(|finding| (finding.message.as_str(), finding.related.len()))
        .collect();
    let expected = [
        ("nothing in this office is named `tc`", 1),
        ("nothing in this office is named `td`", 0),
    ];
    assert_eq!(told, expected);
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
    let stray = "# file offices/birch-lake\noffice birch-lake { title \"Birch Lake\", site \"ELMH01\", elevation 290 m, stage planned }\n\
                 block tc { pairs 10 }\nspare tc pair rest\n";
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
        let repository = RepositoryInspection {
            summaries: &summaries,
            settings: &settings,
            settings_below: &FxHashMap::default(),
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

/// What a rule about reading reports is never right as it is: nothing that follows it is checked.
#[test]
fn no_rule_about_reading_can_be_silenced() {
    const UNDERSTOOD: [&str; 4] = [
        "field-missing",
        "acceptance-expired",
        "acceptance-too-long",
        "acceptance-unneeded",
    ];
    for rule in RULES.iter().filter(|rule| matches!(rule.check, Check::WhileReading)) {
        let name = rule.name();
        let is_understood = UNDERSTOOD.contains(&name);
        assert_eq!(rule.can_be_accepted(), is_understood, "{name}");
        if is_understood {
            continue;
        }
        let lower = [("note", Level::Note), ("warning", Level::Warning)];
        let lower = lower.into_iter().filter(|(_, level)| *level < rule.level);
        for word in lower.map(|(word, _)| word).chain(["off"]) {
            let (settings, problems) = Settings::read(&format!("[levels]\n{name} = \"{word}\"\n"));
            assert_eq!(problems.len(), 1, "{name} = {word}");
            let Some(example) = rule.example else { continue };
            let of_rule = |settings: &Settings| {
                let findings = check(example.failing, settings).findings;
                let own = findings.into_iter().filter(|finding| finding.rule.id == rule.id);
                own.map(|finding| (finding.level, finding.message)).collect::<Vec<_>>()
            };
            assert_eq!(of_rule(&settings), of_rule(&Settings::default()), "{name} = {word}");
        }
        let Some(example) = rule.example.filter(|example| !example.failing.contains("# file ")) else {
            continue;
        };
        let accepted = format!(
            "{}accept {name} on tb because \"it is right\" until 2027-04-30\n",
            example.failing
        );
        let findings = check(&accepted, &Settings::default()).findings;
        assert!(findings.iter().any(|finding| finding.rule.id == rule.id), "{name}");
    }
}

#[test]
fn an_acceptance_that_cannot_be_read_hides_nothing() {
    let lacking = "# without spare tb pair 5\n";
    // A file that ends in a statement that cannot be read may have been cut there.
    let accepted = |rest: &str| format!("{lacking}accept pair-not-said-spare on {rest}\nspare tb pair 25\n");
    let rules = |text: &str| shown(text).into_iter().map(|(rule, _)| rule).collect::<Vec<_>>();
    assert_eq!(rules(lacking), ["pair-not-said-spare"]);
    assert_eq!(rules(&accepted("tb because \"spring\" until 2027-04-30")), [""; 0]);
    for rest in [
        "tb because \"\" until 2027-04-30",
        "tb because \"spring\" until 2027-04-31",
        "tb because until 2027-04-30",
        "tb until 2027-04-30",
        "tz because \"spring\" until 2027-04-30",
    ] {
        let rules = rules(&accepted(rest));
        assert!(
            rules.contains(&"pair-not-said-spare") && rules.len() == 2,
            "{rest}: {rules:?}"
        );
    }
    // In a damaged file the name may be that of a thing that could not be read.
    let open = "dryer d1 { compressor piston, delivers 30 psi, capacity 100 scfh, dew-point -40 degC, \
                contact humidity { healthy open } }\n\
                accept contact-cannot-report-cut-pair on dl because \"\" until 2000-01-01\n}\n";
    let shown = rules(open);
    assert!(shown.contains(&"contact-cannot-report-cut-pair"), "{shown:?}");
}

#[test]
fn what_several_things_of_a_part_do_not_say_is_one_result() {
    let part = "part pressure-sensor px { step 0.1 psi, error 0.2 psi, proof 30 psi }\n";
    let mut things = String::new();
    for number in 1..=6 {
        writeln!(things, "pressure-sensor x{number} : px {{ at c101 {number}00 m }}").unwrap();
    }
    let findings = check(&format!("{part}{things}"), &Settings::default()).findings;
    let missing: Vec<_> = findings
        .iter()
        .filter(|finding| finding.rule.name() == "field-missing")
        .collect();
    let [only] = missing.as_slice() else {
        panic!("{missing:#?}")
    };
    assert_eq!(
        only.message,
        "pressure-sensor `x1` has no `span`, nor have `x2`, `x3`, `x4`, `x5` and `x6`"
    );
    // One of them is known already: the others still count.
    let accepted = format!("{part}{things}accept field-missing on x1 because \"on order\" until 2027-04-30\n");
    let findings = check(&accepted, &Settings::default()).findings;
    let left: Vec<_> = findings
        .iter()
        .filter(|finding| finding.rule.name() == "field-missing")
        .collect();
    assert!(
        matches!(left.as_slice(), [only] if only.message.contains("`x2` has no")),
        "{left:#?}"
    );
}

#[test]
fn a_record_that_the_settings_do_not_list_is_a_slip() {
    let settings = Settings::read("[records]\nnames = [\"serial\", \"asset\"]\n").0;
    let example = "block tb { pairs 25, record serial \"A-1\", record serail \"A-2\", record warranty \"2030\" }\n\
                   part regulator two { set 5 psi, record aset \"1\" }\nregulator r1 : two { set 10 psi, differential 5 psi, \
                   inlet-max 60 psi, flow-max 80 scfh, relief 15 psi }\n";
    let outcome = check(example, &settings);
    let told: Vec<_> = outcome
        .findings
        .iter()
        .map(|finding| {
            let fix = finding.fix.as_ref().map(|fix| fix.title.as_str());
            (finding.rule.name(), finding.message.as_str(), fix)
        })
        .collect();
    assert_eq!(
        told,
        [
            (
                "record-not-listed",
                "drysheath.toml lists no record named `serail`",
                Some("Write `serial`")
            ),
            (
                "record-not-listed",
                "drysheath.toml lists no record named `warranty`",
                None
            ),
            (
                "record-not-listed",
                "drysheath.toml lists no record named `aset`",
                Some("Write `asset`")
            ),
        ]
    );
    assert_eq!(check(example, &Settings::default()).findings, []);
}
