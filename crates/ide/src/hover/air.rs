//! What makes air, holds its pressure, and shares it out.

use drysheath_engineering::network::RegulatorState;
use drysheath_engineering::units::Dimension;
use drysheath_office::ThingId;
use drysheath_office::kinds::Key;
use drysheath_prediction::{Dryness, capacity};

use super::Teller;
use crate::card::Card;

impl Teller<'_> {
    fn pressure(&self, pressure: drysheath_engineering::measure::Pressure) -> String {
        self.show(Dimension::Pressure, pressure.pascals())
    }

    fn flow(&self, flow: drysheath_engineering::measure::Flow) -> String {
        self.show(Dimension::Flow, flow.cubic_metres_per_second())
    }

    pub(super) fn dryer(&self, card: &mut Card, id: ThingId) {
        let (office, air) = (&self.analysis.office, &self.analysis.prediction.air);
        if let Some(delivers) = office.given(id, Key::Delivers) {
            card.fact(format!("delivers {}", delivers.quantity));
        }
        if let Some(dryness) = Dryness::of(office, id)
            && let Some(point) = dryness.saturation_point(dryness.at)
        {
            card.fact(format!(
                "its air is saturated at {} ({}) at that pressure",
                self.show(Dimension::Temperature, point.temperature.kelvins()),
                point.name()
            ));
        }
        let capacity = capacity(office, id);
        if let Some(supply) = air.supply(id) {
            let duty = capacity.map(|capacity| {
                let part = supply.flow.cubic_metres_per_second() / capacity.flow.cubic_metres_per_second();
                format!(", {:.0} % of what it can", part * 100.0)
            });
            card.fact(format!("gives {}{}", self.flow(supply.flow), duty.unwrap_or_default()));
            if supply.backed_up {
                card.fact("gives nothing, because the pressure behind it is higher than it delivers");
            }
        }
        if let Some(capacity) = capacity {
            card.fact(format!(
                "can give {} here, of {} as stated",
                self.flow(capacity.flow),
                capacity.stated.quantity
            ));
        }
        self.contacts_of(card, id);
    }

    pub(super) fn regulator(&self, card: &mut Card, id: ThingId) {
        let air = &self.analysis.prediction.air;
        if let Some(set) = self.analysis.office.given(id, Key::Set) {
            card.fact(format!("set to {}", set.quantity));
        }
        self.passing(card, id);
        let state = air.through(id).and_then(|state| state.regulator);
        card.fact(match state {
            Some(RegulatorState::Regulating) => "regulating",
            Some(RegulatorState::OutOfRegulation) => "out of regulation: its supply is too low",
            Some(RegulatorState::ClosedByBackPressure) => "shut by the pressure behind it",
            None => "how it stands cannot be computed yet",
        });
    }

    /// The pressures before and behind something that air passes through, and its flow.
    pub(super) fn passing(&self, card: &mut Card, id: ThingId) {
        let air = &self.analysis.prediction.air;
        if let Some(inlet) = air.inlet(id) {
            card.fact(format!("supply {}", self.pressure(inlet)));
        }
        if let Some(outlet) = air.outlet(id) {
            card.fact(format!("behind it {}", self.pressure(outlet)));
        }
        if let Some(state) = air.through(id) {
            card.fact(format!("flow {}", self.flow(state.flow)));
        }
    }

    pub(super) fn manifold(&self, card: &mut Card, id: ThingId) {
        if let Some(pressure) = self.analysis.prediction.air.inlet(id) {
            card.fact(format!("pressure {}", self.pressure(pressure)));
        }
        self.free_numbers(card, id);
    }

    /// The air around an office.
    pub(super) fn surroundings(&self, card: &mut Card) {
        let conditions = &self.analysis.prediction.air.conditions;
        if let Some(psia) = drysheath_engineering::units::find("psia") {
            let quantity = drysheath_office::rounded(drysheath_engineering::units::Quantity {
                value: psia.from_si(conditions.ambient.pascals()),
                unit: psia,
            });
            card.fact(format!("the air around it has {quantity}"));
        }
    }
}
