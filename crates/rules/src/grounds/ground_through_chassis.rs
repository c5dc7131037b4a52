use drysheath_office::kinds::Role;

use super::ends::own_grounds;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::Subject;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::GroundThroughChassis,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Grounds,
    summary: "A frame ground ends on another chassis instead of a ground bar.",
    explanation: "A daisy chain grounds the second chassis only for as long as the first one stays where it is: whoever takes the first \
                  away lifts the ground of everything that depends on it, and until then its fault current passes through a frame \
                  that was not made for it. Take each frame to a bar by a conductor of its own; beside that, a bond from frame to \
                  frame does no harm and is no result. A frame may be live while its ground is lifted: local code and licensed \
                  practice govern.",
    source: Source::FromMemory("TIA-607"),
    example: Some(Example {
        failing: r"
ground d1 frame -> m1 frame with 10 awg, 4 m
#                  ^^^^^^^^
",
        passing: r"
ground-bar rack-bar
ground rack-bar -> ogb with 6 awg, 3 m
ground d1 frame -> rack-bar with 10 awg, 1 m
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for link in inspection.networks.ground.iter() {
        let (near, far) = (link.from, link.to);
        if near.port.role != Role::Frame || far.port.role != Role::Frame {
            continue;
        }
        // If the frame has a conductor of its own, a second one from frame to frame is a supplementary bond.
        if near.thing != far.thing && own_grounds(inspection.networks, near.thing).next().is_some() {
            continue;
        }
        let (name, other) = (office.name(near.thing), office.name(far.thing));
        let message = if near.thing == far.thing {
            format!("the frame ground of `{name}` ends on the frame it starts from, so it grounds nothing")
        } else {
            format!("the frame ground of `{name}` ends on the frame of `{other}` instead of a ground bar")
        };
        let finding = sink.report(near.thing, far.range, message);
        finding.about([Subject::Thing(far.thing)]).help(format!(
            "take the frame of `{name}` to a ground bar by a conductor of its own"
        ));
    }
}
