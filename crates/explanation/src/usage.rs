use drysheath_engineering::measure::Flow;
use drysheath_office::kinds::Key;
use drysheath_office::{Fields, GivenQuantity, ThingId};
use drysheath_prediction::AirLocation;

use crate::Explainer;

/// The air usage of one connected air system.
pub struct SystemUsage<'a> {
    /// Usage of the whole system: the sum of the shares.
    pub total: Flow,
    /// Usage of each section and pipe of the system.
    pub shares: Vec<UsageShare<'a>>,
}

/// The usage of a section of cable or of a pipe.
pub struct UsageShare<'a> {
    /// The cable or pipe.
    pub thing: ThingId,
    /// The section. `None` for a pipe.
    pub section: Option<&'a str>,
    /// Usage of the line, if stated.
    pub usage: Option<GivenQuantity>,
}

impl<'a> Explainer<'a> {
    /// The usage of the system at a place.
    pub fn usage(&self, place: &AirLocation<'_>) -> Option<SystemUsage<'a>> {
        let air = &self.prediction.air;
        let system = air.system_at(place)?;
        let total = air.usage(system)?;
        let mut shares = Vec::new();
        for line in air.lines() {
            for part in &line.sections {
                let here = AirLocation::OnLine(line, f64::midpoint(part.from, part.to));
                // Usage counts even where the pressure is not known.
                let unknown = air.systems().len() == 1 && self.networks.is_reached(line.thing);
                if air.system_at(&here).map_or(!unknown, |other| other != system) {
                    continue;
                }
                let section = line.section(self.office, part).filter(|_| part.surroundings.is_some());
                shares.push(UsageShare {
                    thing: line.thing,
                    section: section.map(|(name, _)| name),
                    usage: match section {
                        Some((_, fields)) => fields.quantity(Key::Usage).map(|(quantity, place)| GivenQuantity {
                            quantity,
                            place: Some(place),
                        }),
                        None => self.office.given(line.thing, Key::Usage),
                    },
                });
            }
        }
        Some(SystemUsage { total, shares })
    }
}
