//! Measures for computation: one type for each kind of figure, all in SI.
//!
//! The `uom` crate (0.38) was considered. It provides checked arithmetic of all dimensions. Against it: in `uom` a
//! gauge reading and an absolute pressure have the same type and add up without an error, which is the most common
//! mistake in this trade; a flow "at standard conditions" is a mass flow written as a volume, and would need a type of
//! our own in any case; its factors have seven digits while ours are exact; AWG and psi/scfh/kft are not among its
//! units, so the table of units would be ours too; it takes some ten seconds to compile; and its type errors spell out
//! exponents where `Voltage` would do. The small types below have only the operations that the laws in this crate use.
//! If the laws ever need products of many dimensions, the choice should be reconsidered.

use core::iter::Sum;
use core::ops::{Add, Div, Mul, Sub};

use crate::units::{Dimension, Quantity};

macro_rules! measure {
    ($(#[$doc:meta])* $name:ident: $get:ident, $make:ident, $dimension:ident, absolute $absolute:literal) => {
        measure! { $(#[$doc])* $name: $get, $make }

        impl $name {
            /// Converts a written quantity, if its unit is of this kind.
            pub fn of(quantity: Quantity) -> Option<Self> {
                let fits = quantity.dimension() == Dimension::$dimension && quantity.unit.absolute == $absolute;
                fits.then(|| Self(quantity.si()))
            }
        }
    };
    ($(#[$doc:meta])* $name:ident: $get:ident, $make:ident) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
        pub struct $name(f64);

        impl $name {
            #[doc = concat!("From a figure in ", stringify!($get), ".")]
            pub const fn $make(figure: f64) -> Self {
                Self(figure)
            }

            #[doc = concat!("The figure in ", stringify!($get), ".")]
            pub const fn $get(self) -> f64 {
                self.0
            }
        }

        impl Mul<f64> for $name {
            type Output = Self;
            fn mul(self, times: f64) -> Self {
                Self(self.0 * times)
            }
        }
    };
}

measure! {
    /// A gauge pressure, or a difference of two pressures.
    Pressure: pascals, from_pascals, Pressure, absolute false
}
measure! {
    /// A pressure above vacuum, in pascals; gauge pressures are [`Pressure`].
    AbsolutePressure: pascals, from_pascals, Pressure, absolute true
}
measure! {
    /// A flow of dry air as a volume at 101 325 Pa and 60 °F: effectively a mass flow.
    Flow: cubic_metres_per_second, from_cubic_metres_per_second, Flow, absolute false
}
measure! {
    /// A length or an elevation.
    Length: metres, from_metres, Length, absolute false
}
measure! {
    /// Cross-section of the metal of a conductor.
    ConductorArea: square_metres, from_square_metres, WireSize, absolute false
}
measure! {
    /// A duration, in seconds.
    Time: seconds, from_seconds, Time, absolute false
}
measure! {
    /// A volume, in m³.
    Volume: cubic_metres, from_cubic_metres, Volume, absolute false
}
measure! {
    /// A relative humidity, 0 to 1.
    RelativeHumidity: fraction, from_fraction, Humidity, absolute false
}
measure! {
    /// A voltage, in V, with its sign.
    Voltage: volts, from_volts, Voltage, absolute false
}
measure! {
    /// An electric current, in A.
    Current: amperes, from_amperes, Current, absolute false
}
measure! {
    /// An electric charge, in C.
    Charge: coulombs, from_coulombs, Charge, absolute false
}
measure! {
    /// An electrical resistance, in Ω.
    Resistance: ohms, from_ohms, Resistance, absolute false
}
measure! {
    /// An electric power, in W.
    Power: watts, from_watts, Power, absolute false
}
measure! {
    /// A temperature above absolute zero, in kelvins.
    Temperature: kelvins, from_kelvins, Temperature, absolute false
}
measure! {
    /// Pneumatic resistance per length of cable or tube: Pa per (m³/s) per m, with the flow as in [`Flow`] and a mean
    /// absolute pressure of 101 325 Pa.
    PneumaticResistance: pascal_seconds_per_m4, from_pascal_seconds_per_m4, PneumaticResistance, absolute false
}
measure! {
    /// Pressure loss per flow, Pa per (m³/s), with the flow as in [`Flow`]: a regulator's droop, or the resistance of a
    /// laminar leak at a mean absolute pressure of 101 325 Pa.
    FlowResistance: pascal_seconds_per_m3, from_pascal_seconds_per_m3, Droop, absolute false
}
measure! {
    /// A mass flow of air.
    MassFlow: kilograms_per_second, from_kilograms_per_second
}
measure! {
    /// A dynamic viscosity, in Pa·s.
    Viscosity: pascal_seconds, from_pascal_seconds
}
measure! {
    /// A density, in kilograms per cubic metre.
    Density: kilograms_per_cubic_metre, from_kilograms_per_cubic_metre
}

impl Temperature {
    /// Converts from degrees Celsius.
    pub const fn from_celsius(degrees: f64) -> Self {
        Self(degrees + 273.15)
    }

    /// The temperature in degrees Celsius.
    pub const fn celsius(self) -> f64 {
        self.0 - 273.15
    }
}

/// Ambient pressure plus gauge pressure.
impl Add<Pressure> for AbsolutePressure {
    type Output = AbsolutePressure;
    fn add(self, gauge: Pressure) -> AbsolutePressure {
        AbsolutePressure(self.0 + gauge.0)
    }
}

impl Sub for AbsolutePressure {
    type Output = Pressure;
    fn sub(self, other: AbsolutePressure) -> Pressure {
        Pressure(self.0 - other.0)
    }
}

impl Sub<Pressure> for AbsolutePressure {
    type Output = AbsolutePressure;
    fn sub(self, gauge: Pressure) -> AbsolutePressure {
        AbsolutePressure(self.0 - gauge.0)
    }
}

impl Sub for Pressure {
    type Output = Pressure;
    fn sub(self, other: Pressure) -> Pressure {
        Pressure(self.0 - other.0)
    }
}

/// Droop of a regulator at a flow.
impl Mul<Flow> for FlowResistance {
    type Output = Pressure;
    fn mul(self, flow: Flow) -> Pressure {
        Pressure(self.0 * flow.0)
    }
}

impl Add for Flow {
    type Output = Flow;
    fn add(self, other: Flow) -> Flow {
        Flow(self.0 + other.0)
    }
}

impl Sub for Flow {
    type Output = Flow;
    fn sub(self, other: Flow) -> Flow {
        Flow(self.0 - other.0)
    }
}

impl Sum for Flow {
    fn sum<I: Iterator<Item = Flow>>(flows: I) -> Flow {
        flows.fold(Flow(0.0), Add::add)
    }
}

impl Div<Current> for Voltage {
    type Output = Resistance;
    fn div(self, current: Current) -> Resistance {
        Resistance(self.0 / current.0)
    }
}

impl Mul<Resistance> for Current {
    type Output = Voltage;
    fn mul(self, resistance: Resistance) -> Voltage {
        Voltage(self.0 * resistance.0)
    }
}

impl Div<Voltage> for Power {
    type Output = Current;
    fn div(self, voltage: Voltage) -> Current {
        Current(self.0 / voltage.0)
    }
}

impl Add for Current {
    type Output = Current;
    fn add(self, other: Current) -> Current {
        Current(self.0 + other.0)
    }
}

impl Sum for Current {
    fn sum<I: Iterator<Item = Current>>(currents: I) -> Current {
        currents.fold(Current(0.0), Add::add)
    }
}

impl Add for Resistance {
    type Output = Resistance;
    fn add(self, other: Resistance) -> Resistance {
        Resistance(self.0 + other.0)
    }
}

impl Sum for Resistance {
    fn sum<I: Iterator<Item = Resistance>>(resistances: I) -> Resistance {
        resistances.fold(Resistance(0.0), Add::add)
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::float_cmp)]

    use super::*;
    use crate::units::find;

    #[test]
    fn gauge_and_absolute_pressure_do_not_pass_for_each_other() {
        let gauge = Quantity {
            value: 10.0,
            unit: find("psi").unwrap(),
        };
        let absolute = Quantity {
            value: 14.696,
            unit: find("psia").unwrap(),
        };
        assert_eq!(AbsolutePressure::of(gauge), None);
        assert_eq!(Pressure::of(absolute), None);
        let inside = AbsolutePressure::of(absolute).unwrap() + Pressure::of(gauge).unwrap();
        assert!((inside.pascals() - 170_272.926).abs() < 0.01, "{inside:?}");
    }

    #[test]
    fn regulator_droop() {
        // Worked example REG-1: 10 psi set, 0.02 psi/scfh, 25 scfh; the linear droop model, by hand.
        let of = |value, unit| Quantity {
            value,
            unit: find(unit).unwrap(),
        };
        let set = Pressure::of(of(10.0, "psi")).unwrap();
        let droop = FlowResistance::of(of(0.02, "psi/scfh")).unwrap();
        let flow = Flow::of(of(25.0, "scfh")).unwrap();
        let outlet = find("psi").unwrap().from_si((set - droop * flow).pascals());
        assert!((outlet - 9.5).abs() < 1e-12, "{outlet} psi");
    }

    #[test]
    fn ohms_law() {
        let current = Power::from_watts(60.0) / Voltage::from_volts(48.0);
        assert_eq!(current, Current::from_amperes(1.25));
        assert_eq!(
            Voltage::from_volts(48.0) / Current::from_amperes(2.0),
            Resistance::from_ohms(24.0)
        );
        assert_eq!(current * Resistance::from_ohms(2.0), Voltage::from_volts(2.5));
        assert_eq!(
            [current, current].into_iter().sum::<Current>(),
            Current::from_amperes(2.5)
        );
    }
}
