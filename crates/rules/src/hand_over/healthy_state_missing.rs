use drysheath_office::Fields;
use drysheath_office::kinds::Key;

use super::inputs::{RecordedInput, recorded_inputs};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::Scope;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::HealthyStateMissing,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[(Scope::Place, &[RuleId::FieldMissing])],
    family: Family::HandOver,
    summary: "A contact that comes to an input does not say whether it is closed or open while all is well.",
    explanation: "The input has to be set to the state that is the alarm. Set the wrong way round, it alarms all the time \
                  or never. Write `healthy closed` or `healthy open` as the maker or a meter says.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r#"
contact door { reports "door open" }
#       ^^^^
wire door -> tb pair 5 -> m1 contact 2
"#,
        passing: r#"
contact door { reports "door open", healthy closed }
wire door -> tb pair 5 -> m1 contact 2
"#,
    }),
    check: Check::HandOver(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    for input in recorded_inputs(inspection).filter(RecordedInput::is_contact) {
        if !input.signal.fields.has(Key::Healthy) {
            let called = input.called();
            input
                .report(
                    sink,
                    format!("{called} does not say whether it is closed or open while all is well"),
                )
                .help("write `healthy closed` or `healthy open`");
        }
    }
}
