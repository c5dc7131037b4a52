//! Stretches of cables, branches and pipes in messages.

use drysheath_office::Fields;
use drysheath_office::kinds::Key;
use drysheath_office::line::length_to_digits;
use drysheath_prediction::{Line, line_name};
use drysheath_text::{Place, TextRange};

use crate::figures::below;
use crate::lint::Inspection;

/// Tolerance for equal places, and shortest stretch worth a result, m.
pub(super) const NEAR: f64 = 2.0;

/// Position of a stretch as text: "anywhere on `c101`", "between 0.4 km and 1.2 km of `c101`".
pub(super) fn location_text(inspection: &Inspection<'_>, line: &Line, (from, to): (f64, f64)) -> String {
    let office = inspection.office;
    let name = line_name(office, line);
    let is_start = from <= 0.0;
    let is_end = line.length().is_some_and(|length| !below(to, length));
    let at = |metres| distance(inspection, line, metres);
    match (is_start, is_end) {
        (true, true) => format!("anywhere on {name}"),
        (true, false) => format!("on the first {} of {name}", at(to)),
        (false, true) => format!("between {} and the end of {name}", at(from)),
        (false, false) => format!("between {} and {} of {name}", at(from), at(to)),
    }
}

/// Formats a distance along a line for the end of a stretch.
pub(super) fn distance(inspection: &Inspection<'_>, line: &Line, metres: f64) -> String {
    const DIGITS: i32 = 3;
    let office = inspection.office;
    length_to_digits(office.thing(line.thing), line.branch_name(office), metres, DIGITS)
}

/// Place where the cable, branch or pipe is declared.
pub(super) fn declared_at(inspection: &Inspection<'_>, line: &Line) -> TextRange {
    let office = inspection.office;
    let thing = office.thing(line.thing);
    let branch = line
        .branch
        .and_then(|branch| thing.named(Key::Branch).nth(branch as usize));
    let own = |place: &Place| place.file == office.file;
    branch
        .map(|(_, place, _)| place)
        .filter(own)
        .map_or(thing.name, |place| place.range)
}
