use drysheath_engineering::compressor::Cycle;
use drysheath_engineering::measure::{Flow, Time};
use drysheath_engineering::moisture::SaturationPoint;
use drysheath_engineering::units::Quantity;
use drysheath_office::kinds::Key;
use drysheath_office::{Given, ThingId};
use drysheath_prediction::{AirLocation, Capacity, Dryness, bottles, bottles_last, capacity, cycle};

use crate::Explainer;

/// What a dryer delivers and what it can.
#[derive(Clone, Copy, Debug)]
pub struct DryerFacts {
    /// The pressure that it delivers.
    pub delivers: Option<Given>,
    /// The flow that it has to deliver.
    pub flow: Option<Flow>,
    /// What it would have to deliver to hold its pressure, where that is more than it can.
    pub asked: Option<Flow>,
    /// How its compressor runs and rests.
    pub cycle: Option<Cycle>,
    /// Whether it delivers nothing because another source holds more pressure.
    pub backed_up: bool,
    /// What it can deliver here.
    pub rating: Option<Rating>,
    /// How dry its air is.
    pub dryness: Option<Dryness>,
}

/// The capacity of a dryer and the conditions that it is stated at.
#[derive(Clone, Copy, Debug)]
pub struct Rating {
    /// What it can deliver here.
    pub capacity: Capacity,
    /// The pressure that a volume of air is counted at.
    pub pressure: Option<Given>,
    /// The temperature that a volume of air is counted at.
    pub temperature: Option<Given>,
    /// The elevation that the capacity holds for.
    pub elevation: Option<Given>,
}

impl DryerFacts {
    /// The flow that it has to deliver over what it can.
    pub fn duty(&self) -> Option<f64> {
        let rating = self.rating?;
        Some(self.flow?.cubic_metres_per_second() / rating.capacity.flow.cubic_metres_per_second())
    }

    /// Where its air is saturated at the pressure that it delivers.
    pub fn saturation(&self) -> Option<SaturationPoint> {
        let dryness = self.dryness?;
        dryness.saturation_point(dryness.at)
    }
}

/// What bottles deliver and how long they last.
#[derive(Clone, Copy, Debug)]
pub struct BottleFacts {
    /// The pressure that they deliver.
    pub delivers: Option<Given>,
    /// The flow that they have to deliver.
    pub flow: Option<Flow>,
    /// What one of them holds.
    pub holds: Option<Given>,
    /// How many there are.
    pub bottles: u32,
    /// What everything uses that they feed or stand by for.
    pub usage: Option<Flow>,
    /// How long full bottles last at that usage.
    pub lasts: Option<Time>,
    /// How dry their gas is.
    pub dryness: Option<Dryness>,
}

impl Explainer<'_> {
    /// The facts about bottles.
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

    /// The facts about a dryer.
    pub fn dryer(&self, id: ThingId) -> DryerFacts {
        let given = |key| self.office.given(id, key);
        let supply = self.prediction.air.supply(id);
        // A dryer takes no air; in the solver a trace flows into one that is backed up.
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
