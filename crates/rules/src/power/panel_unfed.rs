use drysheath_office::kinds::{KindId, Role};
use drysheath_office::printed;
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
    summary: "Fuses of a panel are in use, and no battery leads to the panel.",
    explanation: "The loads of the panel have no battery in the record, so neither their voltage nor their polarity can be checked. \
                  Panels that feed only each other have none either. Begin the run at the battery, or give the panel a supply of its \
                  own. Battery plant can give thousands of amperes into a short circuit: it is for qualified people with insulated \
                  tools and no jewellery.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
# without power main
fuse-panel pdf { positions 1 .. 10, current-max 30 A }
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
    let networks = inspection.networks;
    for (id, thing) in office.of_kind(KindId::FusePanel) {
        let Some(used) = networks
            .power
            .leaving(id)
            .find(|link| link.from.port.role == Role::Fuse)
        else {
            continue;
        };
        let mut feeds = networks.feeding(id).peekable();
        let first = feeds.peek().copied();
        if thing.damaged || feeds.any(|feed| networks.battery_of(feed).is_some()) {
            continue;
        }
        let name = office.name(id);
        let finding = match first {
            Some(feed) => sink.report(
                id,
                feed.from.range,
                format!(
                    "`{name}` is fed from `{}`, and no battery leads there",
                    office.name(feed.from.thing)
                ),
            ),
            None => sink.report(
                id,
                thing.name,
                format!("no battery leads to the fuse panel `{name}`, and its fuses are in use"),
            ),
        };
        finding
            .related(
                office.place(used.from.range),
                format!(
                    "fuse {} feeds {}",
                    printed(used.from.number),
                    run_around(office, used.from.range)
                ),
            )
            .help(format!(
                "begin at the battery: `power … -> {name}` with the fuse before it, wire size and length"
            ));
    }
}
