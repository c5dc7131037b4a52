use drysheath_prediction::{MissingInput, NeededFor};
use drysheath_text::Place;

use crate::coverage::MissingFigure;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::listed::listed;
use crate::precedence::{Scope, Subject};
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::spans::missing_for_leaks;

pub(crate) static RULE: Rule = Rule {
    id: RuleId::PredictionIncomplete,
    level: Level::Note,
    while_planned: None,
    yields_to: &[(Scope::Place, &[RuleId::FieldMissing, RuleId::SupplyStatedTwice])],
    family: Family::Records,
    summary: "The file does not say enough to compute all pressures, voltages and loops.",
    explanation: "From a complete record the checker computes what every sensor should read, every load should see and every loop should \
                  measure, and holds limits, spans and readings against that. What the file does not say is not guessed: \
                  whatever depends on it is left out. The note names each thing that is missing, once for the whole office. Add it \
                  when you know it; until then this note is the only result. Nothing is said of an office that is only planned.",
    source: Source::Language,
    example: Some(Example {
        failing: r"
  air mf port 1 -> c101 with 3/8 in tube, 3 m
# ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
",
        passing: r"
air mf port 2 -> p1 with 1/4 in tube
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    const SHOWN: usize = 6;
    let office = inspection.office;
    // In a planned office, unknown figures are not gaps.
    let gaps = inspection.prediction.missing.iter().filter(|_| !office.is_planned());
    // A missing input of another office is reported there, and one of a route by one office only.
    let is_told_elsewhere = |gap: &MissingInput| {
        let mut routes = office.placed.iter().filter(|placed| placed.is_route());
        let of_route = office.placed_at(gap.range).filter(|placed| placed.is_route());
        routes.any(|route| route.name == gap.range) || of_route.is_some_and(|route| office.is_reported_elsewhere(route))
    };
    let gaps: Vec<&MissingInput> = gaps.filter(|gap| !is_told_elsewhere(gap)).collect();
    let Some(first) = gaps.first() else { return };
    let mut unlocked: Vec<NeededFor> = gaps.iter().map(|gap| gap.needed_for).collect();
    unlocked.sort_unstable();
    unlocked.dedup();
    let unlocked: Vec<_> = unlocked.into_iter().map(NeededFor::phrase).collect();
    // One line of which it is not known what it loses leaves out all that is joined with it.
    let for_leaks = missing_for_leaks(inspection);
    let lets = MissingFigure::Leakage
        .note()
        .filter(|_| gaps.iter().any(|gap| for_leaks.contains(gap)));
    let lets = lets.map_or_else(String::new, |note| format!(", and to check {}", note.lets_check));
    let mut missing: Vec<&str> = gaps.iter().take(SHOWN).map(|gap| gap.what.as_str()).collect();
    let more = format!("{} more", gaps.len().saturating_sub(SHOWN));
    if gaps.len() > SHOWN {
        missing.push(&more);
    }
    let message = format!("the file does not say {}", listed(&missing));
    let file = office.file;
    let finding = sink.report(first.on, first.range, message);
    for MissingInput { range, what, .. } in gaps.iter().take(SHOWN).skip(1) {
        finding.related(Place { file, range: *range }, what.clone());
    }
    for MissingInput { range, .. } in gaps.iter().skip(1) {
        finding.and_about([Subject::Place(Place { file, range: *range })]);
    }
    finding.help(format!("needed to compute {}{lets}", listed(&unlocked)));
}
