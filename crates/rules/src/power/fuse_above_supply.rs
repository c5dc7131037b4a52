use drysheath_office::kinds::Role;
use drysheath_office::printed;

use super::feeds::supply_fuse;
use crate::figures::exceeds;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::{Scope, Subject};
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::FuseAboveSupply,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[(Scope::Place, &[RuleId::FuseAboveWire, RuleId::FuseBelowLoad])],
    family: Family::Power,
    summary: "A fuse of a panel is larger than the supply fuse of the panel.",
    explanation: "A short circuit should open the fuse nearest to it and no other. Where the supply fuse of the panel is the \
                  smaller one, it opens first and takes every load of the panel down. Often the two figures were exchanged. Work \
                  on battery is for qualified people with insulated tools and no jewellery.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
power main -> pdf with 10 A, 6 awg, 5 m
power pdf fuse 1 -> m1 with 15 A, 14 awg, 6 m
#                           ^^^^
",
        passing: r"
power main -> pdf with 10 A, 6 awg, 5 m
power pdf fuse 1 -> m1 with 10 A, 14 awg, 6 m
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for feed in inspection.networks.feeds() {
        let Some(fuse) = feed.with.fuse.filter(|_| feed.is_last(office)) else {
            continue;
        };
        if feed.from.port.role != Role::Fuse {
            continue;
        }
        let panel = feed.from.thing;
        let Some(before) = supply_fuse(inspection, panel) else {
            continue;
        };
        if !exceeds(fuse.value.si(), before.value.si()) {
            continue;
        }
        let name = office.name(panel);
        let message = format!(
            "fuse {} of `{name}` is {}, but the supply fuse of the panel is only {}: it opens first and takes the whole panel down",
            printed(feed.from.number),
            fuse.value,
            before.value
        );
        sink.report(feed.to.thing, fuse.range, message)
            .about([Subject::Place(office.place(before.range))])
            .related(office.place(before.range), format!("the supply fuse of `{name}`"))
            .help("take a smaller fuse here, or a larger supply fuse if its wire allows that");
    }
}
