use drysheath_office::ThingId;
use drysheath_office::kinds::KindId;
use drysheath_prediction::{HoldUp, hold_up};

use crate::Explainer;

/// How long pressures hold after some sources stop.
#[derive(Debug)]
pub struct HoldUpFacts<'e> {
    /// The sources that stop.
    pub stops: Vec<ThingId>,
    /// How long pressures hold.
    pub holds: HoldUp<'e>,
    /// Those of the sources that air may flow back into, which is not counted.
    pub back_flow: Vec<ThingId>,
}

impl<'e> Explainer<'e> {
    /// Whether a source delivers air in the normal state.
    pub fn gives_air(&self, source: ThingId) -> bool {
        let supply = self.prediction.air.supply(source);
        supply.is_some_and(|supply| supply.flow.cubic_metres_per_second() > 0.0)
    }

    /// How long pressures hold after some sources stop.
    pub fn hold_up(&self, stops: Vec<ThingId>) -> HoldUpFacts<'e> {
        let air = &self.prediction.air;
        let holds = hold_up(self.office, self.networks, &self.minimums, air, &stops);
        let back_flow = air.back_flow(self.office, &stops);
        HoldUpFacts {
            stops,
            holds,
            back_flow,
        }
    }

    /// The hold-up for each source that delivers air, and for all of the office together, those that stand by included, if there are several.
    pub fn hold_ups(&self) -> Vec<HoldUpFacts<'e>> {
        let kinds = [KindId::Dryer, KindId::Bottle].into_iter();
        let sources: Vec<ThingId> = kinds
            .flat_map(|kind| self.office.of_kind(kind).map(|(id, _)| id))
            .filter(|id| self.prediction.air.supply(*id).is_some())
            .collect();
        let giving = sources.iter().filter(|id| self.gives_air(**id));
        let mut stops: Vec<Vec<ThingId>> = giving.map(|source| vec![*source]).collect();
        if sources.len() > 1 && !stops.is_empty() {
            stops.push(sources);
        }
        stops.into_iter().map(|stops| self.hold_up(stops)).collect()
    }
}
