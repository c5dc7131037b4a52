use drysheath_engineering::measure::{Flow, Pressure};
use drysheath_engineering::network::RegulatorState;
use drysheath_office::kinds::Key;
use drysheath_office::{Given, ThingId};
use drysheath_prediction::OutletBounds;

use crate::Explainer;

/// The pressures before and behind something that air passes, and its flow.
#[derive(Clone, Copy, Debug)]
pub struct Passing {
    /// Pressure of the supply.
    pub inlet: Option<Pressure>,
    /// Predicted gauge pressure at its outlet.
    pub outlet: Option<Pressure>,
    /// Predicted flow through the regulator.
    pub flow: Option<Flow>,
}

/// What a regulator is set to and how it works.
#[derive(Clone, Copy, Debug)]
pub struct RegulatorFacts {
    /// The set pressure that is stated.
    pub set: Option<Given>,
    /// The pressures at it and its flow.
    pub passing: Passing,
    /// Whether it regulates, is wide open or is shut.
    pub state: Option<RegulatorState>,
    /// What its outlet pressure is between where it is out of regulation.
    pub bounds: Option<OutletBounds>,
}

impl Explainer<'_> {
    /// What passes a regulator, valve or flow sensor.
    pub fn passing(&self, id: ThingId) -> Passing {
        let air = &self.prediction.air;
        Passing {
            inlet: air.inlet(id),
            outlet: air.outlet(id),
            flow: air.through(id).map(|state| state.flow),
        }
    }

    /// The facts about a regulator.
    pub fn regulator(&self, id: ThingId) -> RegulatorFacts {
        RegulatorFacts {
            set: self.office.given(id, Key::Set),
            passing: self.passing(id),
            bounds: self.prediction.air.outlet_bounds(id),
            state: self.prediction.air.through(id).and_then(|state| state.regulator),
        }
    }
}
