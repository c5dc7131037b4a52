//! Offices that are judged together are told the same as each alone.

use drysheath_fixture::{county, faults, lowered};
use drysheath_office::{Date, Office};
use drysheath_rules::{Settings, judge, judge_all};

const TODAY: Date = Date {
    year: 2026,
    month: 11,
    day: 25,
};

#[test]
fn offices_have_the_same_results_together_as_alone() {
    let settings = Settings::default();
    let files = [county(), faults()].concat();
    let offices: Vec<Office> = files.iter().map(|(_, text)| lowered(text)).collect();
    let all: Vec<_> = offices.iter().map(|office| (office, &settings)).collect();
    let mut results = 0;
    for ((path, _), (office, together)) in files.iter().zip(offices.iter().zip(judge_all(&all, TODAY))) {
        assert_eq!(together, judge(office, &settings, TODAY), "{path}");
        results += together.0.len();
    }
    assert!(results > 100, "{results}");
}
