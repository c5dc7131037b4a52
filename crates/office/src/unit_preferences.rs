//! The units that an office is written in: figures are shown to people in those.

use crate::model::Office;
use crate::value::{Field, Value};
use drysheath_engineering::units::{Dimension, Quantity, Unit};

/// The units that a file uses first for each dimension, or else the customary ones.
#[derive(Clone, Debug)]
pub struct UnitPreferences {
    used: Vec<&'static Unit>,
}

impl UnitPreferences {
    /// The units of an office.
    pub fn of(office: &Office) -> Self {
        let mut used: Vec<&'static Unit> = Vec::new();
        for thing in &office.things {
            for field in &thing.fields {
                collect(field, &mut used);
            }
        }
        Self { used }
    }

    /// The unit for figures of a dimension.
    pub fn unit(&self, dimension: Dimension) -> Option<&'static Unit> {
        let is_wanted = |unit: &&&'static Unit| unit.dimension == dimension && !unit.absolute;
        let used = self.used.iter().find(is_wanted).copied();
        used.or_else(|| dimension.units().next())
    }

    /// A figure in SI as somebody would write it in this office: four digits that mean something.
    pub fn show(&self, dimension: Dimension, si: f64) -> String {
        match self.unit(dimension) {
            Some(unit) => rounded(Quantity {
                value: unit.from_si(si),
                unit,
            })
            .to_string(),
            None => si.to_string(),
        }
    }

    /// The figure alone, and the name of its unit.
    pub fn figure(&self, dimension: Dimension, si: f64) -> (f64, &'static str) {
        self.unit(dimension)
            .map_or((si, ""), |unit| (unit.from_si(si), unit.name))
    }

    /// The same where there may be no figure.
    pub fn maybe(&self, dimension: Dimension, si: Option<f64>) -> String {
        si.map_or_else(|| "-".to_owned(), |si| self.show(dimension, si))
    }
}

/// A quantity with four digits.
pub fn rounded(quantity: Quantity) -> Quantity {
    const DIGITS: i32 = 4;
    const NOTHING: f64 = 1e-9;
    if quantity.value.abs() < NOTHING {
        return Quantity { value: 0.0, ..quantity };
    }
    let size = quantity.value.abs().log10().floor();
    if !size.is_finite() {
        return quantity;
    }
    let scale = 10_f64.powi(DIGITS - 1 - size as i32);
    Quantity {
        value: (quantity.value * scale).round() / scale,
        ..quantity
    }
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
        Value::Quantity(quantity) | Value::Range(quantity, _) => add(quantity.unit),
        Value::Group(fields) | Value::Named { fields, .. } => {
            for field in fields {
                collect(field, used);
            }
        }
        _ => {}
    }
}
