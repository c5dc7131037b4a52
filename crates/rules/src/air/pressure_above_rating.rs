use drysheath_engineering::measure::Pressure;
use drysheath_office::kinds::Key;
use drysheath_office::{Office, Thing, ThingId};
use drysheath_prediction::{SystemId, rated_by};

use crate::coverage::Lack;
use crate::figures::{below, computed, exceeds, names, report_said};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::{Scope, Subject};
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::supply::{Stated, held, stated};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::PressureAboveRating,
    level: Level::Error,
    while_planned: None,
    yields_to: &[
        (Scope::Office, &[RuleId::RegulatorBackwards]),
        (
            Scope::Field,
            &[
                RuleId::DryerAboveRating,
                RuleId::RegulatorSetAboveRating,
                RuleId::ReliefMisplaced,
                RuleId::ReliefMissing,
                RuleId::RegulatorInletOverMax,
                RuleId::ProofBelowSource,
            ],
        ),
    ],
    family: Family::Air,
    summary: "A part sees more pressure than it is rated for, and not from the dryer or regulator directly upstream.",
    explanation: "Air flows towards the lower pressure, whichever way the arrows point: where a stronger dryer or regulator \
                  feeds the same manifold, its pressure backs up as far as the outlet of the weaker one, to the valves and \
                  sensors on the way. What is rated for less leaks or bursts, and compressed air hurts anyone standing beside it. \
                  The pressure is the computed one; parts that are rated for less than the source directly upstream can give \
                  are reported by other rules. Put a regulator or a check valve where the stronger air comes in, or choose \
                  parts that are rated for it. One result is given for each air system, at the weakest part.",
    source: Source::Derived("computed pressure against the rating, proof or inlet-max"),
    example: Some(Example {
        failing: r"
dryer d2 { compressor rotary, delivers 10 psi, capacity 100 scfh, dew-point -40 degC, contact humidity { healthy closed } }
ground d2 frame -> ogb with 10 awg, 4 m
wire d2 contact humidity -> tb pair 5 -> m1 contact 2
# without spare tb pair 5
# without spare m1 contact
spare tb pair 6 .. 25
spare m1 contact 3 .. 4
regulator r1 { set 8 psi, differential 5 psi, inlet-max 60 psi, flow-max 80 scfh, relief 9 psi }
manifold m9 { ports 1, rating 30 psi }
valve v2 { function shut-off }
valve v3 { function check }
valve v1 { function shut-off, rating 9 psi }
#                             ^^^^^^^^^^^^
air d1 -> r1 -> v1 -> v2 -> m9 with 3/8 in tube, 1/4 in bore, 4 m
air d2 -> v3 -> m9 with 3/8 in tube, 1/4 in bore, 4 m
air m9 port 1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m
",
        passing: r"
dryer d2 { compressor rotary, delivers 10 psi, capacity 100 scfh, dew-point -40 degC, contact humidity { healthy closed } }
ground d2 frame -> ogb with 10 awg, 4 m
wire d2 contact humidity -> tb pair 5 -> m1 contact 2
# without spare tb pair 5
# without spare m1 contact
spare tb pair 6 .. 25
spare m1 contact 3 .. 4
regulator r1 { set 10 psi, differential 5 psi, inlet-max 60 psi, flow-max 80 scfh, relief 11 psi }
manifold m9 { ports 1, rating 30 psi }
valve v2 { function shut-off }
valve v3 { function check }
valve v1 { function shut-off, rating 11 psi }
air d1 -> r1 -> v1 -> v2 -> m9 with 3/8 in tube, 1/4 in bore, 4 m
air d2 -> v3 -> m9 with 3/8 in tube, 1/4 in bore, 4 m
air m9 port 1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m
",
    }),
    check: Check::Office(check),
};

/// A thing whose pressure exceeds its rating.
struct Above {
    system: SystemId,
    limit: Stated,
    pressure: Pressure,
}

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let mut found: Vec<Above> = all_above(inspection).collect();
    found.sort_by(|one, other| {
        let system = one.system.cmp(&other.system);
        system.then(one.limit.figure.total_cmp(&other.limit.figure))
    });
    for together in found.chunk_by(|one, other| one.system == other.system) {
        if let [weakest, others @ ..] = together {
            report(inspection, weakest, others, sink);
        }
    }
}

fn all_above<'i>(inspection: &'i Inspection<'_>) -> impl Iterator<Item = Above> + 'i {
    let most = highest_delivery(inspection.office);
    let things = inspection.office.things();
    things.filter_map(move |(id, thing)| above(inspection, id, thing, most))
}

/// The highest delivery pressure, which no pressure exceeds.
pub(crate) fn highest_delivery(office: &Office) -> f64 {
    let delivered = office.air_sources().filter_map(|(id, _)| held(office, id));
    delivered.map(|held| held.figure).fold(0.0, f64::max)
}

/// The rating of a thing, its system, and the highest pressure at it, where that may be more. `most` is the highest delivery
/// pressure.
pub(crate) fn compared(
    inspection: &Inspection<'_>,
    id: ThingId,
    key: Key,
    most: f64,
) -> Result<Option<(Stated, SystemId, Pressure)>, Lack> {
    let limit = stated(inspection.office, id, key).ok_or(match key {
        Key::InletMax => Lack::InletMax,
        Key::Proof => Lack::Proof,
        _ => Lack::Rating,
    })?;
    if !below(limit.figure, most) {
        return Ok(None);
    }
    let (office, networks) = (inspection.office, inspection.networks);
    let seen = inspection.prediction.air.highest_at(office, networks, id);
    let (system, pressure) = seen.ok_or(Lack::Figure)?;
    Ok(Some((limit, system, pressure)))
}

fn above(inspection: &Inspection<'_>, id: ThingId, thing: &Thing, most: f64) -> Option<Above> {
    let (limit, system, pressure) = compared(inspection, id, rated_by(thing)?, most).ok()??;
    exceeds(pressure.pascals(), limit.figure).then_some(Above {
        system,
        limit,
        pressure,
    })
}

fn report(inspection: &Inspection<'_>, weakest: &Above, others: &[Above], sink: &mut Sink<'_>) {
    const SHOWN: usize = 6;
    let office = inspection.office;
    let Above { limit, pressure, .. } = weakest;
    let name = office.name(limit.thing);
    let found = computed(limit.quantity, pressure.pascals(), office);
    let mut message = format!("`{name}` sees {found}, and is rated for {}", limit.quantity);
    if !others.is_empty() {
        let others: Vec<_> = others.iter().map(|other| other.limit.thing).collect();
        message.push_str("; too weak as well: ");
        message.push_str(&names(office, &others));
    }
    let finding = report_said(sink, office, limit.thing, limit.place, message);
    finding.about([limit.subject(), Subject::AirSystem(weakest.system), Subject::Office]);
    for other in others {
        finding.and_about([other.limit.subject()]);
    }
    for other in others.iter().take(SHOWN) {
        let stands = format!(
            "`{}` is rated for {}",
            office.name(other.limit.thing),
            other.limit.quantity
        );
        finding.related(other.limit.place, stands);
    }
    finding.help(
        "put a regulator or a check valve where the stronger air comes in, or choose parts that are rated for it",
    );
}
