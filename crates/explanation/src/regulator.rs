use drysheath_engineering::measure::{Flow, Pressure};
use drysheath_engineering::network::RegulatorState;
use drysheath_office::kinds::Key;
use drysheath_office::{GivenQuantity, ThingId};
use drysheath_prediction::OutletBounds;

use crate::Explainer;

/// Pressures before and behind an element, and its flow.
#[derive(Clone, Copy, Debug)]
pub struct OperatingPoint {
    /// Predicted gauge pressure at its inlet.
    pub inlet: Option<Pressure>,
    /// Predicted gauge pressure at its outlet.
    pub outlet: Option<Pressure>,
    /// Predicted flow through it.
    pub flow: Option<Flow>,
}

/// Figures of a regulator.
#[derive(Clone, Copy, Debug)]
pub struct RegulatorFacts {
    /// The stated set pressure.
    pub set: Option<GivenQuantity>,
    /// Pressures and flow at the regulator.
    pub operating_point: OperatingPoint,
    /// Whether it regulates, is out of regulation or is closed.
    pub state: Option<RegulatorState>,
    /// Bounds of its outlet pressure if it is out of regulation.
    pub bounds: Option<OutletBounds>,
}

impl Explainer<'_> {
    /// Pressures and flow of a regulator, valve or flow sensor.
    pub fn operating_point(&self, id: ThingId) -> OperatingPoint {
        let air = &self.prediction.air;
        OperatingPoint {
            inlet: air.inlet(id),
            outlet: air.outlet(id),
            flow: air.through(id).map(|state| state.flow),
        }
    }

    /// The figures of a regulator.
    pub fn regulator(&self, id: ThingId) -> RegulatorFacts {
        RegulatorFacts {
            set: self.office.given(id, Key::Set),
            operating_point: self.operating_point(id),
            bounds: self.prediction.air.outlet_bounds(id),
            state: self.prediction.air.through(id).and_then(|state| state.regulator),
        }
    }
}
