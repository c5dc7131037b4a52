//! Names of places on lines, in the words of a field crew.

use drysheath_office::Office;
use drysheath_office::line::shown_length;

use crate::line::Line;

/// Name of a line: "`c101`", "branch `b1` of `c101`".
pub fn line_name(office: &Office, line: &Line) -> String {
    let thing = office.name(line.thing);
    match line.branch_name(office) {
        Some(branch) => format!("branch `{branch}` of `{thing}`"),
        None => format!("`{thing}`"),
    }
}

/// Name of a place on a line: "at 3.2 km on `c101`", "at the start of `c101`".
pub fn position_name(office: &Office, line: &Line, metres: f64) -> String {
    const AT_THE_START: f64 = 0.01;
    let of = line_name(office, line);
    if metres < AT_THE_START {
        return format!("at the start of {of}");
    }
    format!("at {} on {of}", distance_name(office, line, metres))
}

/// Formats a distance along a line: "3.2 km".
pub fn distance_name(office: &Office, line: &Line, metres: f64) -> String {
    shown_length(office.thing(line.thing), line.branch_name(office), metres)
}
