use drysheath_engineering::measure::Pressure;
use drysheath_office::Field;
use drysheath_prediction::{Line, LineSection, MinimumPressure, minimum_pressure};

use crate::{Bound, Explainer};

/// The air in a section of cable or in a pipe.
#[derive(Clone, Copy)]
pub struct SectionAir<'a> {
    /// The cable, branch or pipe.
    pub line: &'a Line,
    /// The section of the line.
    pub section: &'a LineSection,
    /// Name and fields of the section. `None` for a pipe.
    pub stated: Option<(&'a str, &'a [Field])>,
    /// Point of lowest pressure: distance along the line in metres, and the gauge pressure.
    pub lowest: Option<(f64, Pressure)>,
    /// The minimum pressure that the section, the office or the settings declare.
    pub minimum: Option<MinimumPressure>,
    /// The minimum as a bound, Pa gauge.
    pub bound: Option<Bound>,
}

impl SectionAir<'_> {
    /// Margin of the lowest pressure over the minimum, Pa.
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
