use drysheath_office::Fields;
use drysheath_office::kinds::Key;

use super::inputs::recorded_inputs;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::Scope;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::SpanMissing,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[(Scope::Place, &[RuleId::FieldMissing])],
    family: Family::HandOver,
    summary: "A sensor that comes to an input has no span.",
    explanation: "The input turns a current or resistance into a figure by the span of the sensor. Without it nobody can \
                  enter how the reading is scaled. Write the range that its maker gives, with `span`.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
pressure-sensor ps1 {
#               ^^^
    at c101 3.2 km, step 0.1 psi, error 0.2 psi, proof 30 psi
    limit low 6.7 psi minor deadband 0.3 psi
}
",
        passing: r"
pressure-sensor ps1 {
    at c101 3.2 km, span 0 .. 15 psi, proof 30 psi
    limit low 6.7 psi minor deadband 0.3 psi
}
",
    }),
    check: Check::HandOver(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    for input in recorded_inputs(inspection).filter(|input| !input.is_contact()) {
        if input.signal.fields.range(Key::Span).is_none() {
            let called = input.called();
            input
                .report(sink, format!("{called} has no span, so its input cannot be scaled"))
                .help("write the range that it reads, such as `span 0 .. 15 psi`");
        }
    }
}
