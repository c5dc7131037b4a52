//! Where sections and pipes are declared in the office's own file.

use drysheath_office::kinds::Key;
use drysheath_office::{Field, Fields, Office};
use drysheath_prediction::{Route, RouteSection};
use drysheath_text::TextRange;

/// Where a section or pipe is declared in the office's own file: the section's name, or the thing's.
pub(crate) fn section_range(office: &Office, line: &Route, reach: &RouteSection) -> TextRange {
    let thing = office.thing(line.thing);
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

/// The sections of some routes, each with its route.
pub(crate) fn sections(lines: &[Route]) -> impl Iterator<Item = (&Route, &RouteSection)> {
    lines
        .iter()
        .flat_map(|line| line.sections.iter().map(move |reach| (line, reach)))
}
