use drysheath_engineering::measure::Pressure;
use drysheath_office::Field;
use drysheath_prediction::{Line, LineSection, MinimumPressure, minimum_pressure};

use crate::{Bound, Explainer};

/// The air in a section of cable or in a whole pipe.
#[derive(Clone, Copy)]
pub struct SectionAir<'a> {
    /// The cable, branch or pipe.
    pub line: &'a Line,
    /// The part of the line that the section is.
    pub section: &'a LineSection,
    /// Name and fields of a section; a pipe has none.
    pub stated: Option<(&'a str, &'a [Field])>,
    /// Where the pressure is lowest, in metres along the line, and how low.
    pub lowest: Option<(f64, Pressure)>,
    /// The minimum pressure that is declared.
    pub minimum: Option<MinimumPressure>,
    /// The same above the surrounding air, in Pa.
    pub bound: Option<Bound>,
}

impl SectionAir<'_> {
    /// What the lowest pressure has above the least that is declared, in Pa.
    pub fn margin(&self) -> Option<f64> {
        let (_, lowest) = self.lowest?;
        Some(self.bound?.margin(lowest.pascals()))
    }
}

impl<'a> Explainer<'a> {
    /// The sections of a line, from its beginning outwards.
    pub fn sections(&self, line: &'a Line) -> impl Iterator<Item = SectionAir<'a>> + use<'a> {
        let explainer = *self;
        line.sections
            .iter()
            .map(move |section| explainer.section(line, section))
    }

    fn section(&self, line: &'a Line, section: &'a LineSection) -> SectionAir<'a> {
        let minimum = minimum_pressure(self.office, &self.minimums, line, section);
        SectionAir {
            line,
            section,
            stated: line
                .section(self.office, section)
                .filter(|_| section.surroundings.is_some()),
            lowest: self.prediction.air.lowest(line, section),
            minimum,
            bound: minimum.map(|minimum| Bound::at_least(self.office.figure(minimum.quantity))),
        }
    }
}
