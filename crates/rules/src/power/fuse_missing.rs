use drysheath_office::kinds::Role;

use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::FuseMissing,
    level: Level::Error,
    while_planned: Some(Level::Note),
    yields_to: &[],
    family: Family::Power,
    summary: "A load or a panel is fed from the battery without a fuse.",
    explanation: "A short circuit on a feed without a fuse draws thousands of amperes from the battery and sets the wire on fire; the \
                  supply of a panel is such a feed too, since the panel's own fuses protect only what is downstream of them. Put a fuse or \
                  breaker at the battery end and state it: `with 30 A, …`. Work on battery is for qualified people with insulated \
                  tools and no jewellery.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
power main -> pdf with 6 awg, 5 m
#     ^^^^
",
        passing: r"
power main -> m1 with 3 A, 14 awg, 6 m
# without power
spare pdf fuse 1
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for feed in inspection.networks.feeds() {
        let is_unfused = feed.from.port.role == Role::Battery && feed.with.fuse.is_none() && !feed.with.damaged;
        // A run through a panel states the fuse of its last part only; fuses of the other parts are not missing there.
        if !is_unfused || !feed.is_last(office) {
            continue;
        }
        let (battery, name) = (office.name(feed.from.thing), office.name(feed.to.thing));
        let message = format!("`{name}` is fed from the battery `{battery}` without a fuse");
        sink.report(feed.to.thing, feed.from.range, message)
            .help(match feed.to.port.role {
                Role::PanelInput => "protect the panel's supply at the battery, and state the fuse: `with 30 A, …`",
                _ => "feed it through a fuse position, or state the fuse in the feed: `with 3 A, …`",
            });
    }
}
