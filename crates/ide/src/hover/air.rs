//! Hovers of dryers, bottles, regulators and other things that supply or distribute air.

use drysheath_engineering::measure::Time;
use drysheath_engineering::network::RegulatorState;
use drysheath_engineering::units::{Dimension, time};
use drysheath_explanation::OperatingPoint;
use drysheath_office::kinds::Key;
use drysheath_office::{Fields, ThingId};
use drysheath_prediction::{HoldUp, LONGEST_HOLD_UP, position_name};

use super::Describer;
use crate::explainer::explainer;
use crate::markup::Markup;

impl Describer<'_> {
    fn pressure(&self, pressure: drysheath_engineering::measure::Pressure) -> String {
        self.show(Dimension::Pressure, pressure.pascals())
    }

    pub(super) fn flow(&self, flow: drysheath_engineering::measure::Flow) -> String {
        self.show(Dimension::Flow, flow.cubic_metres_per_second())
    }

    pub(super) fn dryer(&self, markup: &mut Markup, id: ThingId) {
        let facts = explainer(self.analysis).dryer(id);
        if let Some(delivers) = facts.delivers {
            markup.fact(format!("delivers {}", delivers.quantity));
        }
        if let Some(point) = facts.saturation() {
            markup.fact(format!(
                "{} {} at that pressure",
                point.name(),
                self.show(Dimension::Temperature, point.temperature.kelvins())
            ));
        }
        if let Some(flow) = facts.flow {
            let duty = facts
                .duty()
                .map(|duty| format!(", {:.0} % of what it can", duty * 100.0));
            markup.fact(format!("gives {}{}", self.flow(flow), duty.unwrap_or_default()));
        }
        if let Some(cycle) = facts.cycle {
            let lasts = |lasts: Time| time(lasts.seconds()).map_or_else(String::new, |time| time.to_string());
            markup.fact(format!(
                "its compressor starts {:.1} times an hour: {} on, {} off",
                cycle.starts_an_hour(),
                lasts(cycle.on),
                lasts(cycle.off)
            ));
        }
        if let Some(asked) = facts.asked {
            markup.fact(format!("would have to give {} to hold its pressure", self.flow(asked)));
        }
        if facts.backed_up {
            markup.fact("supplies no air, because the pressure downstream is higher than it delivers");
        }
        if let Some(rating) = facts.rating {
            markup.fact(format!(
                "can give {} here, of {} as stated",
                self.flow(rating.capacity.flow),
                rating.capacity.stated.quantity
            ));
        }
        self.hold_up(markup, id);
        self.contacts_of(markup, id);
    }

    /// Adds how long pressures hold after a source stops.
    fn hold_up(&self, markup: &mut Markup, id: ThingId) {
        let explainer = explainer(self.analysis);
        if !explainer.gives_air(id) {
            return;
        }
        let office = self.analysis.present();
        match explainer.hold_up(vec![id]).holds {
            HoldUp::Falls(fall) => {
                let Some(time) = time(fall.time.seconds()) else { return };
                let place = position_name(office, fall.line, fall.metres);
                let under = fall.under.word();
                let least = fall.under.pressure(office).map(|least| self.pressure(least));
                let least = least.map_or_else(String::new, |least| format!(" ({least})"));
                markup.fact(if fall.is_at_once() {
                    format!("no hold-up: the pressure {place} is already below the {under}{least} when it stops")
                } else {
                    format!(
                        "once it stops, the pressures hold for {time}; the first to fall below the {under} is that {place}{least}"
                    )
                });
            }
            HoldUp::Lasts => {
                if let Some(longest) = time(LONGEST_HOLD_UP.seconds()) {
                    markup.fact(format!("once it stops, the pressures hold for more than {longest}"));
                }
            }
            HoldUp::NothingNeeded => {}
            HoldUp::NotKnown(why) => {
                markup.fact(format!(
                    "how long the pressures hold once it stops is not known: {}",
                    why.reason(self.analysis.present())
                ));
            }
        }
    }

    pub(super) fn bottle(&self, markup: &mut Markup, id: ThingId) {
        let facts = explainer(self.analysis).bottle(id);
        if let Some(delivers) = facts.delivers {
            markup.fact(format!("delivers {}", delivers.quantity));
        }
        if let Some(holds) = facts.holds {
            markup.fact(match facts.bottles {
                1 => format!("holds {}", holds.quantity),
                bottles => format!("{bottles} bottles of {}", holds.quantity),
            });
        }
        if let Some(flow) = facts.flow {
            markup.fact(format!("gives {}", self.flow(flow)));
        }
        let lasts = facts.lasts.and_then(|lasts| time(lasts.seconds()));
        if let Some((lasts, usage)) = lasts.zip(facts.usage) {
            markup.fact(format!(
                "full, lasts {lasts} at the {} that are used here",
                self.flow(usage)
            ));
        }
        self.hold_up(markup, id);
        self.contacts_of(markup, id);
    }

    pub(super) fn tank(&self, markup: &mut Markup, id: ThingId) {
        if let Some((volume, _)) = self.analysis.office.thing(id).quantity(Key::Volume) {
            markup.fact(format!("volume {volume}"));
        }
        if let Some(pressure) = self.analysis.prediction.air.inlet(id) {
            markup.fact(format!("pressure {}", self.pressure(pressure)));
        }
    }

    pub(super) fn regulator(&self, markup: &mut Markup, id: ThingId) {
        let facts = explainer(self.analysis).regulator(id);
        if let Some(set) = facts.set {
            markup.fact(format!("set to {}", set.quantity));
        }
        self.operating_point(markup, &facts.operating_point);
        if let Some(bounds) = facts.bounds {
            let most = self.pressure(bounds.most);
            markup.fact(match bounds.least {
                Some(least) => format!("downstream between {} and {most}", self.pressure(least)),
                None => format!("downstream {most} at most"),
            });
        }
        markup.fact(match facts.state {
            Some(RegulatorState::Regulating) => "regulating",
            Some(RegulatorState::OutOfRegulation) => "out of regulation: its supply is too low",
            Some(RegulatorState::ClosedByBackPressure) => "closed by the pressure downstream",
            None => "its pressure cannot be computed yet",
        });
    }

    pub(super) fn valve(&self, markup: &mut Markup, id: ThingId) {
        self.operating_point(markup, &explainer(self.analysis).operating_point(id));
    }

    fn operating_point(&self, markup: &mut Markup, operating_point: &OperatingPoint) {
        if let Some(inlet) = operating_point.inlet {
            markup.fact(format!("supply {}", self.pressure(inlet)));
        }
        if let Some(outlet) = operating_point.outlet {
            markup.fact(format!("downstream {}", self.pressure(outlet)));
        }
        if let Some(flow) = operating_point.flow {
            markup.fact(format!("flow {}", self.flow(flow)));
        }
    }

    pub(super) fn manifold(&self, markup: &mut Markup, id: ThingId) {
        if let Some(pressure) = self.analysis.prediction.air.inlet(id) {
            markup.fact(format!("pressure {}", self.pressure(pressure)));
        }
        self.free_numbers(markup, id);
    }

    /// Adds the ambient pressure of an office.
    pub(super) fn surroundings(&self, markup: &mut Markup) {
        let ambient = explainer(self.analysis).conditions().ambient;
        markup.fact(format!("the air around it has {}", self.units.show_absolute(ambient)));
    }
}
