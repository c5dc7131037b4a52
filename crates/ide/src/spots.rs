//! Places along cables and pipes, in words.

use drysheath_office::Office;
use drysheath_office::along::shown_length;
use drysheath_prediction::Line;

/// A distance along a line, in the unit that the line's own length is written in.
pub(crate) fn distance(office: &Office, line: &Line, metres: f64) -> String {
    office.thing(line.thing).map_or_else(String::new, |thing| {
        shown_length(thing, line.branch_name(office), rounded(metres))
    })
}

/// "at 3.2 km on `c101`", "at the start of `c101`".
pub(crate) fn spot(office: &Office, line: &Line, metres: f64) -> String {
    let of = match line.branch_name(office) {
        Some(branch) => format!("branch `{branch}` of `{}`", office.name(line.thing)),
        None => format!("`{}`", office.name(line.thing)),
    };
    if rounded(metres) == 0.0 {
        return format!("at the start of {of}");
    }
    format!("at {} on {of}", distance(office, line, metres))
}

/// A computed distance to the tenth of a metre.
pub(crate) fn rounded(metres: f64) -> f64 {
    (metres * 10.0).round() / 10.0
}
