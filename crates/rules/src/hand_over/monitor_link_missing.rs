use drysheath_office::Fields;
use drysheath_office::kinds::{Key, KindId};

use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::Scope;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::MonitorLinkMissing,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[(Scope::Place, &[RuleId::FieldMissing])],
    family: Family::HandOver,
    summary: "A monitor of an office that is handed over does not say how it reports.",
    explanation: "Whoever enters the inputs first enters how the monitor is reached: over a LAN at an address, or over a \
                  dialled line with a number. Write it with `link`.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
monitor m1 { sensors 8, contacts 4, draws 40 W, window -40.5 V .. -57 V, wants-filtered yes, ground-size 6 awg, loop-max 4000 ohm }
#       ^^
",
        passing: r#"
monitor m1 { sensors 8, contacts 4, draws 40 W, window -40.5 V .. -57 V, ground-size 6 awg, link dialled "555-0142" }
"#,
    }),
    check: Check::HandOver(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for (id, monitor) in office.of_kind(KindId::Monitor) {
        if !monitor.damaged && !monitor.has(Key::Link) {
            let message = format!(
                "`{}` does not say how it reports: over a LAN or a dialled line",
                office.name(id)
            );
            sink.report(id, monitor.name, message)
                .help("write its address or number: `link lan \"...\"` or `link dialled \"...\"`");
        }
    }
}
