use drysheath_engineering::measure::Pressure;
use drysheath_office::kinds::{Key, Kind, KindId};
use drysheath_office::{Fields, Networks, Office, Thing, ThingId};
use drysheath_prediction::Line;
use drysheath_syntax::Medium;
use drysheath_text::TextRange;

use crate::figures::below;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::Subject;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::settings::PracticeKey;
use drysheath_office::line::{length, position_at, shown_length, tap_position};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::CableEndUnwatched,
    level: Level::Warning,
    while_planned: Some(Level::Note),
    yields_to: &[],
    family: Family::Air,
    summary: "Nothing watches the place of a cable or branch where the pressure is lowest.",
    explanation: "The far end of a cable has the lowest pressure: what goes wrong anywhere shows there first, and what goes \
                  wrong beyond the last sensor does not show at all. A cable that is fed from both ends is lowest in between, \
                  where the computed pressure says, or else in its middle. Put a pressure sensor with a low limit there, or a \
                  pressure switch; the setting `far-end-within` says how far away it may be, as a part of the length. A sensor \
                  without a low limit raises no alarm and does not count. An end from which a run leads on to more cable is not a far end. A cable whose length is not known is left out.",
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
    // A cable that may only carry pairs has no air to watch.
    let with_air = office
        .of_kind(KindId::Cable)
        .filter(|(id, _)| !office.may_only_carry_pairs(*id));
    for (id, cable) in with_air {
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

/// Whether a sensor might watch a cable: its position or limits could not be read.
fn may_stand_anywhere(office: &Office, id: ThingId, thing: &Thing) -> bool {
    thing.damaged && senses_pressure(thing) && office.host(id).is_none_or(|at| at.thing.is_none())
}

fn senses_pressure(thing: &Thing) -> bool {
    thing.is(KindId::PressureSensor)
        || thing.is(KindId::PressureSwitch)
        || thing.is(KindId::FlowSensor) && thing.has(Key::Pressure)
}

/// Whether a thing raises an alarm at low pressure: a sensor with a low limit, or a switch.
fn watches(thing: &Thing) -> bool {
    let own = match thing.kind.map(|kind| kind.id) {
        Some(KindId::Contact) => return true,
        Some(KindId::PressureSensor | KindId::PressureSwitch) => Some(thing.fields()),
        Some(KindId::FlowSensor) => thing.group(Key::Pressure),
        _ => None,
    };
    // The unreadable text may be its limit.
    own.is_some_and(|fields| thing.damaged || fields.limits().any(|(limit, _)| limit.level.is_low()))
}

fn judge(
    inspection: &Inspection<'_>,
    (id, cable): (ThingId, &Thing),
    branch: Option<&str>,
    range: TextRange,
    sink: &mut Sink<'_>,
) {
    let Some(length) = length(cable, branch) else { return };
    let leeway = length * inspection.settings.fraction(PracticeKey::FarEndWithin);
    let end = match branch {
        None if is_fed_at_end(inspection, id) => match lowest(inspection, id) {
            Some(at) => End::Between(at),
            // The length may be unknown because of unreadable text.
            None if has_unread(inspection.office) => return,
            None => End::Between(length / 2.0),
        },
        None if leads_on(inspection, id) => return,
        _ => End::Far(length),
    };
    let (End::Far(at) | End::Between(at)) = end;
    let positions = positions(inspection, id, branch);
    // A sensor beyond the end is reported by another rule.
    let distance = |metres: &f64| match end {
        End::Far(length) => (length - metres).max(0.0),
        End::Between(_) => (metres - at).abs(),
    };
    let nearest = positions
        .iter()
        .copied()
        .filter(|(_, watches)| *watches)
        .map(|(metres, _)| metres);
    let nearest = nearest.min_by(|one, other| distance(one).total_cmp(&distance(other)));
    if nearest.is_some_and(|metres| !below(leeway, distance(&metres))) {
        return;
    }
    let office = inspection.office;
    let what = match branch {
        None => format!("`{}`", office.name(id)),
        Some(branch) => format!("branch `{branch}` of `{}`", office.name(id)),
    };
    let shown = |metres| shown_length(cable, branch, metres);
    let place = match end {
        End::Far(length) => format!("the far end of {what} at {}", shown(length)),
        End::Between(at) => format!("{what} at {}, where it is lowest between its two feeds", shown(at)),
    };
    let message = match nearest {
        Some(nearest) => format!(
            "no pressure sensor watches {place}: the nearest with a low limit is at {}",
            shown(nearest)
        ),
        None if positions.is_empty() => format!("no pressure sensor watches {place}"),
        None => format!("no pressure sensor with a low limit watches {place}"),
    };
    let help = match end {
        End::Far(length) => format!(
            "put a pressure sensor with a low limit at its end, or at least at {}",
            shown(length - leeway)
        ),
        End::Between(at) => format!(
            "put a pressure sensor with a low limit between {} and {}",
            shown((at - leeway).max(0.0)),
            shown((at + leeway).min(length))
        ),
    };
    let number = branch.and_then(|branch| cable.named(Key::Branch).position(|(name, ..)| name == branch));
    sink.report(id, range, message)
        .about([Subject::LineEnd(id, number.map(|number| number as u32))])
        .help(help);
}

/// Whether text could not be read in this office, or in one that shares a route with it.
fn has_unread(office: &Office) -> bool {
    let is_unread = |office: &Office| office.problems.iter().any(|problem| problem.id.leaves_unread());
    is_unread(office) || office.neighbours.iter().any(|other| is_unread(other)) || !office.apart.is_empty()
}

/// Where a cable or branch has to be watched, in metres from its beginning.
#[derive(Clone, Copy)]
enum End {
    /// At its far end.
    Far(f64),
    /// Between its two ends, both of which are fed.
    Between(f64),
}

/// Whether a cable is also fed at its far end.
fn is_fed_at_end(inspection: &Inspection<'_>, cable: ThingId) -> bool {
    let enters = |networks: &Networks, cable| {
        let mut leading = networks.air.leading_to(cable);
        leading.any(|link| link.to.is_outlet() && networks.is_reached_at(&link.from))
    };
    let mut elsewhere = inspection.networks.elsewhere(inspection.office, cable);
    enters(inspection.networks, cable) || elsewhere.any(|(other, cable)| enters(other.networks, cable))
}

/// Distance of the lowest computed pressure of a cable, in metres.
fn lowest(inspection: &Inspection<'_>, cable: ThingId) -> Option<f64> {
    let air = &inspection.prediction.air;
    let is_trunk = |route: &&Line| route.thing == cable && route.branch.is_none();
    let route = air.lines().iter().find(is_trunk)?;
    let mut found: Option<(f64, Pressure)> = None;
    for section in &route.sections {
        let (metres, pressure) = air.lowest(route, section)?;
        if found.is_none_or(|(_, lowest)| pressure < lowest) {
            found = Some((metres, pressure));
        }
    }
    found.map(|(metres, _)| metres)
}

/// Whether an air run leads on from the far end of a cable to more than a sensor.
fn leads_on(inspection: &Inspection<'_>, cable: ThingId) -> bool {
    let is_sensor = |office: &Office, id| {
        let kind = office.thing(id).kind;
        kind.is_some_and(Kind::is_sensor) && !office.thing(id).is(KindId::FlowSensor)
    };
    let goes_on = |office: &Office, networks: &Networks, cable| {
        let mut leaving = networks.air.leaving(cable);
        leaving.any(|link| link.from.is_outlet() && !is_sensor(office, link.to.thing))
    };
    let mut elsewhere = inspection.networks.elsewhere(inspection.office, cable);
    goes_on(inspection.office, inspection.networks, cable)
        || elsewhere.any(|(other, cable)| goes_on(other.office, other.networks, cable))
}

/// Distances in metres of the devices that sense the pressure of a cable or branch, and whether each raises an alarm at
/// low pressure.
fn positions(inspection: &Inspection<'_>, cable: ThingId, branch: Option<&str>) -> Vec<(f64, bool)> {
    let mut all = positions_in(inspection.office, inspection.networks, cable, branch);
    for (other, cable) in inspection.networks.elsewhere(inspection.office, cable) {
        all.extend(positions_in(other.office, other.networks, cable, branch));
    }
    all
}

fn positions_in(office: &Office, networks: &Networks, cable: ThingId, branch: Option<&str>) -> Vec<(f64, bool)> {
    let senses = |id: ThingId| senses_pressure(office.thing(id)) || office.thing(id).is(KindId::Contact);
    let standing = networks.standing_at(cable).filter(|id| senses(*id));
    let standing = standing.filter_map(|id| Some((position_at(office, office.host(id)?)?, id)));
    let leaving = networks.air.leaving(cable);
    let fed = leaving.filter(|link| senses(link.to.thing));
    let fed = fed.filter_map(|link| Some((tap_position(office, link)?, link.to.thing)));
    standing
        .chain(fed)
        .filter(|(position, _)| position.branch == branch)
        .map(|(position, id)| (position.metres, watches(office.thing(id))))
        .collect()
}
