use super::order::Ladder;
use super::reading::readings;
use crate::figures::{below, report_said};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::LimitsOutOfOrder,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Spans,
    summary: "Limits and the normal reading do not rise in order.",
    explanation: "From low-low over low, the normal reading and high to high-high, each must lie above the one before. \
                  Otherwise an alarm stands while all is well, or the grave alarm comes before the mild one. Only those \
                  that are declared and lie in the span are compared, and the first that is out of order is shown.",
    source: Source::Derived("what the levels mean"),
    example: Some(Example {
        failing: r"
pressure-sensor p1 {
    span  0 .. 15 psi
    step  0.1 psi
    error 0.2 psi
    normal 10 psi
    proof 30 psi
    limit low 10.1 psi major deadband 0.3 psi
#   ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
}
",
        passing: r"
pressure-sensor p1 {
    span  0 .. 15 psi
    step  0.1 psi
    error 0.2 psi
    normal 10 psi
    proof 30 psi
    limit low 9.7 psi major deadband 0.3 psi
}
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for reading in readings(office) {
        let Some((lower, upper)) = Ladder::of(&reading, office).first_disorder() else {
            continue;
        };
        // Of a limit and the normal reading, the limit is the one that was chosen.
        let (shown, other, wanted) = if upper.level.is_none() {
            (lower, upper, "below")
        } else {
            (upper, lower, "above")
        };
        let relation = if below(lower.figure, upper.figure) || below(upper.figure, lower.figure) {
            format!("is not {wanted} its {}, {}", other.name(), other.quantity)
        } else {
            format!("is the same as its {}", other.name())
        };
        let message = format!(
            "the {} of {}, {}, {relation}",
            shown.name(),
            reading.name(),
            shown.quantity
        );
        report_said(sink, office, reading.id, shown.place, message)
            .about([reading.subject()])
            .related(other.place, format!("the {}", other.name()))
            .help("they rise in this order: low-low, low, normal, high, high-high");
    }
}
