use drysheath_office::kinds::KindId;
use drysheath_syntax::Medium;

use super::is_on_mains;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::SupplyUnrecorded,
    level: Level::Note,
    while_planned: None,
    yields_to: &[],
    family: Family::Power,
    summary: "An office with a monitor has no battery, so nothing of its supply is checked.",
    explanation: "Without the battery nothing tells whether fuse, wire and voltage suit the monitor. If the office has a battery, \
                  declare it, its panel and the feed of each monitor. A monitor that runs from the mains states `supply mains`; it \
                  goes silent in a power failure, just when the dryer stops too.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r#"
# without battery
# without fuse-panel
# without power
# without spare pdf
# without ground pdf
monitor m1 { sensors 8, contacts 4, draws 40 W, window -40.5 V .. -57 V, ground-size 6 awg, loop-max 4000 ohm, link lan "192.0.2.11" }
#       ^^
"#,
        passing: r"
# without power
# without spare pdf
spare pdf fuse 1 .. 10
power main -> m1 with 3 A, 14 awg, 6 m
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    if office.unsure.things || office.unsure.about(Medium::Power) || office.of_kind(KindId::Battery).next().is_some() {
        return;
    }
    let mut monitors = office.of_kind(KindId::Monitor);
    let Some((id, monitor)) = monitors.find(|(_, monitor)| !is_on_mains(monitor)) else {
        return;
    };
    let message = format!(
        "this office has no battery, so the supply of `{}` is not checked",
        office.name(id)
    );
    sink.report(id, monitor.name, message).help(
        "declare the battery, the panel and the feed, or state `supply mains` if the monitor runs from the mains",
    );
}
