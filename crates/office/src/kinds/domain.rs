//! Plausible ranges: least and greatest value of each field and of what a run or reading states.
//!
//! The bounds are wide on purpose. They are not limits of good practice but of what exists: a figure outside has a
//! wrong unit, sign or decimal point. Where no source is named, they are common practice.

use std::fmt;
use std::ops::RangeInclusive;
use std::sync::OnceLock;

use drysheath_engineering::atmosphere::isa_pressure;
use drysheath_engineering::measure::Length;
use drysheath_engineering::units::{Dimension, Quantity, Scale, Unit};

use super::fields::written;
use super::{FieldSpec, Key, Shape};

/// The range of plausible figures.
#[derive(Debug)]
pub struct Domain {
    /// Least figure, as written.
    least: &'static str,
    /// Greatest figure, as written.
    most: &'static str,
    /// Whether zero is plausible too, although below the least figure.
    zero: bool,
    /// Whether negative figures in the same range are plausible too.
    either_sign: bool,
    bounds: OnceLock<Option<Bounds>>,
}

/// Least and greatest figure of a domain, parsed.
#[derive(Debug)]
struct Bounds {
    least: Quantity,
    most: Quantity,
    /// Both in SI, the smaller first, with a tolerance for rounding.
    figures: RangeInclusive<f64>,
}

/// Relative tolerance, so that a bound in another unit is inside.
const ROUNDING: f64 = 1e-9;

impl Domain {
    const fn new(least: &'static str, most: &'static str) -> Self {
        Self {
            least,
            most,
            zero: false,
            either_sign: false,
            bounds: OnceLock::new(),
        }
    }

    const fn or_zero(mut self) -> Self {
        self.zero = true;
        self
    }

    const fn either_sign(mut self) -> Self {
        self.either_sign = true;
        self
    }

    /// Least and greatest figure.
    pub fn bounds(&self) -> Option<(Quantity, Quantity)> {
        self.computed().map(|bounds| (bounds.least, bounds.most))
    }

    fn computed(&self) -> Option<&Bounds> {
        let bounds = || {
            let (least, most) = (written(self.least)?, written(self.most)?);
            let (low, high) = (least.si().min(most.si()), least.si().max(most.si()));
            let figures = low - low.abs() * ROUNDING..=high + high.abs() * ROUNDING;
            Some(Bounds { least, most, figures })
        };
        self.bounds.get_or_init(bounds).as_ref()
    }

    /// Whether its figures are absolute, so that a gauge pressure is not plausible.
    pub fn is_absolute(&self) -> bool {
        self.bounds().is_some_and(|(least, _)| least.unit.absolute)
    }

    fn phrase(&self, least: &str, most: &str) -> String {
        let sign = if self.either_sign { ", of either sign" } else { "" };
        let zero = if self.zero { ", or 0" } else { "" };
        format!("{least} to {most}{sign}{zero}")
    }

    /// The range in the unit of the file, or as declared where that unit cannot express it.
    pub fn in_unit(&self, unit: &'static Unit, is_difference: bool) -> String {
        const DIGITS: i32 = 3;
        let shown = |declared: &str, bound: Option<Quantity>| {
            let bound = bound.filter(|bound| bound.unit.converts_to(unit));
            let value = bound.map(|bound| match unit.scale {
                Scale::Affine { factor, .. } if is_difference => bound.si() / factor,
                Scale::AmericanWireGauge => unit.from_si(bound.si()).round(),
                _ => bound.in_unit(unit).value,
            });
            match value.map(|value| Quantity { value, unit }) {
                Some(wire) if unit.scale == Scale::AmericanWireGauge && is_gauge_size(wire.value) => wire.to_string(),
                Some(bound) if unit.scale != Scale::AmericanWireGauge => bound.to_digits(DIGITS).to_string(),
                _ => declared.to_owned(),
            }
        };
        let (least, most) = self.bounds().unzip();
        self.phrase(&shown(self.least, least), &shown(self.most, most))
    }

    /// Whether a figure is plausible. `is_difference` is true for a difference of two figures.
    pub fn has(&self, quantity: Quantity, is_difference: bool) -> bool {
        let Some(Bounds { least, figures, .. }) = self.computed() else {
            return true;
        };
        if quantity.unit.scale == Scale::AmericanWireGauge && !is_gauge_size(quantity.value) {
            return false;
        }
        if quantity.dimension() != least.dimension() || least.unit.absolute && !quantity.unit.absolute {
            return false;
        }
        let mut figure = match quantity.unit.scale {
            Scale::Affine { factor, .. } if is_difference => quantity.value * factor,
            _ => quantity.si(),
        };
        if quantity.unit.absolute && !least.unit.absolute {
            figure -= isa_pressure(Length::from_metres(0.0)).pascals();
        }
        if self.either_sign {
            figure = figure.abs();
        }
        figure == 0.0 && self.zero || figures.contains(&figure)
    }
}

impl fmt::Display for Domain {
    /// The range as declared: `0.1 m to 200 m, or 0`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.phrase(self.least, self.most))
    }
}

/// Whether wire is made in this size of the American Wire Gauge: whole numbers, and 4/0 at most.
fn is_gauge_size(size: f64) -> bool {
    const LARGEST: f64 = -3.0;
    size.fract() == 0.0 && size >= LARGEST
}

impl FieldSpec {
    /// The plausible range of the field's figures. `None` if it takes none.
    pub fn domain(&self) -> Option<&'static Domain> {
        if let Some(own) = self.own_domain {
            return Some(own());
        }
        Some(match (self.key, self.shape.dimension()?) {
            (Key::Elevation | Key::RatingElevation, _) => &ELEVATION,
            (Key::Underground | Key::Buried | Key::Aerial | Key::Minimum, Dimension::Pressure) => &LEAST_PRESSURE,
            (Key::Underground | Key::Buried | Key::Aerial, Dimension::Temperature) | (Key::AirTemperature, _) => {
                &AIR_TEMPERATURE
            }
            (Key::Underground | Key::Buried | Key::Aerial | Key::Length, _) => &LINE_LENGTH,
            (Key::At | Key::From, _) => &DISTANCE,
            (Key::Depth, _) => &DEPTH,
            (Key::Bore, _) => &PIPE_BORE,
            (Key::Roughness, _) => &ROUGHNESS,
            (Key::Inlet | Key::Outlet, _) => &FITTING,
            (Key::Coldest, _) => &COLDEST,
            (Key::Hottest | Key::HottestWire, _) => &HOTTEST,
            (Key::RatingTemperature | Key::ReferenceTemperature, _) => &STANDARD_TEMPERATURE,
            (Key::DewPoint, _) => &DELIVERED_DEW_POINT,
            (Key::RatingPressure, _) => &ATMOSPHERE,
            (Key::ReferencePressure, _) => &MEAN_PRESSURE,
            (Key::Delivers | Key::Set | Key::Relief | Key::CutIn | Key::CutOut, _) => &AIR_SUPPLY,
            (Key::Differential, _) => &DIFFERENTIAL,
            (Key::Loss, _) => &LOSS,
            (Key::Rating | Key::InletMax | Key::Proof, _) => &PRESSURE_RATING,
            (Key::Droop, _) => &DROOP,
            (Key::Capacity, Dimension::Charge) => &BATTERY_CAPACITY,
            (Key::Capacity | Key::FlowMax, _) => &CAPACITY,
            (Key::Usage, _) => &USAGE,
            (Key::Resistance, _) => &CABLE_RESISTANCE,
            (Key::Volume, _) => &VOLUME,
            (Key::Holds, _) => &BOTTLED,
            (Key::Gauge, _) => &PAIR_SIZE,
            (Key::GroundSize, _) => &CONDUCTOR,
            (Key::Nominal | Key::Working, _) => &BATTERY,
            (Key::Window, _) => &LOAD_WINDOW,
            (Key::Needs | Key::LoopVoltage | Key::OutputVoltage, _) => &LOOP_VOLTAGE,
            (Key::LoopMax, _) => &LOOP_RESISTANCE,
            (Key::Loop, _) => &LEAD_LOOP,
            (Key::Current | Key::CurrentMax, _) => &LOOP_CURRENT,
            (Key::OutputMax, _) => &CONTROL_CURRENT,
            (Key::Draws, _) => &DRAWS,
            (Key::Step | Key::Error, dimension) => fineness(dimension)?,
            (_, dimension) => signal(dimension)?,
        })
    }
}

impl Shape {
    /// Dimension of the quantity in it. `None` if it takes none.
    fn dimension(self) -> Option<Dimension> {
        match self {
            Self::Quantity(dimension) | Self::Range(dimension) | Self::Limit(dimension) => Some(dimension),
            Self::Difference | Self::Loss => Some(Dimension::Pressure),
            Self::Draw => Some(Dimension::Power),
            Self::DewPoint => Some(Dimension::Temperature),
            Self::At | Self::Fitting => Some(Dimension::Length),
            _ => None,
        }
    }
}

/// Ratings of sheaths: no more than a few times the pressure that cable is kept at.
pub(super) fn sheath_rating() -> &'static Domain {
    &SHEATH_RATING
}

/// Current of a whole panel.
pub(super) fn panel_current() -> &'static Domain {
    &PANEL_CURRENT
}

pub(super) fn lead_length() -> &'static Domain {
    &JUMPER_LENGTH
}

pub(super) fn control_current() -> &'static Domain {
    &CONTROL_CURRENT
}

/// Figures of a signal.
pub(crate) fn signal(dimension: Dimension) -> Option<&'static Domain> {
    match dimension {
        Dimension::Pressure => Some(&SIGNAL_PRESSURE),
        Dimension::Flow => Some(&SIGNAL_FLOW),
        Dimension::Humidity => Some(&SIGNAL_HUMIDITY),
        Dimension::Temperature => Some(&SIGNAL_DEW_POINT),
        _ => None,
    }
}

/// Steps, errors and deadbands of a signal: differences of two of its figures.
pub(crate) fn fineness(dimension: Dimension) -> Option<&'static Domain> {
    match dimension {
        Dimension::Pressure => Some(&FINE_PRESSURE),
        Dimension::Flow => Some(&FINE_FLOW),
        Dimension::Humidity => Some(&FINE_HUMIDITY),
        Dimension::Temperature => Some(&FINE_DEW_POINT),
        _ => None,
    }
}

/// From the shore of the Dead Sea to above the highest towns.
static ELEVATION: Domain = Domain::new("-450 m", "6000 m");
/// Pressure that a cable is kept at: sheaths are rated for no more than a few times this.
static LEAST_PRESSURE: Domain = Domain::new("0.1 psi", "25 psi");
/// A section or an air pipe.
static LINE_LENGTH: Domain = Domain::new("0.3 m", "200 km");
pub(crate) static DISTANCE: Domain = Domain::new("0.1 m", "500 km").or_zero();
/// From cable just covered to cable in deep tunnels.
static DEPTH: Domain = Domain::new("0.1 m", "200 m").or_zero();
static PIPE_BORE: Domain = Domain::new("1 mm", "150 mm");
/// From drawn tube to concrete.
static ROUGHNESS: Domain = Domain::new("0.0001 mm", "3 mm").or_zero();
/// Threads and tubes from 1/16 in to 3 in.
pub(crate) static FITTING: Domain = Domain::new("1.5 mm", "80 mm");
static COLDEST: Domain = Domain::new("-70 degC", "30 degC");
/// Up to the rating of the best insulation of wires.
static HOTTEST: Domain = Domain::new("5 degC", "125 degC");
pub(crate) static AIR_TEMPERATURE: Domain = Domain::new("-50 degC", "60 degC");
/// Temperatures at which makers state figures: from the freezing point of DIN 1343 to a hot day.
static STANDARD_TEMPERATURE: Domain = Domain::new("-5 degC", "45 degC");
/// From desiccant at its best to a refrigerated dryer.
pub(crate) static DELIVERED_DEW_POINT: Domain = Domain::new("-110 degC", "20 degC");
/// Intake air of a compressor: ISO 2533 from below sea level to the highest towns.
static ATMOSPHERE: Domain = Domain::new("45 kPa-abs", "110 kPa-abs");
/// Mean pressure in a cable, from thin air to a cable at its rating.
static MEAN_PRESSURE: Domain = Domain::new("45 kPa-abs", "400 kPa-abs");
/// From the last stage of pressure to full cylinders.
static AIR_SUPPLY: Domain = Domain::new("0.1 psi", "5000 psi");
static DIFFERENTIAL: Domain = Domain::new("0.01 psi", "200 psi");
/// From a clean filter at a trickle to a clogged one.
static LOSS: Domain = Domain::new("0.0001 psi", "100 psi");
/// Flow at which a loss is stated.
pub(crate) static LOSS_FLOW: Domain = Domain::new("0.01 scfh", "20000 scfh");
static SHEATH_RATING: Domain = Domain::new("2 psi", "75 psi");
static PRESSURE_RATING: Domain = Domain::new("1 psi", "10000 psi");
static DROOP: Domain = Domain::new("0.00001 psi/scfh", "5 psi/scfh").or_zero();
static CAPACITY: Domain = Domain::new("0.5 scfh", "20000 scfh");
static USAGE: Domain = Domain::new("0.0001 scfh", "2000 scfh").or_zero();
/// From the largest cables to those of a few pairs.
static CABLE_RESISTANCE: Domain = Domain::new("0.0002 psi/scfh/kft", "200 psi/scfh/kft");
/// From a small bottle to a trailer of them.
static BOTTLED: Domain = Domain::new("1 scf", "200000 scf");
static VOLUME: Domain = Domain::new("0.05 L", "200 m3");
/// Conductors of cable pairs and of the jumpers on them.
pub(crate) static PAIR_SIZE: Domain = Domain::new("32 awg", "8 awg");
/// Conductors of power and ground.
pub(crate) static CONDUCTOR: Domain = Domain::new("32 awg", "1000 kcmil");
/// Plants of 12 V, discharged, to those of 400 V.
static BATTERY: Domain = Domain::new("9 V", "450 V").either_sign();
/// From a small sealed block to the plant of a large office.
static BATTERY_CAPACITY: Domain = Domain::new("1 Ah", "30000 Ah");
static LOAD_WINDOW: Domain = Domain::new("3 V", "500 V").either_sign();
static LOOP_VOLTAGE: Domain = Domain::new("2 V", "180 V").either_sign();
static LOOP_RESISTANCE: Domain = Domain::new("10 ohm", "25000 ohm");
/// From a lead of a few metres to a leased pair.
static LEAD_LOOP: Domain = Domain::new("0.01 ohm", "25000 ohm");
static LOOP_CURRENT: Domain = Domain::new("0.05 mA", "150 mA");
/// Current of a load.
pub(crate) static DRAWN_CURRENT: Domain = Domain::new("1 mA", "100 A");
/// From controls of electronics to contactors.
static CONTROL_CURRENT: Domain = Domain::new("1 mA", "30 A");
static DRAWS: Domain = Domain::new("0.05 W", "5000 W");
/// Up to the largest distribution bays.
static PANEL_CURRENT: Domain = Domain::new("0.5 A", "1200 A");
static SIGNAL_PRESSURE: Domain = Domain::new("-15 psi", "10000 psi");
static SIGNAL_FLOW: Domain = Domain::new("0.0001 scfh", "100000 scfh").or_zero().either_sign();
static SIGNAL_HUMIDITY: Domain = Domain::new("0 %rh", "100 %rh");
static SIGNAL_DEW_POINT: Domain = Domain::new("-120 degC", "100 degC");
static FINE_PRESSURE: Domain = Domain::new("0.0002 psi", "100 psi");
static FINE_FLOW: Domain = Domain::new("0.0005 scfh", "2000 scfh");
static FINE_HUMIDITY: Domain = Domain::new("0.001 %rh", "50 %rh");
/// Differences of two dew points, in kelvins.
static FINE_DEW_POINT: Domain = Domain::new("0.01 K", "50 K");

/// Outside diameter of a tube.
pub(crate) static TUBE: Domain = Domain::new("1.5 mm", "80 mm");
/// Inside diameter of a tube.
pub(crate) static TUBE_BORE: Domain = Domain::new("0.3 mm", "80 mm");
/// A leak, by what it loses: from less than any sensor shows to a large pipe that is cut off.
pub(crate) static LEAK: Domain = Domain::new("0.0001 scfh", "100000 scfh");
/// A hole in a sheath or pipe: from a pin prick to a large pipe that is cut off.
pub(crate) static HOLE_BORE: Domain = Domain::new("0.1 mm", "150 mm");
/// A tube between two things in an office; what leads along a route is an air pipe.
pub(crate) static TUBE_LENGTH: Domain = Domain::new("25 mm", "1000 m");
/// A jumper, or line wire to a door or a fence; along a route it is a cable.
pub(crate) static JUMPER_LENGTH: Domain = Domain::new("25 mm", "3000 m");
/// A feed, one way.
pub(crate) static FEED_LENGTH: Domain = Domain::new("25 mm", "2000 m");
/// A ground conductor, which stays in its building.
pub(crate) static GROUND_LENGTH: Domain = Domain::new("25 mm", "250 m");
pub(crate) static FUSE: Domain = Domain::new("0.02 A", "6000 A");
pub(crate) static LOOP_READING: Domain = Domain::new("0.1 ohm", "1000 Mohm").or_zero();
pub(crate) static SUPPLY_READING: Domain = Domain::new("1 mV", "500 V").or_zero().either_sign();
pub(crate) static DECAY_PRESSURE: Domain = Domain::new("0 psi", "100 psi");
pub(crate) static DECAY_TIME: Domain = Domain::new("10 s", "400 d");
/// Times over which stored air matters (common practice, no source).
pub(crate) static HELD_TIME: Domain = Domain::new("1 min", "60 d");
pub(crate) static CABLE_TEMPERATURE: Domain = Domain::new("-70 degC", "90 degC");

/// Plausible ranges of attributes of runs and of readings, for the reference.
pub static OF_RUNS_AND_READINGS: &[(&str, &Domain)] = &[
    ("`tube` of an air run", &TUBE),
    ("`bore` of an air run", &TUBE_BORE),
    ("length of an air run", &TUBE_LENGTH),
    ("fitting of an adapter", &FITTING),
    ("length of a wire run", &JUMPER_LENGTH),
    ("wire size of a wire run", &PAIR_SIZE),
    ("length of a power run", &FEED_LENGTH),
    ("length of a ground run", &GROUND_LENGTH),
    ("wire size of a power or ground run", &CONDUCTOR),
    ("fuse of a power run", &FUSE),
    ("flow of a `loss`", &LOSS_FLOW),
    ("reading of a loop", &LOOP_READING),
    ("reading of a supply", &SUPPLY_READING),
    ("pressure in a decay test", &DECAY_PRESSURE),
    ("time of a decay test", &DECAY_TIME),
    ("leak in a state", &LEAK),
    ("bore of a hole in a state", &HOLE_BORE),
    ("time of an expectation", &HELD_TIME),
    ("temperature in a decay test", &CABLE_TEMPERATURE),
];

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::super::KINDS;
    use super::*;

    fn every_field(fields: &'static [FieldSpec], out: &mut Vec<&'static FieldSpec>) {
        for field in fields {
            out.push(field);
            every_field(field.inner(), out);
        }
    }

    fn quantity(written: &str) -> Quantity {
        super::written(written).unwrap()
    }

    #[test]
    fn every_figure_has_bounds_of_its_dimension() {
        let mut fields = Vec::new();
        for kind in KINDS {
            every_field(kind.fields, &mut fields);
        }
        let mut figures = 0;
        for field in fields {
            let Some(dimension) = field.shape.dimension() else {
                continue;
            };
            figures += 1;
            let (least, most) = field.domain().unwrap().bounds().unwrap();
            assert_eq!(least.dimension(), dimension, "{}", field.word());
            assert_eq!(most.dimension(), dimension, "{}", field.word());
            assert!(least.si() < most.si(), "{}", field.word());
            if let Some(default) = field.default_quantity() {
                assert!(field.domain().unwrap().has(default, false), "{}", field.word());
            }
        }
        assert!(figures > 60, "{figures}");
        for (what, domain) in OF_RUNS_AND_READINGS {
            let (least, most) = domain.bounds().unwrap();
            assert!(least.si() < most.si(), "{what}");
        }
    }

    #[test]
    fn what_is_within() {
        let within = |domain: &Domain, written: &str| domain.has(quantity(written), false);
        for (domain, written) in [
            (&ELEVATION, "-450 m"),
            (&ELEVATION, "14000 ft"),
            (&DEPTH, "0 m"),
            (&BATTERY, "-48 V"),
            (&BATTERY, "24 V"),
            (&CONDUCTOR, "0 awg"),
            (&CONDUCTOR, "-3 awg"),
            (&CONDUCTOR, "750 kcmil"),
            (&CONDUCTOR, "2.5 mm2"),
            (&ATMOSPHERE, "14.696 psia"),
            (&AIR_SUPPLY, "45 psia"),
        ] {
            assert!(within(domain, written), "{written}");
        }
        for (domain, written) in [
            (&ELEVATION, "205 km"),
            (&ELEVATION, "-500 m"),
            (&DEPTH, "-2 m"),
            (&DEPTH, "2 mm"),
            (&BATTERY, "0 V"),
            (&CONDUCTOR, "-4 awg"),
            (&CONDUCTOR, "6.5 awg"),
            (&ATMOSPHERE, "30 psia"),
            (&ATMOSPHERE, "14.7 psi"),
            (&AIR_SUPPLY, "10 psia"),
        ] {
            assert!(!within(domain, written), "{written}");
        }
        assert!(FINE_DEW_POINT.has(quantity("2 degC"), true));
        assert!(FINE_DEW_POINT.has(quantity("2 degF"), true));
        assert!(!FINE_DEW_POINT.has(quantity("-2 degF"), true));
    }
}
