use drysheath_office::kinds::{HealthyState, Key};
use drysheath_office::{Fields, Measured};
use drysheath_text::TextRange;

use super::latest_readings::latest_of;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::ContactNotHealthy,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[],
    family: Family::Records,
    summary: "A contact was found in the other state than its healthy one.",
    explanation: "The latest reading of each contact is checked against its `healthy`. Either it reported trouble that day, and a later reading \
                  should say that it is over, or the record has its healthy state the wrong way round, and then the monitor \
                  alarms while all is well.",
    source: Source::Derived("what `healthy` means"),
    example: Some(Example {
        failing: r"
reading 2026-05-12 d1 contact humidity open
#                  ^^^^^^^^^^^^^^^^^^^^^^^^
",
        passing: r"
reading 2026-05-12 d1 contact humidity open
reading 2026-05-19 d1 contact humidity closed
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    if office.readings.is_empty() {
        return;
    }
    let states = latest_of(office, |noted| match noted.measured {
        Measured::State(state) => Some(state),
        _ => None,
    });
    for (noted, read) in states {
        let Some((id, port)) = noted.of.thing.zip(noted.of.port) else {
            continue;
        };
        let signals = office.signals(id);
        let is_it = |signal: &&drysheath_office::Signal<'_>| {
            std::ptr::eq(signal.port, port) && signal.number == noted.of.numbers.0
        };
        let Some(signal) = signals.iter().find(is_it) else {
            continue;
        };
        let Some(field) = signal.fields.field(Key::Healthy) else {
            continue;
        };
        let healthy = std::slice::from_ref(field).choice::<HealthyState>(Key::Healthy);
        let Some(healthy) = healthy.filter(|healthy| *healthy != read) else {
            continue;
        };
        let name = match signal.name {
            "" => office.name(id).to_owned(),
            own => format!("{} {} {own}", office.name(id), port.word),
        };
        let message = format!(
            "`{name}` was {} on {}, and it is {} while all is well",
            read.word(),
            noted.date.value,
            healthy.word()
        );
        sink.report(id, TextRange::new(noted.of.range.start, noted.range.end), message)
            .related(field.place, "its healthy state")
            .help("note when it was well again, or correct its healthy state");
    }
}
