use drysheath_office::kinds::{Key, KindId, Role};
use drysheath_office::{Fields, ThingId};
use drysheath_syntax::Medium;

use super::ends::sides;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::BarNotBonded,
    level: Level::Error,
    while_planned: Some(Level::Warning),
    yields_to: &[],
    family: Family::Grounds,
    summary: "A ground bar has no bond to the office's principal bar.",
    explanation: "Everything that is grounded on a bar which itself goes nowhere is not grounded at all, and two systems of \
                  ground in one office can stand at different voltages when lightning comes in on the pairs. Bond each bar \
                  to the principal one, directly or over other bars, but never through a chassis. Local code and licensed \
                  practice govern how it is made.",
    source: Source::FromMemory("TIA-607"),
    example: Some(Example {
        failing: r"
ground-bar rack-bar
#          ^^^^^^^^
ground d1 frame -> rack-bar with 10 awg, 4 m
",
        passing: r"
ground-bar rack-bar
ground-bar room-bar
ground rack-bar -> room-bar with 6 awg, 4 m
ground ogb -> room-bar with 6 awg, 4 m
ground d1 frame -> rack-bar with 10 awg, 4 m
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    let mut bars = office.of_kind(KindId::GroundBar);
    // Nearly every office has a single bar, and without a principal bar there is nothing to bond to.
    if office.unsure.about(Medium::Ground) || (bars.next().is_some() && bars.next().is_none()) {
        return;
    }
    let mut reached: Vec<ThingId> = principals(inspection).collect();
    if reached.is_empty() {
        return;
    }
    follow(inspection, &mut reached);
    let mut principal = principals(inspection).map(|id| office.name(id));
    let help = principal
        .next()
        .map(|name| format!("bond it to the principal bar: `ground … -> {name}` with its size and length"));
    for (id, thing) in office.of_kind(KindId::GroundBar) {
        if thing.damaged || reached.contains(&id) {
            continue;
        }
        let name = office.name(id);
        sink.report(
            id,
            thing.name,
            format!("no bond leads from the ground bar `{name}` to the principal bar"),
        )
        .help(help.clone().unwrap_or_default().replace('…', name));
        // Bars bonded to this one are missing the same bond, so they are not reported.
        reached.push(id);
        follow(inspection, &mut reached);
    }
}

fn principals(inspection: &Inspection<'_>) -> impl Iterator<Item = ThingId> {
    let bars = inspection.office.of_kind(KindId::GroundBar);
    bars.filter(|(_, bar)| bar.yes_no(Key::Principal) == Some(true))
        .map(|(id, _)| id)
}

/// Extends `reached` by the bars bonded to those in it.
fn follow(inspection: &Inspection<'_>, reached: &mut Vec<ThingId>) {
    let ground = &inspection.networks.ground;
    let mut at = 0;
    while let Some(bar) = reached.get(at).copied() {
        at += 1;
        for link in ground.leaving(bar).chain(ground.leading_to(bar)) {
            if let Some((one, other)) = sides(link, Role::Bar, Role::Bar) {
                let next = if one.thing == bar { other.thing } else { one.thing };
                if !reached.contains(&next) {
                    reached.push(next);
                }
            }
        }
    }
}
