//! The results of a run beside those of an earlier one.

use drysheath_fixture::example_and;
use drysheath_report::{Baseline, Extent, Results, counts, sarif};
use drysheath_rules::example::OFFICE;
use drysheath_rules::{Finding, Level};
use serde_json::Value;

use super::view::Computed;

#[test]
fn results_that_an_earlier_run_had_and_this_one_has_not_are_gone() {
    let before = Computed::new(&example_and("wire nobody -> tb pair 5\n"));
    let log = sarif(
        &Results::new(before.analysis.findings(), &before.texts, None),
        Extent::Full,
    );
    let baseline = Baseline::read(&log).unwrap();
    let again = Results::new(before.analysis.findings(), &before.texts, Some(&baseline));
    assert_eq!((again.gone(), again.fresh().count()), (&[][..], 0));
    let after = Computed::new(OFFICE);
    let now = Results::new(after.analysis.findings(), &after.texts, Some(&baseline));
    let gone: Vec<&str> = now.gone().iter().map(|known| known.rule.as_str()).collect();
    assert_eq!(gone, ["name-unknown"]);
}

#[test]
fn a_log_has_no_more_results_than_hosts_take_and_keeps_the_gravest() {
    const MOST: usize = 25_000;
    let computed = Computed::new(&example_and("wire nobody -> tb pair 5\n"));
    let one = computed.analysis.findings().first().unwrap();
    let many: Vec<Finding> = (0..MOST + 10)
        .map(|at| {
            let mut finding = one.clone();
            // The last of them are the gravest.
            finding.level = if at < MOST { Level::Note } else { Level::Error };
            finding
        })
        .collect();
    let results = Results::new(&many, &computed.texts, None);
    let read = |log: &str| -> Value { serde_json::from_str(log).unwrap() };
    let log = sarif(&results, Extent::Brief);
    let told = read(&log);
    let kept = told["runs"][0]["results"].as_array().unwrap();
    assert_eq!(kept.len(), MOST);
    assert_eq!(kept.iter().filter(|result| result["level"] == "error").count(), 10);
    assert_eq!(told["runs"][0]["properties"]["resultsLeftOut"], 10);
    let said = &told["runs"][0]["invocations"][0]["toolExecutionNotifications"][0]["message"]["text"];
    assert!(said.as_str().unwrap().starts_with("10 results left out"), "{said}");
    // What was cut would seem new against such a log.
    let refused = Baseline::read(&log).map(|_| ()).unwrap_err();
    assert!(refused.contains("--all"), "{refused}");
    let log = sarif(&results, Extent::Full);
    assert_eq!(read(&log)["runs"][0]["results"].as_array().unwrap().len(), MOST + 10);
    let baseline = Baseline::read(&log).unwrap();
    let again = Results::new(&many, &computed.texts, Some(&baseline));
    assert_eq!(again.fresh().count(), 0);
}

#[test]
fn results_of_one_rule_in_one_file_are_counted_together() {
    let computed = Computed::new(&example_and("wire nobody -> tb pair 5\nwire noone -> tb pair 6\n"));
    let told = counts(&Results::new(computed.analysis.findings(), &computed.texts, None));
    let row = told.lines().find(|line| line.contains("name-unknown")).unwrap();
    let cells: Vec<&str> = row.split_whitespace().collect();
    assert_eq!(cells, ["error", "name-unknown", "2", "1", "0"], "{told}");
}
