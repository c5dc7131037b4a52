//! The capacity of dryers and the demand on them.

use drysheath_engineering::air_budget::AirBudget;
use drysheath_engineering::measure::Flow;
use drysheath_office::kinds::Key;
use drysheath_office::{Office, ThingId};
use drysheath_prediction::{Capacity, SystemId, capacity};

use crate::coverage::Lack;
use crate::figures::{exceeds, same};
use crate::lint::Inspection;
use crate::settings::PracticeKey;

/// The joint capacity of some dryers and the demand on them; none where one of them has no capacity stated.
pub(super) fn budget_of(
    inspection: &Inspection<'_>,
    dryers: impl Iterator<Item = ThingId>,
    demand: Flow,
) -> Option<AirBudget> {
    let mut sum = Flow::from_cubic_metres_per_second(0.0);
    for dryer in dryers {
        sum = sum + capacity(inspection.office, dryer)?.flow;
    }
    Some(AirBudget {
        demand,
        capacity: sum,
        margin: inspection.settings.fraction(PracticeKey::DryerMargin),
    })
}

/// The same for all dryers of a system; none where its usage is not known.
pub(super) fn budget(inspection: &Inspection<'_>, system: SystemId) -> Option<AirBudget> {
    compared(inspection, system).ok()
}

/// The joint capacity of the dryers of a system and the demand on them.
pub(crate) fn compared(inspection: &Inspection<'_>, system: SystemId) -> Result<AirBudget, Lack> {
    let air = &inspection.prediction.air;
    let usage = air.usage(system).ok_or(Lack::Figure)?;
    budget_of(inspection, air.dryers(system), usage).ok_or(Lack::Capacity)
}

/// A dryer's share of the demand of a system.
#[derive(Clone, Copy)]
pub(super) struct Share {
    pub dryer: ThingId,
    pub flow: Flow,
    pub capacity: Flow,
}

impl Share {
    /// The duty cycle of the dryer: its flow over its capacity.
    pub fn duty(&self) -> f64 {
        self.flow.cubic_metres_per_second() / self.capacity.cubic_metres_per_second()
    }

    /// Whether its share exceeds its capacity.
    pub fn is_overdrawn(&self) -> bool {
        let [flow, capacity] = [self.flow, self.capacity].map(Flow::cubic_metres_per_second);
        exceeds(flow, capacity)
    }
}

/// The shares of the dryers of a system that deliver something.
pub(super) fn shares<'i>(inspection: &'i Inspection<'_>, system: SystemId) -> impl Iterator<Item = Share> + 'i {
    let air = &inspection.prediction.air;
    air.dryers(system).filter_map(|dryer| {
        let flow = air.supply(dryer)?.flow;
        let capacity = capacity(inspection.office, dryer)?.flow;
        let delivers = flow.cubic_metres_per_second() > 0.0 && capacity.cubic_metres_per_second() > 0.0;
        delivers.then_some(Share { dryer, flow, capacity })
    })
}

/// The dryer of a system with the highest duty cycle, where that exceeds what practice allows.
pub(super) fn overworked(inspection: &Inspection<'_>, system: SystemId) -> Option<Share> {
    let most = inspection.settings.fraction(PracticeKey::DutyCycle);
    let busiest = shares(inspection, system).max_by(|one, other| one.duty().total_cmp(&other.duty()))?;
    exceeds(busiest.duty(), most).then_some(busiest)
}

/// How a dryer's capacity follows from its rating, in words to follow the figure; none where the two are equal.
pub(super) fn conversion(office: &Office, dryer: ThingId, capacity: &Capacity) -> Option<String> {
    let given = |key| office.given(dryer, key).map(|given| given.quantity);
    let mut parts = Vec::new();
    if let Some((pressure, temperature)) = given(Key::RatingPressure).zip(given(Key::RatingTemperature))
        && !same(capacity.basis, 1.0)
    {
        parts.push(format!(
            "\u{d7} {:.3} since that counts at {pressure} and {temperature}",
            capacity.basis
        ));
    }
    if let Some(elevation) = given(Key::RatingElevation)
        && !same(capacity.altitude, 1.0)
    {
        parts.push(format!(
            "\u{d7} {:.3} since that holds at an elevation of {elevation}",
            capacity.altitude
        ));
    }
    (!parts.is_empty()).then(|| format!("{} as stated {}", capacity.stated.quantity, parts.join(" ")))
}
