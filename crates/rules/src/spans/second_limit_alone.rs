use drysheath_office::{Fields, Limit, LimitLevel};

use super::reading::{Reading, readings};
use crate::figures::{below, report_said};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::supply::sources;

pub(crate) static RULE: Rule = Rule {
    id: RuleId::SecondLimitAlone,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[],
    family: Family::Spans,
    summary: "A sensor has a low-low or high-high limit without the milder one before it.",
    explanation: "A low-low limit is the second alarm, after a low one, and a high-high limit the second after a high one. Alone, \
                  the first alarm that anybody gets is the one for the last stage. Either it is meant as the first alarm \
                  and is called `low` or `high`, or the first is missing. The milder limit may as well be that of another sensor or \
                  switch at the same place.",
    source: Source::Derived("what the levels mean"),
    example: Some(Example {
        failing: r"
pressure-sensor p1 {
    span  0 .. 15 psi
    step  0.1 psi
    error 0.2 psi
    normal 10 psi
    proof 30 psi
    limit low-low 8 psi major deadband 0.3 psi
#   ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
}
",
        passing: r"
pressure-sensor p1 {
    span  0 .. 15 psi
    step  0.1 psi
    error 0.2 psi
    normal 10 psi
    proof 30 psi
    limit low 8.5 psi minor deadband 0.3 psi
    limit low-low 8 psi major deadband 0.3 psi
}
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for reading in readings(inspection).filter(|reading| !office.thing(reading.id).damaged) {
        let find = |level| reading.fields.limits().find(|(limit, _)| limit.level == level);
        for (outer, inner) in [
            (LimitLevel::LowLow, LimitLevel::Low),
            (LimitLevel::HighHigh, LimitLevel::High),
        ] {
            let (Some((limit, place)), None) = (find(outer), find(inner)) else {
                continue;
            };
            if has_milder_beside(inspection, &reading, limit, inner) {
                continue;
            }
            let (outer, inner) = (outer.word(), inner.word());
            let message = format!(
                "{} has a {outer} limit, {}, and no {inner} limit that trips before it",
                reading.name(),
                limit.value
            );
            let add = if reading.is_switch {
                format!("add a second switch with the {inner} limit")
            } else {
                format!("add the {inner} limit")
            };
            report_said(sink, office, reading.id, place, message)
                .help(format!("call it `{inner}` if it is meant as the first alarm, or {add}"));
        }
    }
}

/// Whether another device at the same place has the milder limit, and it trips before `limit`.
fn has_milder_beside(inspection: &Inspection<'_>, reading: &Reading<'_>, limit: &Limit, milder: LimitLevel) -> bool {
    let office = inspection.office;
    let figure = office.figure(limit.value);
    let trips_before = |other: &Limit| {
        let other = office.figure(other.value);
        if milder.is_low() {
            below(figure, other)
        } else {
            below(other, figure)
        }
    };
    let mut others =
        readings(inspection).filter(|other| other.id != reading.id && other.dimension == reading.dimension);
    others.any(|other| {
        let mut limits = other.fields.limits();
        limits.any(|(limit, _)| limit.level == milder && trips_before(limit)) && is_beside(inspection, reading, &other)
    })
}

/// Whether two devices are at one place of a cable or pipe, or both in the office on the same air.
fn is_beside(inspection: &Inspection<'_>, one: &Reading<'_>, other: &Reading<'_>) -> bool {
    const METRES: f64 = 1.0;
    match (one.place_on_line(inspection), other.place_on_line(inspection)) {
        (Some((line, here)), Some((other, there))) => std::ptr::eq(line, other) && (here - there).abs() <= METRES,
        (None, None) => sources(inspection, one.id) == sources(inspection, other.id),
        _ => false,
    }
}
