use drysheath_office::kinds::{Key, KindId, Role};
use drysheath_office::{Fields, Office, Thing, ThingId};
use drysheath_syntax::Medium;
use drysheath_text::TextRange;

use crate::figures::below;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::settings::PracticeKey;
use drysheath_office::route::{length, position_at, shown_length, tap_position};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::CableEndUnwatched,
    level: Level::Warning,
    while_planned: Some(Level::Note),
    yields_to: &[],
    family: Family::Air,
    summary: "No pressure sensor sees the far end of a cable or of a branch.",
    explanation: "The far end has the least pressure: what goes wrong anywhere shows there first, and what goes wrong beyond \
                  the last sensor does not show at all. Put a pressure sensor at the end, or within the part of the way \
                  that the setting `far-end-within` allows. An end from which a run leads on is no far end. A cable whose \
                  length is not known is left out.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
cable c101 {
#     ^^^^
    pairs 50
    gauge 24 awg
    rating 20 psi
    section s1 { underground 1.2 km, depth 2 m, resistance 0.09 psi/scfh/kft, usage 3 scfh }
    section s2 { buried 2.5 km, resistance 0.14 psi/scfh/kft, usage 4 scfh }
}
",
        passing: r"
cable c101 {
    pairs 50
    gauge 24 awg
    rating 20 psi
    section s1 { underground 1.2 km, depth 2 m, resistance 0.09 psi/scfh/kft, usage 3 scfh }
    section s2 { buried 2.3 km, resistance 0.14 psi/scfh/kft, usage 4 scfh }
}
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    if office.unsure.about(Medium::Air) || office.things().any(|(id, thing)| may_stand_anywhere(office, id, thing)) {
        return;
    }
    for (id, cable) in office.of_kind(KindId::Cable) {
        judge(inspection, (id, cable), None, cable.name, sink);
        for (branch, place, _) in cable.named(Key::Branch) {
            let range = if place.file == office.file {
                place.range
            } else {
                cable.name
            };
            judge(inspection, (id, cable), Some(branch), range, sink);
        }
    }
}

/// Whether it is a pressure sensor whose position could not be read.
fn may_stand_anywhere(office: &Office, id: ThingId, thing: &Thing) -> bool {
    thing.damaged && senses_pressure(thing) && office.host(id).is_none_or(|at| at.thing.is_none())
}

fn senses_pressure(thing: &Thing) -> bool {
    thing.is(KindId::PressureSensor) || thing.is(KindId::FlowSensor) && thing.has(Key::Pressure)
}

fn judge(
    inspection: &Inspection<'_>,
    (id, cable): (ThingId, &Thing),
    branch: Option<&str>,
    range: TextRange,
    sink: &mut Sink<'_>,
) {
    let Some(length) = length(cable, branch) else { return };
    let nearest = length * (1.0 - inspection.settings.fraction(PracticeKey::FarEndWithin));
    if branch.is_none() && leads_on(inspection, id) {
        return;
    }
    let farthest = farthest(inspection, id, branch);
    if farthest.is_some_and(|farthest| !below(farthest, nearest)) {
        return;
    }
    let office = inspection.office;
    let what = match branch {
        None => format!("`{}`", office.name(id)),
        Some(branch) => format!("branch `{branch}` of `{}`", office.name(id)),
    };
    let shown = |metres| shown_length(cable, branch, metres);
    let message = match farthest {
        Some(farthest) => format!(
            "no pressure sensor sees the far end of {what} at {}: the last one stands at {}",
            shown(length),
            shown(farthest)
        ),
        None => format!("no pressure sensor sees the far end of {what} at {}", shown(length)),
    };
    sink.report(id, range, message).help(format!(
        "put a pressure sensor at its end, or at least at {}",
        shown(nearest)
    ));
}

/// Whether a run leaves or reaches the far end of a cable.
fn leads_on(inspection: &Inspection<'_>, cable: ThingId) -> bool {
    let air = &inspection.networks.air;
    let is_blind = |id| {
        let thing = inspection.office.thing(id);
        thing.is(KindId::HumiditySensor) || thing.is(KindId::DewPointSensor)
    };
    air.leaving(cable)
        .any(|link| link.from.port.role == Role::Outlet && !is_blind(link.to.thing))
        || air.leading_to(cable).any(|link| link.to.port.role == Role::Outlet)
}

/// The distance of the outermost pressure sensor, in metres.
fn farthest(inspection: &Inspection<'_>, cable: ThingId, branch: Option<&str>) -> Option<f64> {
    let office = inspection.office;
    let senses = |id: &ThingId| senses_pressure(office.thing(*id));
    let standing = inspection.networks.standing_at(cable).filter(senses);
    let standing = standing.filter_map(|id| position_at(office, office.host(id)?));
    let fed = inspection
        .networks
        .air
        .leaving(cable)
        .filter(|link| senses(&link.to.thing));
    let fed = fed.filter_map(|link| tap_position(office, link));
    standing
        .chain(fed)
        .filter(|spot| spot.branch == branch)
        .map(|spot| spot.metres)
        .max_by(f64::total_cmp)
}
