//! Display of figures: in the units that the office uses, with a meaningful number of digits.

use crate::kinds::{Key, KindId};
use crate::line::{TAPE, length_in, length_unit_of};
use crate::model::Office;
use crate::value::{Field, Fields, Value};
use drysheath_engineering::measure::AbsolutePressure;
use drysheath_engineering::standard::NamedStandardConditions;
use drysheath_engineering::units::{Dimension, Quantity, Unit, counted};

/// The unit for each dimension: the first one that a file uses, or else the customary one.
#[derive(Clone, Debug)]
pub struct UnitPreferences {
    used: Vec<&'static Unit>,
    /// The unit of the first cable or pipe's length, which may differ from that of elevations.
    length_unit: Option<&'static Unit>,
    standard: &'static NamedStandardConditions,
}

impl UnitPreferences {
    /// Determines the units of an office.
    pub fn of(office: &Office) -> Self {
        let mut used: Vec<&'static Unit> = Vec::new();
        for thing in &office.things {
            for field in &thing.fields {
                collect(field, &mut used);
            }
        }
        let lines = [KindId::Cable, KindId::AirPipe].into_iter();
        let mut lines = lines.flat_map(|kind| office.of_kind(kind));
        Self {
            length_unit: lines.find_map(|(_, line)| length_unit_of(line, None)),
            used,
            standard: office.standard,
        }
    }

    /// The unit for figures of a dimension.
    pub fn unit(&self, dimension: Dimension) -> Option<&'static Unit> {
        let is_wanted = |unit: &&&'static Unit| unit.dimension == dimension && !unit.absolute;
        let used = self.used.iter().find(is_wanted).copied();
        used.or_else(|| Some(counted(dimension.units().next()?, self.standard)))
    }

    /// Formats an SI figure in the unit of its dimension.
    pub fn show(&self, dimension: Dimension, si: f64) -> String {
        match self.unit(dimension) {
            Some(unit) => shown(unit, si).to_string(),
            None => si.to_string(),
        }
    }

    /// Formats a distance along a cable or pipe, given in metres.
    pub fn show_distance(&self, metres: f64) -> String {
        self.length_unit().map_or_else(
            || metres.to_string(),
            |unit| length_in(unit, metres).to_digits(TAPE).to_string(),
        )
    }

    /// A distance along a cable or pipe, unrounded, and the name of its unit.
    pub fn distance_figure(&self, metres: f64) -> (f64, &'static str) {
        self.length_unit()
            .map_or((metres, ""), |unit| (unit.from_si(metres), unit.name))
    }

    fn length_unit(&self) -> Option<&'static Unit> {
        self.length_unit.or_else(|| self.unit(Dimension::Length))
    }

    /// An SI figure in the unit of its dimension, unrounded, and the name of the unit.
    pub fn figure(&self, dimension: Dimension, si: f64) -> (f64, &'static str) {
        self.unit(dimension)
            .map_or((si, ""), |unit| (unit.from_si(si), unit.name))
    }

    /// Formats an SI figure as [`Self::show`] does, or a dash for `None`.
    pub fn show_or_dash(&self, dimension: Dimension, si: Option<f64>) -> String {
        si.map_or_else(|| "-".to_owned(), |si| self.show(dimension, si))
    }

    /// Formats an SI reading of a sensor: with the resolution of its step if known, otherwise as [`Self::show`] does.
    pub fn show_reading(&self, dimension: Dimension, si: f64, step: Option<f64>) -> String {
        match (step, self.unit(dimension)) {
            (Some(step), Some(unit)) => rounded_to_step(
                step,
                Quantity {
                    value: unit.from_si(si),
                    unit,
                },
            )
            .to_string(),
            _ => self.show(dimension, si),
        }
    }

    /// Formats an absolute pressure: in psia for an office in psi, in kPa-abs for one in kPa.
    pub fn show_absolute(&self, pressure: AbsolutePressure) -> String {
        let scale = self.unit(Dimension::Pressure).map(|unit| unit.scale);
        let absolute = || Dimension::Pressure.units().filter(|unit| unit.absolute);
        let own = absolute().find(|unit| Some(unit.scale) == scale);
        let pascals = pressure.pascals();
        own.or_else(|| absolute().next())
            .map_or_else(|| format!("{pascals} Pa"), |unit| shown(unit, pascals).to_string())
    }
}

fn shown(unit: &'static Unit, si: f64) -> Quantity {
    rounded(Quantity {
        value: unit.from_si(si),
        unit,
    })
}

/// Resolution of a signal in SI: its step, or else its error. `None` for a temperature, which is a point on a scale,
/// not a difference.
pub fn reporting_step(fields: &[Field], dimension: Dimension) -> Option<f64> {
    let size = |key| Some(fields.quantity(key)?.0.si()).filter(|size| *size > 0.0);
    (dimension != Dimension::Temperature)
        .then(|| size(Key::Step).or_else(|| size(Key::Error)))
        .flatten()
}

/// Rounds a computed quantity to the decimals of a step of this size in SI: a sensor with that step cannot report more.
pub fn rounded_to_step(step: f64, exact: Quantity) -> Quantity {
    const ROUNDING: f64 = 1e-6;
    const MOST: i32 = 9;
    let decimals = (-exact.unit.from_si(step).log10() - ROUNDING).ceil();
    let scale = 10_f64.powi((decimals as i32).clamp(0, MOST));
    // Adding zero removes the sign of a negative zero.
    let value = (exact.value * scale).round() / scale + 0.0;
    Quantity { value, ..exact }
}

/// Rounds a computed quantity to four significant digits. Values close to zero become zero.
pub fn rounded(quantity: Quantity) -> Quantity {
    const DIGITS: i32 = 4;
    const NOTHING: f64 = 1e-9;
    if quantity.value.abs() < NOTHING {
        return Quantity { value: 0.0, ..quantity };
    }
    quantity.to_digits(DIGITS)
}

fn collect(field: &Field, used: &mut Vec<&'static Unit>) {
    let mut add = |unit: &'static Unit| {
        let known = used
            .iter()
            .any(|other| other.dimension == unit.dimension && other.absolute == unit.absolute);
        if !known {
            used.push(unit);
        }
    };
    match &field.value {
        Value::Quantity(quantity) | Value::DewPoint(quantity, _) | Value::Range(quantity, _) => add(quantity.unit),
        Value::Group(fields) | Value::Named { fields, .. } => {
            for field in fields {
                collect(field, used);
            }
        }
        _ => {}
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use drysheath_engineering::units::find;

    use super::*;

    #[test]
    fn computed_figures_have_four_digits_and_what_is_next_to_nothing_is_zero() {
        let unit = find("psi").unwrap();
        let shown = |value| rounded(Quantity { value, unit }).to_string();
        assert_eq!(
            [9.994_321, 0.000_012_345_6, 4e-10, -4e-10, 0.0].map(shown),
            ["9.994 psi", "0.00001235 psi", "0 psi", "0 psi", "0 psi"]
        );
    }
}
