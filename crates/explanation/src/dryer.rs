use drysheath_engineering::compressor::Cycle;
use drysheath_engineering::measure::{Flow, Time};
use drysheath_engineering::moisture::SaturationPoint;
use drysheath_office::kinds::Key;
use drysheath_office::{GivenQuantity, ThingId};
use drysheath_prediction::{AirLocation, Capacity, Dryness, bottles, bottles_last, capacity, cycle};

use crate::Explainer;

/// Figures of a dryer.
#[derive(Clone, Copy, Debug)]
pub struct DryerFacts {
    /// Delivery pressure, if stated or by default.
    pub delivers: Option<GivenQuantity>,
    /// Flow that it has to deliver.
    pub flow: Option<Flow>,
    /// Flow required to hold its pressure, if that exceeds its capacity.
    pub asked: Option<Flow>,
    /// Duty cycle of its compressor.
    pub cycle: Option<Cycle>,
    /// Whether it delivers nothing because the pressure of another source is higher.
    pub backed_up: bool,
    /// Capacity at this office.
    pub rating: Option<Rating>,
    /// Dryness of its air.
    pub dryness: Option<Dryness>,
}

/// The capacity of a dryer, and the conditions for which it is stated.
#[derive(Clone, Copy, Debug)]
pub struct Rating {
    /// Capacity at this office.
    pub capacity: Capacity,
    /// Standard pressure of the stated capacity.
    pub pressure: Option<GivenQuantity>,
    /// Standard temperature of the stated capacity.
    pub temperature: Option<GivenQuantity>,
    /// Elevation that the stated capacity applies to.
    pub elevation: Option<GivenQuantity>,
}

impl DryerFacts {
    /// Ratio of the flow to the capacity.
    pub fn duty(&self) -> Option<f64> {
        let rating = self.rating?;
        Some(self.flow?.cubic_metres_per_second() / rating.capacity.flow.cubic_metres_per_second())
    }

    /// Saturation point of its air at delivery pressure.
    pub fn saturation(&self) -> Option<SaturationPoint> {
        let dryness = self.dryness?;
        dryness.saturation_point(dryness.at)
    }
}

/// Figures of a bank of bottles.
#[derive(Clone, Copy, Debug)]
pub struct BottleFacts {
    /// Delivery pressure, if stated or by default.
    pub delivers: Option<GivenQuantity>,
    /// Flow that they have to deliver.
    pub flow: Option<Flow>,
    /// Content of one bottle.
    pub holds: Option<GivenQuantity>,
    /// Number of bottles in the bank.
    pub bottles: u32,
    /// Total usage of everything that they feed or are on standby for.
    pub usage: Option<Flow>,
    /// How long full bottles last at that usage.
    pub lasts: Option<Time>,
    /// How dry their gas is.
    pub dryness: Option<Dryness>,
}

impl Explainer<'_> {
    /// The figures of a bank of bottles.
    pub fn bottle(&self, id: ThingId) -> BottleFacts {
        let given = |key| self.office.given(id, key);
        let holds = given(Key::Holds);
        let thing = self.office.thing(id);
        let usage = self.usage(&AirLocation::Thing(id)).map(|usage| usage.total);
        let dryer = self.dryer(id);
        BottleFacts {
            delivers: dryer.delivers,
            flow: dryer.flow,
            holds,
            bottles: bottles(thing),
            usage,
            lasts: usage.and_then(|usage| bottles_last(thing, usage)),
            dryness: dryer.dryness,
        }
    }

    /// The figures of a dryer.
    pub fn dryer(&self, id: ThingId) -> DryerFacts {
        let given = |key| self.office.given(id, key);
        let supply = self.prediction.air.supply(id);
        // A dryer takes in no air; in the solver a trace flows into one that is backed up.
        let delivered = |flow: Flow| Flow::from_cubic_metres_per_second(flow.cubic_metres_per_second().max(0.0));
        let flow = supply.map(|supply| delivered(supply.flow));
        DryerFacts {
            delivers: given(Key::Delivers),
            flow,
            cycle: flow.and_then(|flow| cycle(self.office, id, flow)),
            asked: supply.and_then(|supply| supply.asked),
            backed_up: supply.is_some_and(|supply| supply.backed_up),
            rating: capacity(self.office, id).map(|capacity| Rating {
                capacity,
                pressure: given(Key::RatingPressure),
                temperature: given(Key::RatingTemperature),
                elevation: given(Key::RatingElevation),
            }),
            dryness: Dryness::of(self.office, id),
        }
    }
}
