use drysheath_office::kinds::Role;

use super::ends::sides;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::GroundRunUnsized,
    level: Level::Note,
    while_planned: None,
    yields_to: &[],
    family: Family::Grounds,
    summary: "A ground run of an office that is built does not say its wire size or length.",
    explanation: "Whether a ground conductor is large enough can be told only from its size, and for a bond between bars \
                  from its length too. While an office is planned both may be open. Once it is built, somebody has seen the \
                  conductor: write down what it is.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
ground d1 frame -> ogb with 4 m
#      ^^^^^^^^
",
        passing: r"
ground d1 frame -> ogb with 16 mm2, 13 ft
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    if office.is_planned() {
        return;
    }
    let mut reported = None;
    for link in inspection.networks.ground.iter() {
        let Some(lacking) = link.unsized_pieces(office) else {
            continue;
        };
        let whose = if link.pieces(office).nth(1).is_none() {
            "its"
        } else {
            "the"
        };
        let grounds = [Role::Frame, Role::Bar, Role::Return]
            .into_iter()
            .find_map(|role| sides(link, role, Role::Bar));
        let Some((near, _)) = grounds.filter(|_| !link.is_unread(office) && reported != Some(link.run)) else {
            continue;
        };
        reported = Some(link.run);
        sink.report(
            near.thing,
            near.range,
            format!(
                "the ground of `{}` does not say {whose} {lacking}",
                office.name(near.thing)
            ),
        )
        .help("write what was run, such as `with 6 awg, 3 m`");
    }
}
