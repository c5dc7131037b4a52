use drysheath_office::kinds::Role;

use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::FuseMissing,
    level: Level::Warning,
    while_planned: Some(Level::Note),
    yields_to: &[],
    family: Family::Power,
    summary: "A feed does not say what fuse it has.",
    explanation: "The fuse is what keeps a slip behind it from setting the wire on fire, and its size decides whether wire \
                  and ground are large enough. A fault on a feed without one takes thousands of amperes from the battery. \
                  Give each feed a fuse and state its size: `with 3 A, …`. Work on battery is for qualified people with \
                  insulated tools and no jewellery.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
power pdf fuse 1 -> m1 with 14 awg, 6 m
#     ^^^^^^^^^^
",
        passing: r"
power main -> m1 with 3 A, 14 awg, 6 m
# without power pdf
spare pdf fuse 1
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for feed in inspection.networks.feeds() {
        let link = feed.load;
        if link.with.fuse.is_some() || link.with.damaged {
            continue;
        }
        let (from, name) = (link.from, office.name(link.to.thing));
        let (message, help) = match from.port.role {
            Role::Fuse => {
                let panel = office.name(from.thing);
                (
                    format!("fuse {} of `{panel}`, which feeds `{name}`, has no size", from.number),
                    "state it: `with 3 A, …`",
                )
            }
            Role::Battery => {
                let battery = office.name(from.thing);
                let message = format!("`{name}` is fed from the battery `{battery}` without a fuse");
                (
                    message,
                    "feed it over a fuse position, or state the fuse in the feed: `with 3 A, …`",
                )
            }
            _ => continue,
        };
        sink.report(link.to.thing, from.range, message).help(help);
    }
}
