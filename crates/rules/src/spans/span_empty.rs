use drysheath_office::Fields;
use drysheath_office::kinds::Key;
use drysheath_syntax::Fix;

use super::reading::readings;
use crate::figures::{below, report_said};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::SpanEmpty,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Spans,
    summary: "A span has its top at or below its bottom.",
    explanation: "A span is written from the lowest reading to the highest. The monitor scales the sensor's current by it, \
                  so a span that runs backwards turns every reading upside down, and an empty one has no reading at all. \
                  Limits of such a sensor cannot be checked. Write the two ends as the sensor's plate gives them.",
    source: Source::Language,
    example: Some(Example {
        failing: r"
pressure-sensor p1 {
    span 15 .. 0 psi
#   ^^^^^^^^^^^^^^^^
    step 0.1 psi
    error 0.2 psi
    normal 10 psi
    proof 30 psi
    limit low 8 psi major deadband 0.3 psi
}
",
        passing: r"
pressure-sensor p1 {
    span -14 .. 20 psi
    step 0.1 psi
    error 0.2 psi
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
        let Some((from, to, place)) = reading.fields.range(Key::Span) else {
            continue;
        };
        let (bottom, top) = (office.figure(from), office.figure(to));
        if below(bottom, top) {
            continue;
        }
        let name = reading.name();
        if !below(top, bottom) {
            report_said(
                sink,
                office,
                reading.id,
                place,
                format!("the span of {name} is empty: both of its ends are {from}"),
            )
            .help("write the lowest and the highest reading of the sensor");
            continue;
        }
        let message = format!("the span of {name} runs backwards: {from} is above {to}");
        let finding = report_said(sink, office, reading.id, place, message);
        finding.help("write the lowest reading first");
        if place.file == office.file
            && let Some(turned) = turned(place.range.of(&office.text))
        {
            finding.fix(Fix::replace(place.range, turned, "Turn the span round"));
        }
    }
}

/// `span 15 .. 0 psi` with its ends swapped, digit for digit as written.
fn turned(written: &str) -> Option<String> {
    if written.contains(['#', '\n']) {
        return None;
    }
    let (first, second) = written.split_once("..")?;
    let (word, bottom) = first.split_once(char::is_whitespace)?;
    // Fields may be laid out in columns.
    let gap: String = bottom
        .chars()
        .take_while(|character| character.is_whitespace())
        .collect();
    let (top, unit) = second.trim().split_once(char::is_whitespace)?;
    let (bottom, unit) = (bottom.trim(), unit.trim());
    Some(match bottom.split_once(char::is_whitespace) {
        // Text after the unit, such as a step, would be moved along.
        Some(_) if unit.contains(char::is_whitespace) => return None,
        Some(_) => format!("{word} {gap}{top} {unit} .. {bottom}"),
        None => format!("{word} {gap}{top} .. {bottom} {unit}"),
    })
}

#[cfg(test)]
mod tests {
    use super::turned;

    #[test]
    fn ends_are_exchanged_as_they_are_written() {
        assert_eq!(turned("span   15 .. 0 psi").as_deref(), Some("span   0 .. 15 psi"));
        assert_eq!(
            turned("span 15.10 psi..1 kPa").as_deref(),
            Some("span 1 kPa .. 15.10 psi")
        );
        assert_eq!(turned("span 15 .. # comment\n 0 psi"), None);
        assert_eq!(turned("span 15 psi .. 1 kPa step 2 kPa"), None);
    }
}
