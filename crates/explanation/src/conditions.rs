use drysheath_engineering::measure::{AbsolutePressure, Temperature};
use drysheath_office::GivenQuantity;
use drysheath_office::kinds::Key;

use crate::Explainer;

/// Ambient conditions of an office, and of the air in its network.
#[derive(Clone, Copy, Debug)]
pub struct SiteConditions {
    /// Elevation of the office. If it is not stated, sea level is assumed.
    pub elevation: Option<GivenQuantity>,
    /// Ambient pressure at the office.
    pub ambient: AbsolutePressure,
    /// Temperature of the air in the network.
    pub temperature: Temperature,
    /// The temperature of the air as stated, or its default.
    pub air_temperature: Option<GivenQuantity>,
    /// The coldest temperature of the cable.
    pub coldest: Option<GivenQuantity>,
}

impl Explainer<'_> {
    /// The conditions of the office.
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
