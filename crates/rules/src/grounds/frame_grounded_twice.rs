use drysheath_office::Link;

use super::ends::own_grounds;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::{Scope, Subject};
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::runs::run_around;

pub(crate) static RULE: Rule = Rule {
    id: RuleId::FrameGroundedTwice,
    level: Level::Warning,
    while_planned: None,
    // Then the second conductor was probably meant for the chassis without a ground.
    yields_to: &[(Scope::Office, &[RuleId::FrameGroundMissing])],
    family: Family::Grounds,
    summary: "A frame has two conductors to ground bars.",
    explanation: "Two conductors from one frame to the grounding make a loop, in which every surge and every stray current of the \
                  office finds its way through the frame, and a test of one of them passes on account of the other. Often the second \
                  was meant for another chassis, which then has none. Keep one, of sufficient size. A bond from frame to frame \
                  beside the frame's own conductor is something else, and is no result. Local code and licensed practice govern how \
                  it is made.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
ground-bar rack-bar
ground rack-bar -> ogb with 6 awg, 3 m
ground m1 -> rack-bar with 6 awg, 1 m
#      ^^
",
        passing: r"
ground m1 -> pdf frame with 6 awg, 1 m
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for (id, _) in office.things() {
        let mut own = own_grounds(inspection.networks, id);
        let Some((first, first_side, first_bar)) = own.next() else {
            continue;
        };
        let of_another_run = |(link, ..): &(&Link, _, _)| link.run != first.run;
        for (_, side, bar) in own.filter(of_another_run) {
            let (name, bar, first_bar) = (office.name(id), office.name(bar.thing), office.name(first_bar.thing));
            let already = if bar == first_bar {
                format!("the frame of `{name}` has a conductor to `{bar}` already")
            } else {
                format!(
                    "the frame of `{name}` is grounded to `{first_bar}` already, and this is a second conductor, to `{bar}`"
                )
            };
            sink.report(id, side.range, already)
                .related(
                    office.place(first_side.range),
                    format!("its first ground: {}", run_around(office, first_side.range)),
                )
                .about([Subject::Office])
                .help("keep one of them, or give the second to the chassis that it was meant for");
        }
    }
}
