use drysheath_engineering::index::IndexVec;
use drysheath_office::kinds::{Key, Kind, KindId};
use drysheath_office::{Fields, Office, Thing, ThingId, lets_air};
use drysheath_syntax::Medium;

use crate::finding::{Finding, Sink};
use crate::lint::Inspection;
use crate::precedence::{Scope, Subject};
use crate::registry::RuleId;
use crate::reliability::air_system;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::supply::backwards;

pub(crate) static RULE: Rule = Rule {
    id: RuleId::AirMissing,
    level: Level::Error,
    while_planned: Some(Level::Warning),
    yields_to: &[(Scope::Thing, &[RuleId::RegulatorBackwards, RuleId::StageAhead])],
    family: Family::Air,
    summary: "No air comes to equipment that needs it.",
    explanation: "Cables, pipes and the equipment in the air runs need a run that leads to them, all the way from a dryer, and \
                  no closed valve or reversed check valve on it. Without air a cable takes in water at its first bad splice, \
                  and a sensor never reads anything. Of several things in a row, the first without air is reported. Draw the \
                  missing run, open the valve, or turn a run round whose arrow points against the air. A contact needs no \
                  air. Where a cable has no air on purpose (leased or filled cable that only carries pairs, cable that is \
                  charged once and closed, cable that is on order), accept the result with that reason.",
    source: Source::Derived("air runs are followed from the dryers along their arrows, not past closed valves"),
    example: Some(Example {
        failing: r"
pressure-sensor p1 { span 0 .. 15 psi, step 0.1 psi, error 0.2 psi, normal 10 psi, proof 30 psi, limit low 8 psi major deadband 0.3 psi }
#               ^^
spare mf port 2 .. 4
# without air mf port 2
# without spare mf port 3
",
        passing: r"
air f1 -> p1 with 1/4 in tube, 0.17 in bore, 0.5 m
spare mf port 2 .. 4
# without air mf port 2
# without spare mf port 3
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    if office.unsure.about(Medium::Air) || office.may_be_joined(Medium::Air) {
        return;
    }
    let lacking = |id: ThingId, thing: &Thing| needs_air(thing) && !inspection.networks.is_reached(id);
    if !office.things().any(|(id, thing)| lacking(id, thing)) {
        return;
    }
    let has_dryer = office.air_sources().next().is_some();
    let mut explained = IndexVec::filled(false, office.things.len());
    // First the things without a feeder, then the rest: things that feed each other in a loop.
    for with_circles in [false, true] {
        for (id, thing) in office.things() {
            if !lacking(id, thing) || explained[id] {
                continue;
            }
            if !with_circles && has_lacking_source(inspection, id) {
                continue;
            }
            let barrier = barrier(inspection, id);
            let turned = explain(inspection, barrier.unwrap_or(id), &mut explained);
            if thing.damaged {
                continue;
            }
            report(inspection, id, thing, has_dryer, barrier, sink)
                .about(turned.into_iter().map(Subject::Thing))
                .about(lacking_systems(inspection, id));
            if !has_dryer {
                return;
            }
        }
    }
}

/// The valve or regulator directly upstream of a thing, where air reaches it but does not pass.
fn barrier(inspection: &Inspection<'_>, id: ThingId) -> Option<ThingId> {
    let mut leading = inspection.networks.air.leading_to(id).map(|link| link.from.thing);
    leading.find(|from| inspection.networks.is_reached(*from))
}

/// The air systems that a thing without air should belong to: their flows are computed without it.
fn lacking_systems(inspection: &Inspection<'_>, id: ThingId) -> impl Iterator<Item = Subject> {
    let networks = inspection.networks;
    let upstream = networks.air.leading_to(id).map(|link| link.from.thing);
    let joined = upstream.chain(networks.air.leaving(id).map(|link| link.to.thing));
    let with_air = joined.filter(|other| networks.is_reached(*other));
    with_air.filter_map(|other| air_system(inspection, other))
}

fn needs_air(thing: &Thing) -> bool {
    thing.kind.is_some_and(|kind| {
        kind.is_sensor()
            || matches!(
                kind.id,
                KindId::Regulator
                    | KindId::Valve
                    | KindId::Filter
                    | KindId::Tank
                    | KindId::Manifold
                    | KindId::AirPipe
                    | KindId::Cable
            )
    })
}

/// Whether a thing is fed by another that has no air either.
fn has_lacking_source(inspection: &Inspection<'_>, id: ThingId) -> bool {
    let networks = inspection.networks;
    let leading = networks.air.leading_to(id).map(|link| link.from.thing);
    let host = inspection.office.host(id).and_then(|at| at.thing);
    leading
        .chain(host)
        .any(|other| other != id && !networks.is_reached(other))
}

/// Marks a thing and everything downstream of it without air. Returns the reversed regulators among them.
fn explain(inspection: &Inspection<'_>, id: ThingId, explained: &mut IndexVec<ThingId, bool>) -> Vec<ThingId> {
    let mut turned = Vec::new();
    let mut open = vec![id];
    while let Some(id) = open.pop() {
        if std::mem::replace(&mut explained[id], true) {
            continue;
        }
        let is_regulator = inspection.office.thing(id).is(KindId::Regulator);
        if is_regulator && backwards(inspection, id).is_some() {
            turned.push(id);
        }
        let networks = inspection.networks;
        let next = networks.air.leaving(id).map(|link| link.to.thing);
        open.extend(
            next.chain(networks.standing_at(id))
                .filter(|id| !networks.is_reached(*id)),
        );
    }
    turned
}

fn report<'s>(
    inspection: &Inspection<'_>,
    id: ThingId,
    thing: &Thing,
    has_dryer: bool,
    barrier: Option<ThingId>,
    sink: &'s mut Sink<'_>,
) -> &'s mut Finding {
    let office = inspection.office;
    let (name, kind) = (office.name(id), thing.kind.map_or("", |kind| kind.word()));
    let start = format!("no air comes to the {kind} `{name}`");
    if !has_dryer {
        return sink
            .report(id, thing.name, format!("{start}: this office has no dryer"))
            .help("declare the dryer and the air runs that lead from it");
    }
    if let Some(barrier) = barrier {
        return report_barrier(office, &start, (id, thing), barrier, sink);
    }
    let finding = sink.report(id, thing.name, start);
    if office.may_only_carry_pairs(id) {
        finding.level = finding.level.min(Level::Warning);
        return finding.help(
            "draw the air run that leads to it; if it only carries pairs, as leased or filled cable does, accept this",
        );
    }
    let away = inspection
        .networks
        .air
        .leaving(id)
        .find(|link| inspection.networks.is_reached(link.to.thing));
    if let Some(link) = away {
        let range = link.from.range.cover(link.to.range);
        return finding
            .related(office.place(range), "this run leads away from it")
            .help(format!(
                "an arrow points the way the air goes: if the air comes from `{}`, write that end first",
                office.name(link.to.thing)
            ));
    }
    finding.help(match (thing.kind.is_some_and(Kind::is_sensor), office.host(id)) {
        (true, None) => {
            format!("draw the air run that leads to it, `air … -> {name}`, or say where on a cable it is with `at`")
        }
        _ => format!("draw the air run that leads to it, `air … -> {name}`"),
    })
}

/// Reports a thing that a valve or regulator shuts off from the air.
fn report_barrier<'s>(
    office: &Office,
    start: &str,
    (id, thing): (ThingId, &Thing),
    barrier: ThingId,
    sink: &'s mut Sink<'_>,
) -> &'s mut Finding {
    let valve = office.thing(barrier);
    let (lets, place, help) = match valve.field(Key::Stands) {
        Some(stands) if !lets_air(valve, false) => (
            "stands closed",
            stands.place,
            "declare it `stands open`, or route the air another way",
        ),
        _ => (
            "lets no air through from its outlet to its inlet",
            office.place(valve.name),
            "lead the run to its inlet, and from its outlet to what it feeds",
        ),
    };
    let name = office.name(barrier);
    let kind = valve.kind.map_or("", Kind::word);
    sink.report(
        id,
        thing.name,
        format!("{start}: the {kind} `{name}` upstream of it {lets}"),
    )
    .related(place, format!("`{name}` {lets}"))
    .help(help)
}
