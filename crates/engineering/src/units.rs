//! Units of measure: conversion of written numbers to SI figures and back.
//!
//! The factors are exact chains from the international definitions (pound 0.453 592 37 kg, foot 0.3048 m, standard
//! gravity 9.806 65 m/s²) as NIST SP 811 gives them. The chains are from memory; `tests/outside` compares every factor
//! with an independent library.

mod counted;
mod quantity;
mod spelling;
mod table;
mod time;

use core::f64::consts::PI;

pub use counted::counted;
pub use quantity::Quantity;
pub use spelling::{find, nearest};
pub use table::UNITS;
pub use time::time;

use crate::measure::ConductorArea;
use crate::wire;

/// The dimension of a quantity. Only quantities of the same dimension can be compared.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Dimension {
    /// Pressure; SI base Pa, gauge unless the unit is [`Unit::absolute`].
    Pressure,
    /// Flow of dry air at standard conditions; SI base m³/s at 101 325 Pa and 60 °F.
    Flow,
    /// Length or elevation; SI base m.
    Length,
    /// Size of a conductor; SI base m² of metal.
    WireSize,
    /// Voltage; SI base V.
    Voltage,
    /// Current; SI base A.
    Current,
    /// Electrical resistance; SI base Ω.
    Resistance,
    /// Power; SI base W.
    Power,
    /// Temperature as a point on a scale, never a difference; SI base K.
    Temperature,
    /// Time; SI base s.
    Time,
    /// Relative humidity; SI base is the fraction 0..1.
    Humidity,
    /// Pneumatic resistance per length of cable or tube; SI base Pa per (m³/s) per m, with the flow at standard
    /// conditions and a mean absolute pressure of 101 325 Pa.
    PneumaticResistance,
    /// Decrease of a regulator's outlet pressure per flow; SI base Pa per (m³/s), with the flow at standard conditions.
    Droop,
    /// Volume; SI base m³.
    Volume,
    /// Volume of dry air at standard conditions; SI base m³ at 101 325 Pa and 60 °F.
    StandardVolume,
    /// Electric charge, such as that of a battery; SI base C.
    Charge,
}

impl Dimension {
    /// All dimensions, in the order of the reference tables.
    pub const ALL: &'static [Dimension] = &[
        Dimension::Pressure,
        Dimension::Flow,
        Dimension::Length,
        Dimension::WireSize,
        Dimension::Voltage,
        Dimension::Current,
        Dimension::Resistance,
        Dimension::Power,
        Dimension::Temperature,
        Dimension::Time,
        Dimension::Humidity,
        Dimension::PneumaticResistance,
        Dimension::Droop,
        Dimension::Volume,
        Dimension::StandardVolume,
        Dimension::Charge,
    ];

    /// Name in a sentence: "pressure", "wire size".
    pub fn name(self) -> &'static str {
        match self {
            Dimension::Pressure => "pressure",
            Dimension::Flow => "flow",
            Dimension::Length => "length",
            Dimension::WireSize => "wire size",
            Dimension::Voltage => "voltage",
            Dimension::Current => "current",
            Dimension::Resistance => "resistance",
            Dimension::Power => "power",
            Dimension::Temperature => "temperature",
            Dimension::Time => "time",
            Dimension::Humidity => "humidity",
            Dimension::PneumaticResistance => "pneumatic resistance",
            Dimension::Droop => "droop",
            Dimension::Volume => "volume",
            Dimension::StandardVolume => "standard volume",
            Dimension::Charge => "charge",
        }
    }

    /// Units of the dimension, the customary one first.
    pub fn units(self) -> impl Iterator<Item = &'static Unit> {
        UNITS.iter().filter(move |unit| unit.dimension == self)
    }
}

/// A unit of measure.
#[derive(Debug, PartialEq)]
pub struct Unit {
    /// The spelling used by messages and the formatter.
    pub name: &'static str,
    /// Other spellings accepted in a file.
    pub aliases: &'static [&'static str],
    /// Dimension that the unit measures.
    pub dimension: Dimension,
    /// Whether it is a unit of absolute pressure; other pressure units are gauge.
    pub absolute: bool,
    /// Conversion of values to SI.
    pub scale: Scale,
    /// Source of the scale.
    pub source: &'static str,
}

/// Diameter of a conductor in millimetres, by which cables are ordered in most of the world. It is written `mm`, which
/// is a length elsewhere, so only the reader of a conductor's size can tell.
pub static CONDUCTOR_DIAMETER: Unit = Unit {
    name: "mm",
    aliases: &[],
    dimension: Dimension::WireSize,
    absolute: false,
    scale: Scale::Diameter(1e-3),
    source: "the area of a disc of that diameter",
};

/// Conversion from a number in some unit to the SI base of its dimension.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Scale {
    /// si = value × factor.
    Factor(f64),
    /// si = (value + offset) × factor.
    Affine {
        /// SI units in one step of this scale.
        factor: f64,
        /// Offset of this scale's zero from the SI zero, in steps of this scale.
        offset: f64,
    },
    /// The number is a diameter of a round conductor, in steps of this many metres.
    Diameter(f64),
    /// The number is an American Wire Gauge size, with 0, −1, −2, −3 for 1/0, 2/0, 3/0, 4/0.
    AmericanWireGauge,
}

impl Unit {
    /// Whether a flow unit has fixed conditions of its own: normal litres and normal cubic metres are at 0 °C and
    /// 101.325 kPa.
    pub fn counts_at_its_own(&self) -> bool {
        self.source == table::NORMAL_AIR
    }

    /// Converts `value` in this unit to SI.
    pub fn to_si(&self, value: f64) -> f64 {
        match self.scale {
            Scale::Factor(factor) => value * factor,
            Scale::Affine { factor, offset } => (value + offset) * factor,
            Scale::Diameter(factor) => PI / 4.0 * (value * factor).powi(2),
            Scale::AmericanWireGauge => wire::gauge_area(value).square_metres(),
        }
    }

    /// Converts an SI figure to this unit.
    pub fn from_si(&self, si: f64) -> f64 {
        match self.scale {
            Scale::Factor(factor) => si / factor,
            Scale::Affine { factor, offset } => si / factor - offset,
            Scale::Diameter(factor) => (si * 4.0 / PI).sqrt() / factor,
            Scale::AmericanWireGauge => wire::gauge(ConductorArea::from_square_metres(si)),
        }
    }

    /// Whether a figure in this unit can be converted to `other` without further data. Gauge and absolute pressure
    /// cannot: the conversion depends on the ambient pressure.
    pub fn converts_to(&self, other: &Unit) -> bool {
        self.dimension == other.dimension && self.absolute == other.absolute
    }
}
