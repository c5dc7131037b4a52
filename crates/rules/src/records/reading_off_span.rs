use drysheath_office::Measured;
use drysheath_text::TextRange;

use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::spans::Reading;

pub(crate) static RULE: Rule = Rule {
    id: RuleId::ReadingOffSpan,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Records,
    summary: "A reading is outside the span of its sensor.",
    explanation: "A sensor reports nothing beyond the ends of its span. A figure that is out there was read on another sensor or in \
                  another unit, or the span in the record is not that of the sensor. Older readings are looked at as well. \
                  Look at the sensor's plate, and correct the one or the other.",
    source: Source::Derived("a reading never leaves the span"),
    example: Some(Example {
        failing: r"
reading 2026-04-02 ps1 15.1 psi
#                  ^^^^^^^^^^^^
reading 2026-05-12 ps1 7.4 psi
",
        passing: r"
reading 2026-04-02 ps1 15 psi
reading 2026-05-12 ps1 7.4 psi
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for reading in &office.readings {
        let Measured::Signal(read) = reading.measured else {
            continue;
        };
        let Some((on, port)) = reading.of.thing.zip(reading.of.port) else {
            continue;
        };
        let Some(signal) = Reading::of(inspection, on, port) else {
            continue;
        };
        let Some(span) = signal.span().filter(|span| !span.holds(office.figure(read))) else {
            continue;
        };
        let message = format!(
            "{} cannot have read {read} on {}: its span is {span}",
            signal.name(),
            reading.date.value
        );
        let range = TextRange::new(reading.of.range.start, reading.range.end);
        sink.report(on, range, message)
            .about([signal.subject()])
            .related(span.place, format!("the span of {}", signal.name()))
            .help("correct the figure, its unit or the name of the sensor, or the span if that is wrong");
    }
}
