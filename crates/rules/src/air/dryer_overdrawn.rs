use drysheath_engineering::measure::Flow;
use drysheath_office::{Office, ThingId};
use drysheath_prediction::{SystemId, capacity};

use super::budget::{Share, budget, conversion, shares};
use crate::figures::{computed, names, report_said};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::{Scope, Subject};
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::supply::held;

pub(crate) static RULE: Rule = Rule {
    id: RuleId::DryerOverdrawn,
    level: Level::Error,
    while_planned: None,
    yields_to: &[(
        Scope::AirSystem,
        &[RuleId::DryerCapacityShort, RuleId::UsageBeyondLines],
    )],
    family: Family::Air,
    summary: "A dryer has to deliver more than it can, although all that feed the same cables would suffice together.",
    explanation: "Of several dryers the one that delivers the highest pressure gives all the air, and the others give only what it \
                  lacks. If it is the small one, it runs all the time, and its air gets wet and its pressure falls before the others help. \
                  The network is computed with its capacity then, and the message says how far its pressure falls. Bring their delivery pressures together, or let the bigger one lead. Where even together they do \
                  not suffice, `dryer-capacity-short` reports it instead.",
    source: Source::Derived("flow of each dryer in the computed network"),
    example: Some(Example {
        failing: r"
dryer d1 { compressor piston, delivers 30 psi, capacity 7.2 scfh, dew-point -40 degC, contact humidity { healthy closed } }
#                                              ^^^^^^^^^^^^^^^^^
dryer d2 { compressor rotary, delivers 28 psi, capacity 100 scfh, dew-point -40 degC, contact humidity { healthy closed } }
ground d2 frame -> ogb with 10 awg, 4 m
wire d2 contact humidity -> tb pair 5 -> m1 contact 2
# without spare tb pair 5
# without spare m1 contact
spare tb pair 6 .. 25
spare m1 contact 3 .. 4
valve v1 { function check }
valve v2 { function check }
manifold m9 { ports 1 }
air d1 -> v1 -> m9 with 3/8 in tube, 1/4 in bore, 4 m
air d2 -> v2 -> m9 with 3/8 in tube, 1/4 in bore, 4 m
air m9 port 1 -> r1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m
",
        passing: r"
dryer d1 { compressor piston, delivers 30 psi, capacity 7.2 scfh, dew-point -40 degC, contact humidity { healthy closed } }
dryer d2 { compressor rotary, delivers 30 psi, capacity 100 scfh, dew-point -40 degC, contact humidity { healthy closed } }
ground d2 frame -> ogb with 10 awg, 4 m
wire d2 contact humidity -> tb pair 5 -> m1 contact 2
# without spare tb pair 5
# without spare m1 contact
spare tb pair 6 .. 25
spare m1 contact 3 .. 4
valve v1 { function check }
valve v2 { function check }
manifold m9 { ports 1 }
air d1 -> v1 -> m9 with 3/8 in tube, 1/4 in bore, 4 m
air d2 -> v2 -> m9 with 3/8 in tube, 1/4 in bore, 4 m
air m9 port 1 -> r1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let air = &inspection.prediction.air;
    for system in air.systems() {
        if air.dryers(system).nth(1).is_none() {
            continue;
        }
        let mut overdrawn = shares(inspection, system).filter(Share::is_overdrawn).peekable();
        // If one capacity is unknown, all shares are.
        if overdrawn.peek().is_some() && budget(inspection, system).is_some() {
            for share in overdrawn {
                report(inspection, system, &share, sink);
            }
        }
    }
}

fn report(inspection: &Inspection<'_>, system: SystemId, share: &Share, sink: &mut Sink<'_>) {
    let office = inspection.office;
    let Some(capacity) = capacity(office, share.dryer) else {
        return;
    };
    let Some(place) = capacity.stated.place else { return };
    let others: Vec<_> = inspection
        .prediction
        .air
        .dryers(system)
        .filter(|other| *other != share.dryer)
        .collect();
    let shown = |flow: Flow| computed(capacity.stated.quantity, flow.cubic_metres_per_second(), office);
    let how = conversion(office, share.dryer, &capacity).map_or(String::new(), |words| format!(" ({words})"));
    let name = office.name(share.dryer);
    let asked = format!(
        "{} would come from `{name}`, which delivers {} at most{how}",
        shown(share.asked),
        shown(capacity.flow)
    );
    let air = &inspection.prediction.air;
    let fallen = held(office, share.dryer)
        .zip(air.outlet(share.dryer))
        .filter(|_| share.is_kept());
    let message = match fallen {
        Some((held, pressure)) => format!(
            "{asked}: it runs all the time, and its pressure falls from {} to {}, where {} what it lacks",
            held.quantity,
            computed(held.quantity, pressure.pascals(), office),
            giving(office, &others)
        ),
        None => format!(
            "{asked}: {} would have enough, but `{name}` holds the highest pressure",
            names(office, &others)
        ),
    };
    let finding = report_said(sink, office, share.dryer, place, message);
    finding.about([Subject::AirSystem(system)]);
    for other in others {
        if let Some(held) = held(office, other) {
            finding.related(
                held.place,
                format!("`{}` delivers {}", office.name(other), held.quantity),
            );
        }
    }
    finding.help("bring the pressures that the dryers deliver together, or let the bigger dryer lead");
}

/// Names with a verb: "`d2` gives", "`d2` and `d3` give".
fn giving(office: &Office, others: &[ThingId]) -> String {
    let verb = if others.len() == 1 { "gives" } else { "give" };
    format!("{} {verb}", names(office, others))
}
