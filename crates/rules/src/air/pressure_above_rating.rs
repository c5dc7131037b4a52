use drysheath_engineering::measure::Pressure;
use drysheath_office::kinds::Key;
use drysheath_office::{Office, Thing, ThingId};
use drysheath_prediction::{SystemId, rated_by};

use crate::coverage::MissingFigure;
use crate::figures::{below, computed, exceeds, names, report_said};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::{Scope, Subject};
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::supply::{StatedPressure, held, held_elsewhere, stated};

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
                  sensors on the way. Parts that are rated for less leak or burst, and compressed air hurts anyone standing beside it. \
                  The pressure is the computed one; parts that are rated for less than the source directly upstream can give \
                  are reported by other rules. Put a regulator or a check valve where the stronger air comes in, or choose \
                  parts that are rated for it. One result is given for each air system, at the weakest part. What a dryer or \
                  regulator of another office keeps on a part over routes while no air flows is held against its rating too.",
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
    limit: StatedPressure,
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
    let mut resting = above_at_rest(inspection, &found);
    resting.sort_by(|(limit, held), (other, other_held)| {
        let source = held.thing.cmp(&other_held.thing);
        source.then(limit.figure.total_cmp(&other.figure))
    });
    for together in resting.chunk_by(|one, other| one.1.thing == other.1.thing) {
        if let [weakest, others @ ..] = together {
            report_at_rest(inspection, weakest, others, sink);
        }
    }
}

/// Ratings below the pressure that another office can put on a thing over routes while no air flows. For sources in
/// this office, the rules on regulators and dryers report this at the source.
fn above_at_rest(inspection: &Inspection<'_>, found: &[Above]) -> Vec<(StatedPressure, StatedPressure)> {
    let office = inspection.office;
    if office.neighbours.is_empty() {
        return Vec::new();
    }
    let is_told = |id| found.iter().any(|above| above.limit.thing == id);
    let things = office.things().filter(|(id, _)| !is_told(*id));
    let rated = things.filter_map(|(id, thing)| stated(office, id, rated_by(thing)?));
    rated
        .filter_map(|limit| {
            let held = held_elsewhere(inspection, limit.thing)?;
            // The office that has both the source and the route reports it.
            let there = inspection.networks.merged(office).office.office_of(held.thing)?;
            let has_route = |(other, _): (&Office, ThingId)| other.path == there.path;
            let is_told_there = office.elsewhere(limit.thing).any(has_route);
            (exceeds(held.figure, limit.figure) && !is_told_there).then_some((limit, held))
        })
        .collect()
}

fn report_at_rest(
    inspection: &Inspection<'_>,
    weakest: &(StatedPressure, StatedPressure),
    others: &[(StatedPressure, StatedPressure)],
    sink: &mut Sink<'_>,
) {
    const SHOWN: usize = 6;
    let office = inspection.office;
    let all = inspection.networks.merged(office).office;
    let (limit, held) = weakest;
    let source = all.name(held.thing);
    let mut message = format!(
        "while no air flows, `{source}` keeps {} on `{}`, which is rated for {}",
        held.quantity,
        office.name(limit.thing),
        limit.quantity
    );
    if !others.is_empty() {
        let others: Vec<_> = others.iter().map(|(other, _)| other.thing).collect();
        message.push_str("; too weak as well: ");
        message.push_str(&names(office, &others));
    }
    let finding = report_said(sink, office, limit.thing, limit.place, message);
    finding.about([limit.subject()]);
    finding.related(all.written(held.place), format!("what `{source}` keeps"));
    for (other, _) in others {
        finding.and_about([other.subject()]);
    }
    for (other, _) in others.iter().take(SHOWN) {
        let name = office.name(other.thing);
        finding.related(other.place, format!("`{name}` is rated for {}", other.quantity));
    }
    finding.help("put a regulator where the air comes in over the route, or choose parts that are rated for it");
}

fn all_above<'i>(inspection: &'i Inspection<'_>) -> impl Iterator<Item = Above> + 'i {
    let office = inspection.office;
    let most = highest_delivery(office);
    // Things of a route that the other office reports are not listed beside those of this one.
    let is_told_there = |id| {
        let route = office.route_with(id);
        route.is_some_and(|route| office.is_reported_elsewhere(route))
    };
    let things = office.things().filter(move |(id, _)| !is_told_there(*id));
    things.filter_map(move |(id, thing)| above(inspection, id, thing, most))
}

/// Highest delivery pressure here or in an office that feeds the same routes: an upper bound of all pressures.
pub(crate) fn highest_delivery(office: &Office) -> f64 {
    let around = office.atmosphere().pascals();
    let of = |office: &Office| {
        let delivered = office.air_sources().filter_map(|(id, _)| held(office, id));
        let absolute = delivered.map(|held| held.figure + office.atmosphere().pascals());
        absolute.fold(around, f64::max) - around
    };
    let neighbours = office.neighbours.iter().map(|other| of(other));
    neighbours.fold(of(office), f64::max)
}

/// Rating of a thing, its system, and the highest pressure at it. `most` is the highest delivery pressure: ratings
/// above it are not compared.
pub(crate) fn compared(
    inspection: &Inspection<'_>,
    id: ThingId,
    key: Key,
    most: f64,
) -> Result<Option<(StatedPressure, SystemId, Pressure)>, MissingFigure> {
    let limit = stated(inspection.office, id, key).ok_or(match key {
        Key::InletMax => MissingFigure::InletMax,
        Key::Proof => MissingFigure::Proof,
        _ => MissingFigure::Rating,
    })?;
    if !below(limit.figure, most) {
        return Ok(None);
    }
    let (office, networks) = (inspection.office, inspection.networks);
    let seen = inspection.prediction.air.highest_at(office, networks, id);
    let (system, pressure) = seen.ok_or(MissingFigure::Figure)?;
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
