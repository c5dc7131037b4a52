//! Hovers of quantities: conversions to other common units.

use std::fmt::Write as _;

use drysheath_engineering::measure::{ConductorArea, Length, Temperature};
use drysheath_engineering::units::{Dimension, Quantity, Scale, Unit, counted, find};
use drysheath_engineering::wire;
use drysheath_office::{Figure, rounded};

use super::Describer;
use crate::markup::Markup;
use crate::notation;

/// The units shown for a dimension.
fn customary(dimension: Dimension) -> &'static [&'static str] {
    match dimension {
        Dimension::Pressure => &["psi", "kPa", "inH2O", "mbar"],
        Dimension::Flow => &["scfh", "sl/min", "sm3/h"],
        Dimension::Length => &["in", "mm", "ft", "m", "km", "mi"],
        Dimension::WireSize => &["awg", "mm2", "kcmil"],
        Dimension::Voltage => &["V", "mV"],
        Dimension::Current => &["A", "mA"],
        Dimension::Resistance => &["ohm", "kohm"],
        Dimension::Power => &["W", "hp"],
        Dimension::Temperature => &["degC", "degF", "K"],
        Dimension::Time => &["s", "min", "h", "d"],
        Dimension::Humidity => &["%rh"],
        Dimension::PneumaticResistance => &["psi/scfh/kft", "kPa/slpm/km"],
        Dimension::Droop => &["psi/scfh", "kPa/slpm"],
        Dimension::Volume => &["ft3", "L", "gal"],
        Dimension::StandardVolume => &["scf", "sm3"],
        Dimension::Charge => &["Ah"],
    }
}

/// Whether a figure has a convenient size.
fn is_readable(quantity: &Quantity) -> bool {
    const READABLE: std::ops::Range<f64> = 0.01..100_000.0;
    let is_size = quantity.unit.scale == Scale::AmericanWireGauge;
    quantity.value == 0.0 || is_size || READABLE.contains(&quantity.value.abs())
}

/// Whether something can be of that size: a conductor has a section.
fn is_possible(quantity: Quantity) -> bool {
    ConductorArea::of(quantity).is_none_or(|area| area.square_metres() > 0.0)
}

impl Describer<'_> {
    /// A quantity in other units. A pressure difference is neither gauge nor absolute, and a temperature difference has
    /// no other unit.
    pub(super) fn conversions(&self, quantity: Quantity, is_difference: bool) -> Vec<String> {
        if is_difference && quantity.dimension() == Dimension::Temperature {
            return Vec::new();
        }
        let others = self.customary(quantity.dimension());
        let is_above_air = quantity.dimension() == Dimension::Pressure && !is_difference && !quantity.unit.absolute;
        let absolute = is_above_air.then(|| find("psia")).flatten();
        others
            .filter(|unit| **unit != *quantity.unit)
            .chain(absolute)
            .map(|unit| self.restated(quantity, unit))
            .filter(is_readable)
            .map(|other| other.to_string())
            .collect()
    }

    /// The units shown for a dimension, under the repository's standard conditions.
    fn customary(&self, dimension: Dimension) -> impl Iterator<Item = &'static Unit> {
        let standard = self.analysis.office.standard;
        let units = customary(dimension).iter().filter_map(|name| find(name));
        units.map(move |unit| counted(unit, standard))
    }

    /// A quantity in another unit, using the ambient pressure to convert between gauge and absolute.
    fn restated(&self, quantity: Quantity, unit: &'static Unit) -> Quantity {
        let office = &self.analysis.office;
        rounded(office.quantity_of(office.figure(quantity), unit))
    }

    /// A range in other units.
    pub(super) fn range_conversions(&self, from: Quantity, to: Quantity) -> Vec<String> {
        let others = self.customary(to.dimension());
        others
            .filter(|unit| **unit != *to.unit)
            .map(|unit| (self.restated(from, unit), self.restated(to, unit)))
            .filter(|(from, to)| is_readable(from) && is_readable(to))
            .map(|(from, to)| notation::range(from, to))
            .collect()
    }

    pub(super) fn quantity(&self, figure: Figure) -> Markup {
        let quantity = figure.quantity;
        let mut markup = Markup::new(format!("`{quantity}`"));
        self.facts(&mut markup, figure);
        markup
    }

    fn facts(&self, markup: &mut Markup, figure: Figure) {
        let quantity = figure.quantity;
        if !is_possible(quantity) {
            return;
        }
        for other in self.conversions(quantity, figure.is_difference) {
            markup.fact(other);
        }
        if let Some(copper) = copper(quantity) {
            markup.fact(copper);
        }
    }

    pub(super) fn unit(&self, unit: &'static Unit, figure: Option<Figure>) -> Markup {
        let mut markup = match figure {
            Some(figure) => self.quantity(figure),
            None => Markup::new(format!("`{}`", unit.name)),
        };
        let aliases: Vec<String> = unit.aliases.iter().map(|alias| format!("`{alias}`")).collect();
        let from = if unit.absolute { ", counted from vacuum" } else { "" };
        let mut sentence = format!("`{}` measures {}{from}.", unit.name, unit.dimension.name());
        if !aliases.is_empty() {
            let _ = write!(sentence, " It may also be written {}.", aliases.join(", "));
        }
        let _ = write!(sentence, " Source: {}.", unit.source);
        markup.sentence(sentence);
        markup
    }
}

/// Resistance of a conductor of that size. `None` for an impossibly small one.
fn copper(size: Quantity) -> Option<String> {
    const KILOMETRE: f64 = 1000.0;
    const COLD: f64 = 20.0;
    let area = ConductorArea::of(size)?;
    let resistance = wire::resistance(area, Length::from_metres(KILOMETRE), Temperature::from_celsius(COLD));
    let ohm = find("ohm").filter(|_| resistance.ohms().is_finite())?;
    let shown = rounded(Quantity {
        value: resistance.ohms(),
        unit: ohm,
    });
    Some(format!(
        "copper of that size has {shown} a kilometre at 20 degC, one way"
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn customary_units_are_units_of_their_dimension() {
        for dimension in Dimension::ALL {
            for name in customary(*dimension) {
                assert_eq!(find(name).map(|unit| unit.dimension), Some(*dimension), "{name}");
            }
        }
    }
}
