//! What sections of cable and pipes need and have, and where they are declared in the office's own file.

use drysheath_engineering::measure::{Length, Pressure};
use drysheath_engineering::units::Quantity;
use drysheath_engineering::water::{CONVENTIONAL, head};
use drysheath_office::kinds::Key;
use drysheath_office::{Fields, Office};
use drysheath_prediction::{Line, LineSection, MinimumPressure, minimum_pressure};
use drysheath_text::{Place, TextRange};

use crate::lint::Inspection;

/// A section of cable, or a pipe, with what it needs and has.
#[derive(Clone, Copy)]
pub(crate) struct SectionState<'i> {
    pub line: &'i Line,
    pub reach: &'i LineSection,
    pub figures: &'i SectionFigures,
}

/// What a section of cable, or a pipe, needs and has. Several rules compare it, so that it is computed once for all of them.
pub(crate) struct SectionFigures {
    /// The minimum pressure that is declared for it.
    pub minimum: Option<MinimumPressure>,
    /// The water that may stand above it.
    pub water: Option<Water>,
    /// Where the pressure is lowest, in metres along the line, and how much it can be there.
    pub lowest: Option<(f64, Pressure)>,
}

/// The water that may stand above a section.
#[derive(Clone, Copy)]
pub(crate) struct Water {
    pub depth: Quantity,
    pub place: Place,
    pub head: Pressure,
}

impl Inspection<'_> {
    /// All sections and pipes, those of one cable or pipe together.
    pub(crate) fn sections(&self) -> impl Iterator<Item = SectionState<'_>> {
        let air = &self.prediction.air;
        let figures = self.sections.get_or_init(|| {
            let practice = self.settings.minimums();
            let figures = |(line, reach)| SectionFigures {
                minimum: minimum_pressure(self.office, &practice, line, reach),
                water: water(self.office, line, reach),
                lowest: air.lowest_at_most(line, reach),
            };
            sections(air.lines()).map(figures).collect()
        });
        let state = |((line, reach), figures)| SectionState { line, reach, figures };
        sections(air.lines()).zip(figures).map(state)
    }
}

/// Divides sections by the cables and pipes that they are of.
pub(crate) fn by_cable<'s, 'i>(sections: &'s [SectionState<'i>]) -> impl Iterator<Item = &'s [SectionState<'i>]> {
    sections.chunk_by(|one, other| one.line.thing == other.line.thing)
}

fn water(office: &Office, line: &Line, reach: &LineSection) -> Option<Water> {
    let (depth, place) = line.section(office, reach)?.1.quantity(Key::Depth)?;
    Some(Water {
        depth,
        place,
        head: head(Length::of(depth)?, CONVENTIONAL),
    })
}

/// Where a section or pipe is declared in the office's own file: the section's name, or the thing's.
pub(crate) fn section_range(office: &Office, line: &Line, reach: &LineSection) -> TextRange {
    match line.section_place(office, reach) {
        Some(place) if place.file == office.file => place.range,
        _ => office.thing(line.thing).name,
    }
}

/// The sections of some lines, each with its line.
fn sections(lines: &[Line]) -> impl Iterator<Item = (&Line, &LineSection)> {
    lines
        .iter()
        .flat_map(|line| line.sections.iter().map(move |reach| (line, reach)))
}
