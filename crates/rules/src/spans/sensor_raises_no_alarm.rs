use drysheath_engineering::units::Dimension;
use drysheath_office::kinds::Key;
use drysheath_office::{Field, Fields, Value};
use drysheath_text::Place;

use super::reading::{Reading, readings};
use crate::figures::report_said;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::SensorRaisesNoAlarm,
    level: Level::Warning,
    while_planned: Some(Level::Note),
    yields_to: &[],
    family: Family::Spans,
    summary: "A sensor has no limit on the side where trouble shows.",
    explanation: "A sensor without a limit is read by whoever happens to look, and raises no alarm. A leak or a dryer that fails \
                  shows as less pressure or more flow, and wet air as more humidity or a higher dew point. So each pressure needs a low \
                  limit, and each flow, humidity and dew point a high one; a limit on the other side is welcome, but does not \
                  take its place. Where a gauge is only read by eye, accept this with that reason.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
pressure-sensor p1 {
#               ^^
    span  0 .. 15 psi
    step  0.1 psi
    error 0.2 psi
    normal 10 psi
    proof 30 psi
    limit high 12 psi major deadband 0.3 psi
}
",
        passing: r"
pressure-sensor p1 {
    span  0 .. 15 psi
    step  0.1 psi
    error 0.2 psi
    normal 10 psi
    proof 30 psi
    limit low 8 psi minor deadband 0.3 psi
}
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for reading in readings(inspection) {
        // A switch has a single limit, on either side.
        if reading.is_switch {
            continue;
        }
        let Some((is_low, shows)) = trouble(reading.dimension) else {
            continue;
        };
        let mut limits = reading.fields.limits().map(|(limit, _)| limit.level.is_low());
        let thing = office.thing(reading.id);
        if thing.damaged || limits.any(|low| low == is_low) {
            continue;
        }
        let (side, has_other) = (if is_low { "low" } else { "high" }, reading.fields.has(Key::Limit));
        let message = format!(
            "{} has no {}: {shows} raises no alarm",
            reading.name(),
            if has_other {
                format!("{side} limit")
            } else {
                "limit".to_owned()
            }
        );
        let help =
            format!("give it a {side} limit with severity and deadband, or accept this where it is only read by eye");
        match group_place(&reading, thing.fields()) {
            Some(place) => report_said(sink, office, reading.id, place, message).help(help),
            None => sink.report(reading.id, thing.name, message).help(help),
        };
    }
}

/// Whether a fault shows as a low reading, and a name for the fault.
fn trouble(dimension: Dimension) -> Option<(bool, &'static str)> {
    match dimension {
        Dimension::Pressure => Some((true, "lost pressure")),
        Dimension::Flow => Some((false, "a leak")),
        Dimension::Humidity | Dimension::Temperature => Some((false, "wet air")),
        _ => None,
    }
}

/// Where a signal of a group is declared.
fn group_place(reading: &Reading<'_>, fields: &[Field]) -> Option<Place> {
    let is_group = |field: &&Field| match &field.value {
        Value::Group(inner) => std::ptr::eq(inner.as_slice(), reading.fields),
        _ => false,
    };
    fields.iter().find(is_group).map(|field| field.place)
}
