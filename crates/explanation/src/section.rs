use drysheath_engineering::measure::Pressure;
use drysheath_office::Field;
use drysheath_prediction::{MinimumPressure, Route, RouteSection, minimum_pressure};

use crate::{Bound, Explainer};

/// The air in a section of cable or in a whole pipe.
#[derive(Clone, Copy)]
pub struct SectionAir<'a> {
    /// The cable, branch or pipe.
    pub line: &'a Route,
    /// Where along it.
    pub reach: &'a RouteSection,
    /// Name and fields of a section; a pipe has none.
    pub stated: Option<(&'a str, &'a [Field])>,
    /// Where the pressure is lowest, in metres along the line, and how low.
    pub lowest: Option<(f64, Pressure)>,
    /// The least pressure that is declared.
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
    pub fn sections(&self, line: &'a Route) -> impl Iterator<Item = SectionAir<'a>> + use<'a> {
        let explainer = *self;
        line.sections.iter().map(move |reach| explainer.section(line, reach))
    }

    fn section(&self, line: &'a Route, reach: &'a RouteSection) -> SectionAir<'a> {
        let minimum = minimum_pressure(self.office, &self.minimums, line, reach);
        SectionAir {
            line,
            reach,
            stated: line
                .section(self.office, reach)
                .filter(|_| reach.surroundings.is_some()),
            lowest: self.prediction.air.lowest(line, reach),
            minimum,
            bound: minimum.map(|minimum| Bound::at_least(self.office.figure(minimum.quantity))),
        }
    }
}
