//! Distances along cables and air pipes.

use drysheath_engineering::units::{Quantity, Unit, find};

use crate::graph::{Link, Networks};
use crate::kinds::{Key, KindId, Role, SURROUNDINGS};
use crate::model::{Office, Thing, ThingId};
use crate::value::{Field, Fields, StatedPosition};

/// A point on a cable or air pipe.
#[derive(Clone, Copy, Debug)]
pub struct LinePosition<'o> {
    /// The cable or pipe.
    pub host: ThingId,
    /// Name of the branch. `None` for the main cable.
    pub branch: Option<&'o str>,
    /// Metres from the office end, or from the beginning of the branch.
    pub metres: f64,
}

/// The position that an `at` field states.
pub fn position_at<'o>(office: &'o Office, at: &'o StatedPosition) -> Option<LinePosition<'o>> {
    let host = at.thing?;
    let branch = at.branch.as_deref();
    if let Some(distance) = at.distance {
        return Some(LinePosition {
            host,
            branch,
            metres: distance.si(),
        });
    }
    let (_, _, fields) = office
        .thing(host)
        .named(Key::Place)
        .find(|(name, ..)| at.place.as_deref() == Some(*name))?;
    // A named place is on the trunk.
    Some(LinePosition {
        host,
        branch: None,
        metres: fields.quantity(Key::At)?.0.si(),
    })
}

/// The position of a thing: its stated place, or the point where the run that brings its air leaves a cable or pipe.
pub fn position_of<'o>(office: &'o Office, networks: &Networks, thing: ThingId) -> Option<LinePosition<'o>> {
    match office.host(thing) {
        Some(at) => position_at(office, at),
        None => networks
            .air
            .leading_to(thing)
            .find_map(|link| tap_position(office, link)),
    }
}

/// The point where a run leaves a cable or pipe.
pub fn tap_position<'o>(office: &'o Office, link: &Link) -> Option<LinePosition<'o>> {
    let host = link.from.thing;
    let thing = Some(office.thing(host)).filter(|thing| is_line(thing))?;
    let metres = if link.from.port.role == Role::Tap {
        let at = (link.from.number as usize).checked_sub(1)?;
        let (_, _, fields) = thing.named(Key::Place).nth(at)?;
        fields.quantity(Key::At)?.0.si()
    } else {
        length(thing, None)?
    };
    Some(LinePosition {
        host,
        branch: None,
        metres,
    })
}

/// Whether it is a cable or air pipe.
pub fn is_line(thing: &Thing) -> bool {
    thing.is(KindId::Cable) || thing.is(KindId::AirPipe)
}

/// Length in metres of a cable, a branch of it, or an air pipe. `None` unless all of it is known.
pub fn length(thing: &Thing, branch: Option<&str>) -> Option<f64> {
    if thing.damaged {
        return None;
    }
    if thing.is(KindId::AirPipe) {
        return thing.quantity(Key::Length).map(|(length, _)| length.si());
    }
    let mut sections = sections(thing, branch)?.peekable();
    sections.peek()?;
    sections.try_fold(0.0, |sum, (_, section)| Some(sum + surroundings(section)?.1))
}

/// Names and fields of the sections of a cable or branch, from the office outwards.
pub fn sections<'o>(thing: &'o Thing, branch: Option<&str>) -> Option<impl Iterator<Item = (&'o str, &'o [Field])>> {
    let fields = match branch {
        None => thing.fields(),
        Some(wanted) => thing.named(Key::Branch).find(|(name, ..)| *name == wanted)?.2,
    };
    Some(fields.named(Key::Section).map(|(name, _, section)| (name, section)))
}

/// The surroundings of a section and its length in metres. `None` unless it states exactly one.
pub fn surroundings(section: &[Field]) -> Option<(Key, f64)> {
    let mut said = SURROUNDINGS.into_iter().filter(|key| section.has(*key));
    match (said.next(), said.next()) {
        (Some(key), None) => section.quantity(key).map(|(length, _)| (key, length.si())),
        _ => None,
    }
}

/// Significant digits of a length measured by tape.
pub(crate) const TAPE: i32 = 5;

/// A length along a cable, branch or pipe, in the unit of its own length, with as many digits as a tape measure gives.
pub fn shown_length(thing: &Thing, branch: Option<&str>, metres: f64) -> String {
    length_to_digits(thing, branch, metres, TAPE)
}

/// As [`shown_length`], with this number of significant digits.
pub fn length_to_digits(thing: &Thing, branch: Option<&str>, metres: f64, digits: i32) -> String {
    let unit = length_unit_of(thing, branch).or_else(|| find("m"));
    unit.map_or_else(String::new, |unit| {
        length_in(unit, metres).to_digits(digits).to_string()
    })
}

/// A length in metres, converted to a unit.
pub(crate) fn length_in(unit: &'static Unit, metres: f64) -> Quantity {
    Quantity {
        value: unit.from_si(metres),
        unit,
    }
}

/// The unit in which the length of a cable, branch or pipe is written.
pub(crate) fn length_unit_of(thing: &Thing, branch: Option<&str>) -> Option<&'static Unit> {
    let of_pipe = thing.quantity(Key::Length).map(|(length, _)| length);
    let of_section = || {
        let (_, section) = sections(thing, branch)?.next()?;
        SURROUNDINGS
            .into_iter()
            .find_map(|key| section.quantity(key))
            .map(|(length, _)| length)
    };
    of_pipe.or_else(of_section).map(|length| length.unit)
}
