use drysheath_office::Fields;

use super::inputs::recorded_inputs;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::LimitIncomplete,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[],
    family: Family::HandOver,
    summary: "A limit of a sensor that comes to an input has no severity or no deadband.",
    explanation: "Each limit is entered with a severity, which decides who is called, and with a deadband, which keeps the \
                  alarm from coming and going. What the record leaves out is entered with whatever the screen offers \
                  first.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
pressure-sensor ps1 {
    at c101 3.2 km, span 0 .. 15 psi, step 0.1 psi, error 0.2 psi, proof 30 psi
    limit low 6.7 psi minor
#   ^^^^^^^^^^^^^^^^^^^^^^^
}
",
        passing: r"
pressure-sensor ps1 {
    at c101 3.2 km, span 0 .. 15 psi, step 0.1 psi, error 0.2 psi, proof 30 psi
    limit low 6.7 psi warning deadband 0.1 psi
}
",
    }),
    check: Check::HandOver(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for input in recorded_inputs(inspection) {
        for (limit, place) in input.signal.fields.limits() {
            let absent = match (limit.severity, limit.deadband) {
                (None, None) => "severity and no deadband",
                (None, Some(_)) => "severity",
                (Some(_), None) => "deadband",
                (Some(_), Some(_)) => continue,
            };
            let (level, device) = (limit.level.word(), input.name);
            let message = format!("the {level} limit of `{device}`, {}, has no {absent}", limit.value);
            let finding = if place.file == office.file {
                input.report_at(sink, place.range, message)
            } else {
                let finding = input.report(sink, message);
                finding.related(place, format!("the {level} limit"))
            };
            finding.help("write both after the figure, such as `major deadband 0.3 psi`");
        }
    }
}
