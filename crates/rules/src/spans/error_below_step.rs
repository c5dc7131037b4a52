use drysheath_office::Fields;
use drysheath_office::kinds::Key;

use super::reading::readings;
use crate::figures::{below, report_said};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::ErrorBelowStep,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[],
    family: Family::Spans,
    summary: "A sensor's error is less than half its step.",
    explanation: "What a sensor reports is rounded to its step, so that it may be off by half a step however good the sensor is. An \
                  error that is smaller was written in another unit or with its decimal point in another place, or it was \
                  exchanged with the step. Limits and readings are judged by the error: look it up on the data sheet.",
    source: Source::Derived("a figure that is rounded to a step is off by up to half of it"),
    example: Some(Example {
        failing: r"
pressure-sensor p1 {
    span  0 .. 15 psi
    step  0.1 psi
    error 0.04 psi
#   ^^^^^^^^^^^^^^
    normal 10 psi
    proof 30 psi
    limit low 8 psi major deadband 0.3 psi
}
",
        passing: r"
pressure-sensor p1 {
    span  0 .. 15 psi
    step  0.1 psi
    error 0.05 psi
    normal 10 psi
    proof 30 psi
    limit low 8 psi major deadband 0.3 psi
}
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for reading in readings(inspection) {
        let Some(((error, written), (step, step_written))) = reading.size(Key::Error).zip(reading.size(Key::Step))
        else {
            continue;
        };
        if !below(error, step / 2.0) {
            continue;
        }
        let places = [Key::Error, Key::Step].map(|key| reading.fields.field(key).map(|field| field.place));
        let [Some(place), Some(other)] = places else { continue };
        let message = format!(
            "the error of {}, {written}, is less than half its step of {step_written}: what it reports is rounded more coarsely",
            reading.name()
        );
        report_said(sink, office, reading.id, place, message)
            .related(other, "the step")
            .help(
                "look both up on the data sheet; mostly a unit or a decimal point is wrong, or the two are exchanged",
            );
    }
}
