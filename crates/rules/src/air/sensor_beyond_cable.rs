use drysheath_engineering::units::Quantity;
use drysheath_office::kinds::{Key, Kind, KindId};
use drysheath_office::{Fields, Office, StatedPosition, Thing, ThingId};
use drysheath_text::Place;

use crate::figures::{below, report_said, same};
use crate::finding::{Finding, Sink};
use crate::lint::Inspection;
use crate::precedence::Subject;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use drysheath_office::line::{is_line, length, shown_length};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::SensorBeyondCable,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Air,
    summary: "Equipment is placed farther out than its cable or pipe reaches.",
    explanation: "Distances count from the office end, or from the beginning of the branch. A sensor, a place or a branch \
                  beyond the end is a slip in the distance or in the length of a section, and whoever goes out to find it \
                  walks past it. A distance before the beginning is reported in the same way, and so is a distance along a \
                  cable that declares no section. Distances that differ from the length by less than a thousandth are taken \
                  for the end.",
    source: Source::Derived("the sum of the sections"),
    example: Some(Example {
        failing: r"
pressure-sensor ps1 {
    at    c101 3.3 km
#   ^^^^^^^^^^^^^^^^^
    span  0 .. 15 psi
    step  0.1 psi
    error 0.2 psi
    proof 30 psi
    limit low 6.7 psi minor deadband 0.3 psi
}
",
        passing: r"
pressure-sensor ps1 {
    at    c101 3.2 km
    span  0 .. 15 psi
    step  0.1 psi
    error 0.2 psi
    proof 30 psi
    limit low 6.7 psi minor deadband 0.3 psi
}
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for (id, host) in office.things().filter(|(_, thing)| is_line(thing)) {
        let main = length(host, None);
        for sensor in inspection.networks.standing_at(id) {
            if let Some(at) = office.host(sensor) {
                standing(office, (id, host, main), sensor, at, sink);
            }
        }
        let Some(main) = main else { continue };
        for (key, word) in [(Key::Place, Key::At), (Key::Branch, Key::From)] {
            for (name, _, fields) in host.named(key) {
                let Some((distance, place)) = fields.quantity(word) else {
                    continue;
                };
                if is_beyond(distance, main) {
                    let what = format!("the {} `{name}`", key.word());
                    let end = (format!("`{}`", office.name(id)), shown_length(host, None, main));
                    report(office, (id, place), &what, distance, &end, sink);
                }
            }
        }
    }
}

fn standing(
    office: &Office,
    (id, host, main): (ThingId, &Thing, Option<f64>),
    sensor: ThingId,
    at: &StatedPosition,
    sink: &mut Sink<'_>,
) {
    // A place beyond the end is reported at its declaration.
    let Some(distance) = at.distance else { return };
    let branch = at.branch.as_deref();
    let length = if branch.is_some() { length(host, branch) } else { main };
    let has_no_section = || branch.is_none() && !host.damaged && host.is(KindId::Cable) && !host.has(Key::Section);
    let Some(length) = length
        .or_else(|| has_no_section().then_some(0.0))
        .filter(|length| is_beyond(distance, *length))
    else {
        return;
    };
    let thing = office.thing(sensor);
    let Some(field) = thing.field(Key::At) else { return };
    let along = match branch {
        None => format!("`{}`", office.name(id)),
        Some(branch) => format!("branch `{branch}` of `{}`", office.name(id)),
    };
    let what = format!("the {} `{}`", thing.kind.map_or("", Kind::word), office.name(sensor));
    if has_no_section() {
        let message = format!("{what} is placed at {distance}, and {along} has no section");
        report_said(sink, office, sensor, field.place, message)
            .related(office.place(host.name), "its sections are not declared")
            .help("declare the sections of the cable, which give its length");
        return;
    }
    report(
        office,
        (sensor, field.place),
        &what,
        distance,
        &(along, shown_length(host, branch, length)),
        sink,
    )
    .about([Subject::Signal(sensor, "")]);
}

fn is_beyond(distance: Quantity, length: f64) -> bool {
    let metres = distance.si();
    below(metres, 0.0) || below(length, metres) && !same(length, metres)
}

fn report<'s>(
    office: &Office,
    (on, place): (ThingId, Place),
    what: &str,
    distance: Quantity,
    (along, length): &(String, String),
    sink: &'s mut Sink<'_>,
) -> &'s mut Finding {
    let message = if below(distance.si(), 0.0) {
        format!("{what} is placed at {distance}, before the beginning of {along}")
    } else {
        format!("{what} is placed at {distance}, and {along} ends at {length}")
    };
    report_said(sink, office, on, place, message).help("correct the distance, or the length of a section")
}
