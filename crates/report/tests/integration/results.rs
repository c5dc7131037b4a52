//! The results of a run beside those of an earlier one.

use drysheath_fixture::example_and;
use drysheath_report::{Baseline, Results, sarif};
use drysheath_rules::example::OFFICE;

use super::view::Computed;

#[test]
fn results_that_an_earlier_run_had_and_this_one_has_not_are_gone() {
    let before = Computed::new(&example_and("wire nobody -> tb pair 5\n"));
    let log = sarif(&Results::new(before.analysis.findings(), &before.texts, None));
    let baseline = Baseline::read(&log).unwrap();
    let again = Results::new(before.analysis.findings(), &before.texts, Some(&baseline));
    assert_eq!((again.gone(), again.fresh().count()), (&[][..], 0));
    let after = Computed::new(OFFICE);
    let now = Results::new(after.analysis.findings(), &after.texts, Some(&baseline));
    let gone: Vec<&str> = now.gone().iter().map(|known| known.rule.as_str()).collect();
    assert_eq!(gone, ["name-unknown"]);
}
