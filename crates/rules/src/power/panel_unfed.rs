use drysheath_office::kinds::{KindId, Role};
use drysheath_syntax::Medium;

use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::runs::run_around;

pub(crate) static RULE: Rule = Rule {
    id: RuleId::PanelUnfed,
    level: Level::Error,
    while_planned: Some(Level::Note),
    yields_to: &[],
    family: Family::Power,
    summary: "Runs start at a panel's fuses, and none leads to the panel.",
    explanation: "What hangs on the panel has no battery in the record, so neither its voltage nor its polarity can be \
                  checked. Begin the run at the battery, or give the panel a supply of its own. Battery plant can give \
                  thousands of amperes into a slip: it is for qualified people with insulated tools and no jewellery.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
# without power main
fuse-panel pdf { positions 1 .. 10, limit 30 A }
#          ^^^
power pdf fuse 1 -> m1 with 3 A, 14 awg, 6 m
",
        passing: r"
power main -> pdf with 30 A, 10 awg, 3 m
power pdf fuse 1 -> m1 with 3 A, 14 awg, 6 m
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    if office.unsure.about(Medium::Power) {
        return;
    }
    let power = &inspection.networks.power;
    for (id, thing) in office.of_kind(KindId::FusePanel) {
        let Some(used) = power.leaving(id).find(|link| link.from.port.role == Role::Fuse) else {
            continue;
        };
        if thing.damaged || power.leading_to(id).next().is_some() {
            continue;
        }
        let name = office.name(id);
        sink.report(
            id,
            thing.name,
            format!("no battery leads to the fuse panel `{name}`, and its fuses are in use"),
        )
        .related(
            office.place(used.from.range),
            format!(
                "fuse {} feeds {}",
                used.from.number,
                run_around(office, used.from.range)
            ),
        )
        .help(format!(
            "begin at the battery: `power … -> {name}` with the fuse before it, wire size and length"
        ));
    }
}
