use drysheath_office::kinds::Role;
use drysheath_office::printed;

use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::FuseUnsized,
    level: Level::Warning,
    while_planned: Some(Level::Note),
    yields_to: &[],
    family: Family::Power,
    summary: "A fuse position is in use, and its run does not say the size of the fuse.",
    explanation: "The size of the fuse decides whether the wire and the frame ground of its load are large enough and whether it holds \
                  the load. Without it none of that is checked, and whoever replaces the fuse has to guess. State it: `with 3 A, …`. \
                  Work on battery is for qualified people with insulated tools and no jewellery.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
power pdf fuse 1 -> m1 with 14 awg, 6 m
#     ^^^^^^^^^^
",
        passing: r"
power pdf fuse 1 -> m1 with 3 A, 14 awg, 6 m
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for feed in inspection.networks.feeds() {
        let is_unsized = feed.from.port.role == Role::Fuse && feed.with.fuse.is_none() && !feed.with.damaged;
        if !is_unsized || !feed.is_last(office) {
            continue;
        }
        let (panel, name) = (office.name(feed.from.thing), office.name(feed.to.thing));
        let message = format!(
            "fuse {} of `{panel}`, which feeds `{name}`, has no size",
            printed(feed.from.number)
        );
        sink.report(feed.to.thing, feed.from.range, message)
            .help("state it: `with 3 A, …`");
    }
}
