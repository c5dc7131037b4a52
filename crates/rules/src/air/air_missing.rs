use drysheath_engineering::index::IndexVec;
use drysheath_office::kinds::{Kind, KindId};
use drysheath_office::{Thing, ThingId};
use drysheath_syntax::Medium;

use crate::finding::{Finding, Sink};
use crate::lint::Inspection;
use crate::precedence::{Scope, Subject};
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::supply::backwards;

pub(crate) static RULE: Rule = Rule {
    id: RuleId::AirMissing,
    level: Level::Error,
    while_planned: Some(Level::Warning),
    yields_to: &[(Scope::Thing, &[RuleId::RegulatorBackwards])],
    family: Family::Air,
    summary: "No air comes to a thing that lives on it.",
    explanation: "Cables, pipes and what stands in the air runs need a run that leads to them, all the way from a dryer. \
                  Without one a cable takes in water at its first bad splice, and a sensor reads nothing for ever. Of things \
                  that hang one behind the other, the first is reported. Draw the missing run, or turn a run round whose \
                  arrow points against the air. A contact needs no air.",
    source: Source::Derived("air runs are followed from the dryers along their arrows"),
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
    if office.unsure.about(Medium::Air) {
        return;
    }
    let lacking = |id: ThingId, thing: &Thing| needs_air(thing) && !inspection.networks.is_reached(id);
    if !office.things().any(|(id, thing)| lacking(id, thing)) {
        return;
    }
    let has_dryer = office.of_kind(KindId::Dryer).next().is_some();
    let mut explained = IndexVec::filled(false, office.things.len());
    // First the things without a feeder, then the rest: things that feed one another in a loop.
    for with_circles in [false, true] {
        for (id, thing) in office.things() {
            if !lacking(id, thing) || explained[id] {
                continue;
            }
            if !with_circles && has_lacking_source(inspection, id) {
                continue;
            }
            let turned = explain(inspection, id, &mut explained);
            if thing.damaged {
                continue;
            }
            report(inspection, id, thing, has_dryer, sink).about(turned.into_iter().map(Subject::Thing));
            if !has_dryer {
                return;
            }
        }
    }
}

fn needs_air(thing: &Thing) -> bool {
    thing.kind.is_some_and(|kind| {
        kind.is_sensor()
            || matches!(
                kind.id,
                KindId::Regulator | KindId::Valve | KindId::Manifold | KindId::AirPipe | KindId::Cable
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

/// Marks a thing and everything downstream of it. Returns the regulators among them that stand the wrong way round.
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
        open.extend(inspection.networks.air.leaving(id).map(|link| link.to.thing));
        open.extend(inspection.networks.standing_at(id));
    }
    turned
}

fn report<'s>(
    inspection: &Inspection<'_>,
    id: ThingId,
    thing: &Thing,
    has_dryer: bool,
    sink: &'s mut Sink<'_>,
) -> &'s mut Finding {
    let office = inspection.office;
    let (name, kind) = (office.name(id), thing.kind.map_or("", |kind| kind.word()));
    if !has_dryer {
        return sink
            .report(
                id,
                thing.name,
                format!("no air comes to the {kind} `{name}`: this office has no dryer"),
            )
            .help("declare the dryer and the air runs that lead from it");
    }
    let finding = sink.report(id, thing.name, format!("no air comes to the {kind} `{name}`"));
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
            format!("draw the air run that leads to it, `air … -> {name}`, or say where on a cable it stands with `at`")
        }
        _ => format!("draw the air run that leads to it, `air … -> {name}`"),
    })
}
