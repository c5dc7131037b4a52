//! Required and computed figures of sections of cable and pipes, and where these are declared in the office's own file.

use drysheath_engineering::measure::{Length, Pressure};
use drysheath_engineering::units::Quantity;
use drysheath_engineering::water::{CONVENTIONAL, head};
use drysheath_office::kinds::Key;
use drysheath_office::{Fields, Office};
use drysheath_prediction::{Line, LineSection, MinimumPressure, minimum_pressure};
use drysheath_text::{Place, TextRange};

use crate::lint::Inspection;

/// A section of cable, or a pipe, with its figures.
#[derive(Clone, Copy)]
pub(crate) struct SectionState<'i> {
    pub line: &'i Line,
    pub reach: &'i LineSection,
    pub figures: &'i SectionFigures,
}

/// Required and computed figures of a section of cable or a pipe, computed once for all rules.
pub(crate) struct SectionFigures {
    /// The minimum pressure that the section, the office or the settings declare.
    pub minimum: Option<MinimumPressure>,
    /// Water that may stand above it.
    pub water: Option<Water>,
    /// Point of lowest pressure in metres along the line, and the upper bound of the pressure there.
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
    /// All sections and pipes; those of one cable or pipe are adjacent.
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

/// Groups sections by their cable or pipe.
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

/// Place of a section or pipe in the office's own file: the section's name, or the thing's.
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
