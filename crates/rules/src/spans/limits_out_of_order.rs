use drysheath_office::{Fields, LimitLevel, Office};

use super::reading::{Reading, readings};
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
    summary: "Limits and the normal reading do not rise in order, or their severities do not.",
    explanation: "From low-low over low, the normal reading and high to high-high, each must lie above the one before. \
                  Otherwise an alarm is on while all is well, or the grave alarm comes before the mild one. Only those \
                  that are declared and lie in the span are compared, and the first that is out of order is shown. Low-low is \
                  worse than low and high-high worse than high, so neither may have the lighter severity: whoever is called by \
                  severity would let the worse alarm wait.",
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
    for reading in readings(inspection) {
        let Some((lower, upper)) = reading.limit_order().first_disorder() else {
            continue;
        };
        // Of a limit and the normal reading, the limit was chosen.
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
    for reading in readings(inspection) {
        severities(&reading, office, sink);
    }
}

/// Reports two limits on one side where the outer one has the lighter severity.
fn severities(reading: &Reading<'_>, office: &Office, sink: &mut Sink<'_>) {
    let find = |level| reading.fields.limits().find(|(limit, _)| limit.level == level);
    for (outer, inner) in [
        (LimitLevel::LowLow, LimitLevel::Low),
        (LimitLevel::HighHigh, LimitLevel::High),
    ] {
        let Some(((outer, place), (inner, other))) = find(outer).zip(find(inner)) else {
            continue;
        };
        let Some((light, grave)) = outer.severity.zip(inner.severity) else {
            continue;
        };
        // The gravest severity comes first.
        if light > grave {
            let message = format!(
                "the {} limit of {} is {}, and its {} limit is {}: the worse alarm has the lighter severity",
                outer.level.word(),
                reading.name(),
                light.word(),
                inner.level.word(),
                grave.word()
            );
            report_said(sink, office, reading.id, place, message)
                .related(other, format!("the {} limit is {}", inner.level.word(), grave.word()))
                .help(format!("make it at least {}", grave.word()));
        }
    }
}
