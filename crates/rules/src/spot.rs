//! Naming places on lines as somebody would who has to drive there.

use drysheath_office::along::shown_length;
use drysheath_office::kinds::Key;
use drysheath_office::{Field, Fields, Office};
use drysheath_prediction::{Line, Reach};
use drysheath_text::TextRange;

/// "`c101`", "branch `b1` of `c101`".
pub(crate) fn line_name(office: &Office, line: &Line) -> String {
    let thing = office.name(line.thing);
    match line.branch_name(office) {
        Some(branch) => format!("branch `{branch}` of `{thing}`"),
        None => format!("`{thing}`"),
    }
}

/// "at 3.2 km on `c101`", "at the start of `c101`".
pub(crate) fn spot_name(office: &Office, line: &Line, metres: f64) -> String {
    const AT_THE_START: f64 = 0.01;
    let of = line_name(office, line);
    if metres < AT_THE_START {
        return format!("at the start of {of}");
    }
    format!("at {} on {of}", length_name(office, line, metres))
}

/// A distance along a line: "3.2 km".
pub(crate) fn length_name(office: &Office, line: &Line, metres: f64) -> String {
    office.thing(line.thing).map_or(String::new(), |thing| {
        shown_length(thing, line.branch_name(office), metres)
    })
}

/// Where a section or pipe is declared in the office's own file: the section's name, or the thing's.
pub(crate) fn reach_range(office: &Office, line: &Line, reach: &Reach) -> TextRange {
    let Some(thing) = office.thing(line.thing) else {
        return TextRange::default();
    };
    let own: &[Field] = match line.branch {
        None => thing.fields(),
        Some(branch) => thing
            .named(Key::Branch)
            .nth(branch as usize)
            .map_or(&[], |(_, _, fields)| fields),
    };
    match own.named(Key::Section).nth(reach.section as usize) {
        Some((_, place, _)) if reach.surroundings.is_some() && place.file == office.file => place.range,
        _ => thing.name,
    }
}

/// The sections of some lines, each with its line.
pub(crate) fn reaches(lines: &[Line]) -> impl Iterator<Item = (&Line, &Reach)> {
    lines
        .iter()
        .flat_map(|line| line.reaches.iter().map(move |reach| (line, reach)))
}
