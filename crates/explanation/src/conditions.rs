use drysheath_engineering::measure::{AbsolutePressure, Temperature};
use drysheath_office::Given;
use drysheath_office::kinds::Key;

use crate::Explainer;

/// The air around the office and in its network.
#[derive(Clone, Copy, Debug)]
pub struct SiteConditions {
    /// The office's elevation. Where it is not stated the air is that at sea level.
    pub elevation: Option<Given>,
    /// Pressure of the surrounding air.
    pub ambient: AbsolutePressure,
    /// Temperature of the air in the network.
    pub temperature: Temperature,
    /// The same as the office states it, or by default.
    pub air_temperature: Option<Given>,
    /// The coldest temperature of the cable.
    pub coldest: Option<Given>,
}

impl Explainer<'_> {
    /// The air around the office and in its network.
    pub fn conditions(&self) -> SiteConditions {
        let given = |key| self.office.itself.and_then(|id| self.office.given(id, key));
        let conditions = self.prediction.air.conditions;
        SiteConditions {
            elevation: given(Key::Elevation),
            ambient: conditions.ambient,
            temperature: conditions.temperature,
            air_temperature: given(Key::AirTemperature),
            coldest: given(Key::Coldest),
        }
    }
}
