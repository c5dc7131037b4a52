//! How much of the linted files was checked, and why the rest was not.

use drysheath_rules::{Comparison, ComparisonCount, Coverage};
use schemars::JsonSchema;
use serde::Serialize;

use crate::plural::several;

/// How often one comparison was made.
#[derive(JsonSchema, Serialize)]
pub(super) struct CoverageRecord {
    /// The comparison, in one word, such as "minimum-pressure".
    comparison: &'static str,
    /// What is compared with what.
    title: &'static str,
    /// What is compared, such as "sections".
    of: &'static str,
    /// How many of them there are.
    subjects: u32,
    /// Of how many the comparison was made.
    compared: u32,
    /// Why it was not made of the others.
    left_out: Vec<LeftOutRecord>,
}

/// Why a comparison was not made.
#[derive(JsonSchema, Serialize)]
struct LeftOutRecord {
    /// What is lacking, in one word, such as "minimum".
    lacks: &'static str,
    /// The same in a phrase.
    phrase: &'static str,
    /// Of how many it is the first thing lacking.
    subjects: u32,
}

/// How many things nothing was checked of because of their stage.
#[derive(JsonSchema, Serialize)]
pub(super) struct LeftOutByStage {
    /// Things that are only planned.
    planned: u32,
    /// Things that are no longer used.
    disused: u32,
}

/// Number of things left out because of their stage.
pub(super) fn by_stage(coverage: &Coverage) -> LeftOutByStage {
    LeftOutByStage {
        planned: coverage.planned,
        disused: coverage.disused,
    }
}

/// The comparisons that had subjects.
pub(super) fn records(coverage: &Coverage) -> Vec<CoverageRecord> {
    let record = |(comparison, tally): (Comparison, &ComparisonCount)| CoverageRecord {
        comparison: comparison.word(),
        title: comparison.title(),
        of: comparison.subjects(),
        subjects: tally.subjects(),
        compared: tally.compared,
        left_out: tally
            .left_out()
            .map(|(lack, subjects)| LeftOutRecord {
                lacks: lack.word(),
                phrase: lack.phrase(),
                subjects,
            })
            .collect(),
    };
    coverage.tallies().map(record).collect()
}

pub(super) const COLUMNS: [&str; 4] = ["what is compared", "of", "compared", "left out"];

/// The comparisons as table rows.
pub(super) fn rows(coverage: &Coverage) -> Vec<Vec<String>> {
    let row = |(comparison, tally): (Comparison, &ComparisonCount)| {
        let left_out = tally.left_out();
        let left_out: Vec<String> = left_out
            .map(|(lack, subjects)| format!("{subjects} without {}", lack.phrase()))
            .collect();
        vec![
            comparison.title().to_owned(),
            comparison.subjects().to_owned(),
            format!("{} of {}", tally.compared, tally.subjects()),
            left_out.join(", "),
        ]
    };
    coverage.tallies().map(row).collect()
}

/// The total, the comparisons that were not made everywhere, and what was left out. `None` where there was nothing to
/// compare.
pub(super) fn sentence(coverage: &Coverage) -> Option<String> {
    let sentences = [figures(coverage), left_out(coverage)];
    let sentences: Vec<String> = sentences.into_iter().flatten().collect();
    (!sentences.is_empty()).then(|| sentences.join(" "))
}

/// A sentence on things left out because of their stage. `None` where there are none.
fn left_out(coverage: &Coverage) -> Option<String> {
    let counts = [(coverage.planned, "planned"), (coverage.disused, "disused")];
    let counts = counts.into_iter().filter(|(count, _)| *count > 0);
    let things: Vec<String> = counts
        .map(|(count, stage)| several(count as usize, &format!("{stage} thing")))
        .collect();
    (!things.is_empty()).then(|| format!("Left out because of their stage: {}.", things.join(", ")))
}

fn figures(coverage: &Coverage) -> Option<String> {
    let total = coverage.total();
    let subjects = total.subjects();
    if subjects == 0 {
        return None;
    }
    if total.compared == subjects {
        return Some(format!("Checked all {subjects} figures."));
    }
    let incomplete = coverage
        .tallies()
        .filter(|(_, tally)| tally.compared < tally.subjects());
    let incomplete: Vec<String> = incomplete
        .map(|(comparison, tally)| {
            let (compared, subjects) = (tally.compared, tally.subjects());
            format!(
                "{} ({compared} of {subjects} {})",
                comparison.name(),
                comparison.subjects()
            )
        })
        .collect();
    Some(format!(
        "Checked {} of {subjects} figures; incomplete: {}.",
        total.compared,
        incomplete.join(", ")
    ))
}
