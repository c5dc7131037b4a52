use drysheath_office::kinds::{Key, KindId, ValveFunction};
use drysheath_office::line::is_line;
use drysheath_office::{Fields, Thing, ThingId, lets_air};
use drysheath_syntax::Medium;

use super::reach::{Direction, reached};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::{Scope, Subject};
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::supply::is_bank;

pub(crate) static RULE: Rule = Rule {
    id: RuleId::DryerFeedsNothing,
    level: Level::Warning,
    while_planned: Some(Level::Note),
    yields_to: &[(
        Scope::Office,
        &[
            RuleId::AirMissing,
            RuleId::RegulatorBackwards,
            RuleId::ManifoldPortOpen,
            RuleId::OutletOpen,
        ],
    )],
    family: Family::Air,
    summary: "The air of a dryer reaches no cable or pipe.",
    explanation: "A dryer that feeds nothing is no reserve: when the other one stops, the cables have no air, and everybody \
                  believed that there were two. Draw the run that leads from it, or open the valve that shuts it off. Bottles may stand behind a closed valve that \
                  somebody opens when the dryer stops.",
    source: Source::Derived("air runs are followed from the dryer along their arrows, not past closed valves"),
    example: Some(Example {
        failing: r"
dryer d2 { compressor rotary, delivers 30 psi, capacity 100 scfh, dew-point -40 degC, contact humidity { healthy closed } }
#     ^^
ground d2 frame -> ogb with 10 awg, 4 m
wire d2 contact humidity -> tb pair 5 -> m1 contact 2
# without spare tb pair 5
# without spare m1 contact
spare tb pair 6 .. 25
spare m1 contact 3 .. 4
valve v1 { function check }
valve v2 { function shut-off, stands closed }
manifold m9 { ports 1, rating 30 psi }
air d1 -> v1 -> m9 with 3/8 in tube, 1/4 in bore, 4 m
air d2 -> v2 -> m9 with 3/8 in tube, 1/4 in bore, 4 m
air m9 port 1 -> r1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m
",
        passing: r"
dryer d2 { compressor rotary, delivers 30 psi, capacity 100 scfh, dew-point -40 degC, contact humidity { healthy closed } }
ground d2 frame -> ogb with 10 awg, 4 m
wire d2 contact humidity -> tb pair 5 -> m1 contact 2
# without spare tb pair 5
# without spare m1 contact
spare tb pair 6 .. 25
spare m1 contact 3 .. 4
valve v1 { function check }
valve v2 { function check }
manifold m9 { ports 1, rating 30 psi }
air d1 -> v1 -> m9 with 3/8 in tube, 1/4 in bore, 4 m
air d2 -> v2 -> m9 with 3/8 in tube, 1/4 in bore, 4 m
air m9 port 1 -> r1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    let has_air = |(id, thing): (ThingId, &Thing)| is_line(thing) && inspection.networks.is_reached(id);
    // Another rule reports that no cable has air.
    if office.unsure.about(Medium::Air) || !office.things().any(has_air) {
        return;
    }
    for (id, dryer) in office.air_sources() {
        if dryer.damaged || feeds_line(inspection, id, is_bank(dryer)) {
            continue;
        }
        let name = office.name(id);
        let draw = format!("draw the run that leads from it, `air {name} -> …`");
        sink.report(id, dryer.name, format!("the air of `{name}` reaches no cable or pipe"))
            .about([Subject::Office])
            .help(if is_bank(dryer) {
                draw
            } else {
                format!("{draw}, or open the valve that shuts it off")
            });
    }
}

/// Whether the air of a dryer reaches a cable or pipe. With `by_hand`, closed hand valves count as open: standby
/// sources are switched over by hand.
fn feeds_line(inspection: &Inspection<'_>, dryer: ThingId, by_hand: bool) -> bool {
    let passes = |thing: &Thing, outlet| lets_air(thing, outlet) || by_hand && is_hand_valve(thing);
    let reached = reached(inspection, dryer, passes, Direction::Arrows);
    reached.iter().any(|(id, _)| is_line(inspection.office.thing(*id)))
}

fn is_hand_valve(thing: &Thing) -> bool {
    thing.is(KindId::Valve) && thing.choice(Key::Function) != Some(ValveFunction::Check)
}
