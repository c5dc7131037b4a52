use drysheath_office::kinds::Role;
use drysheath_office::{Link, printed};

use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::Subject;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::runs::run_around;

pub(crate) static RULE: Rule = Rule {
    id: RuleId::FusePositionTwice,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Power,
    summary: "Two feeds share one fuse.",
    explanation: "A fuse position has one feed. With two on it, a fault on either takes both down, and whoever pulls the fuse to work \
                  on the one is surprised by the other. The same goes for a load that is fed through the terminals of another: give \
                  each a position of its own, and label both. Remove the fuse and prove a feed dead before touching it; work on \
                  battery is for qualified people with insulated tools and no jewellery.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
power pdf fuse 1 -> m1 with 3 A, 14 awg, 6 m
power pdf fuse 1 -> m1 with 3 A, 14 awg, 6 m
#     ^^^^^^^^^^
",
        passing: r"
power pdf fuse 1 -> m1 with 3 A, 14 awg, 6 m
power pdf fuse 2 -> m1 with 3 A, 14 awg, 6 m
# without spare pdf fuse 2
spare pdf fuse 3 .. 10
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    let power = &inspection.networks.power;
    let position = |link: &Link| (link.from.thing, link.from.number);
    let mut fuses: Vec<&Link> = power.iter().filter(|link| link.from.port.role == Role::Fuse).collect();
    fuses.sort_by_key(|link| position(link));
    for link in power.iter() {
        let side = link.from;
        let name = office.name(side.thing);
        if side.port.role == Role::Load && inspection.networks.battery_of(link).is_some() {
            let other = office.name(link.to.thing);
            sink.report(
                link.to.thing,
                link.to.range,
                format!("`{other}` is fed through `{name}`, so that one fuse feeds both"),
            )
            .help(format!("feed `{other}` from a fuse position of its own"));
        }
        if side.port.role != Role::Fuse {
            continue;
        }
        let start = fuses.partition_point(|other| position(other) < position(link));
        let same = fuses
            .iter()
            .skip(start)
            .take_while(|other| position(other) == position(link));
        let first = same.copied().find(|other| other.run != link.run);
        let Some(first) = first.filter(|first| first.run < link.run) else {
            continue;
        };
        sink.report(
            side.thing,
            side.range,
            format!("fuse {} of `{name}` already feeds another run", printed(side.number)),
        )
        .related(
            office.place(first.from.range),
            format!(
                "fuse {} feeds {}",
                printed(side.number),
                run_around(office, first.from.range)
            ),
        )
        .about([Subject::Ports(side.thing, side.port.word)])
        .help("give each feed a fuse position of its own");
    }
}
