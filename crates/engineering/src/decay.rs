//! The pressure-decay test: pressure and temperature in a closed volume, read twice.

use crate::measure::{AbsolutePressure, Flow, FlowResistance, Pressure, Temperature, Time, Volume};
use crate::standard::StandardConditions;

/// The state of the air in a closed volume at one time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ClosedAir {
    /// Absolute pressure: gauge reading plus ambient pressure.
    pub pressure: AbsolutePressure,
    /// Temperature of the air, which may differ from that of the room.
    pub temperature: Temperature,
}

fn positive(figure: f64) -> bool {
    figure.is_finite() && figure > 0.0
}

/// The mean flow that left a closed volume between two readings: Q = (V/p₀)·(T₀/Δt)·(p₁/T₁ − p₂/T₂), the mass balance
/// of an ideal gas \[derived\]. Negative if air came in.
///
/// Temperatures matter: a sealed 2 ft³ at 10 psig that cools from 70 to 65 °F within 12 minutes would pass for a leak
/// of 0.16 scfh if its temperature were taken as constant. An error of 1 °F in one reading is worth 0.2 % of the
/// *absolute* pressure.
///
/// `None` unless volume, time, pressures and temperatures are positive.
pub fn decay_flow(volume: Volume, before: ClosedAir, after: ClosedAir, time: Time) -> Option<Flow> {
    let possible = [volume.cubic_metres(), time.seconds()]
        .into_iter()
        .chain(
            [before, after]
                .into_iter()
                .flat_map(|air| [air.pressure.pascals(), air.temperature.kelvins()]),
        )
        .all(positive);
    let amount = |air: ClosedAir| air.pressure.pascals() / air.temperature.kelvins();
    let standard = StandardConditions::BASE.pressure().pascals() / StandardConditions::BASE.temperature().kelvins();
    possible.then(|| {
        let left = volume.cubic_metres() * (amount(before) - amount(after)) / standard;
        Flow::from_cubic_metres_per_second(left / time.seconds())
    })
}

/// How the pressure of a closed volume falls through one laminar leak at constant temperature: (p − a)/(p + a) =
/// C·exp(−t/τ), τ = V·R·T₀/(a·T), with a the ambient pressure and absolute pressures \[derived\].
///
/// Valid for a leak that obeys p² − a² = 2·p₀·R·Q with p₀ = 101 325 Pa and R taken at the air's temperature: long and
/// narrow, not a hole that chokes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LaminarDecay {
    start: f64,
    surroundings: AbsolutePressure,
    constant: Time,
}

impl LaminarDecay {
    /// Computes the decay from the gauge pressure at the start. `None` unless volume, leak, ambient pressure and
    /// temperature are positive and the start is not below vacuum.
    pub fn new(
        volume: Volume,
        leak: FlowResistance,
        surroundings: AbsolutePressure,
        temperature: Temperature,
        start: Pressure,
    ) -> Option<Self> {
        let around = surroundings.pascals();
        let figures = [
            volume.cubic_metres(),
            leak.pascal_seconds_per_m3(),
            around,
            temperature.kelvins(),
            (surroundings + start).pascals(),
        ];
        // R refers to p₀, as flows do, so the two cancel.
        let cooling = StandardConditions::BASE.temperature().kelvins() / temperature.kelvins();
        let seconds = volume.cubic_metres() * leak.pascal_seconds_per_m3() / around * cooling;
        figures.into_iter().all(positive).then(|| Self {
            start: start.pascals() / (start.pascals() + 2.0 * around),
            surroundings,
            constant: Time::from_seconds(seconds),
        })
    }

    /// The gauge pressure after some time.
    pub fn after(self, time: Time) -> Pressure {
        let ratio = self.start * (-time.seconds() / self.constant.seconds()).exp();
        Pressure::from_pascals(2.0 * self.surroundings.pascals() * ratio / (1.0 - ratio))
    }

    /// Time from the start until the gauge reads this pressure: the inverse of [`LaminarDecay::after`]. `None` for a
    /// pressure that never occurs.
    pub fn until(self, gauge: Pressure) -> Option<Time> {
        let ratio = gauge.pascals() / (gauge.pascals() + 2.0 * self.surroundings.pascals());
        let fall = self.start / ratio;
        (fall.is_finite() && fall >= 1.0).then(|| self.constant * fall.ln())
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;
    use crate::atmosphere::SEA_LEVEL_PRESSURE;
    use crate::figures::{in_psi, psi};
    use crate::units::find;

    const SEA_LEVEL: AbsolutePressure = AbsolutePressure::from_pascals(SEA_LEVEL_PRESSURE);

    fn fahrenheit(figure: f64) -> Temperature {
        Temperature::from_kelvins(find("degF").unwrap().to_si(figure))
    }

    fn volume(cubic_feet: f64) -> Volume {
        Volume::from_cubic_metres(find("ft3").unwrap().to_si(cubic_feet))
    }

    fn reading(gauge: Pressure, degrees: f64) -> ClosedAir {
        ClosedAir {
            pressure: SEA_LEVEL + gauge,
            temperature: fahrenheit(degrees),
        }
    }

    fn in_scfh(flow: Flow) -> f64 {
        find("scfh").unwrap().from_si(flow.cubic_metres_per_second())
    }

    #[test]
    fn half_a_psi_in_twelve_minutes() {
        // Worked example DEC-1 (ideal gas mass balance), tolerance 0.1 %.
        let time = Time::from_seconds(12.0 * 60.0);
        let found = decay_flow(volume(2.0), reading(psi(10.0), 60.0), reading(psi(9.5), 60.0), time).unwrap();
        assert!(
            (in_scfh(found) / 0.340_229_819_549_388_63 - 1.0).abs() < 1e-9,
            "{found:?}"
        );
    }

    #[test]
    fn cooling_looks_like_a_leak() {
        // By hand, ideal gas: a sealed 2 ft³ at 10 psig from 70 to 65 °F looks like 0.16 scfh (over 12 minutes).
        let time = Time::from_seconds(12.0 * 60.0);
        let before = reading(psi(10.0), 70.0);
        let cooled = before.pressure * (fahrenheit(65.0).kelvins() / fahrenheit(70.0).kelvins());
        let after = |degrees| ClosedAir {
            pressure: cooled,
            temperature: fahrenheit(degrees),
        };
        let taken_as_constant = decay_flow(volume(2.0), before, after(70.0), time).unwrap();
        assert!(
            (in_scfh(taken_as_constant) - 0.16).abs() < 0.005,
            "{taken_as_constant:?}"
        );
        let found = decay_flow(volume(2.0), before, after(65.0), time).unwrap();
        assert!(in_scfh(found).abs() < 1e-9, "{found:?}");
    }

    #[test]
    fn a_laminar_leak_empties_its_volume() {
        // Worked example DEC-3 (derived; scipy's solve_ivp agrees), tolerance 1e-5 psi.
        let leak = FlowResistance::from_pascal_seconds_per_m3(find("psi/scfh").unwrap().to_si(6.0));
        let decay = LaminarDecay::new(volume(2.0), leak, SEA_LEVEL, fahrenheit(60.0), psi(10.0)).unwrap();
        let hours = |figure: f64| Time::from_seconds(figure * 3600.0);
        assert!((decay.constant.seconds() / 3600.0 - 0.816_551_566_918_532_7).abs() < 1e-9);
        for (time, expected) in [
            (0.0, 10.0),
            (0.25, 6.756_391_639_879_368),
            (1.0, 2.369_334_141_373_972_4),
        ] {
            let found = decay.after(hours(time));
            assert!(
                (in_psi(found) - expected).abs() < 1e-5,
                "{time} h: {} psig",
                in_psi(found)
            );
            let back = decay.until(psi(expected)).unwrap();
            assert!((back.seconds() / 3600.0 - time).abs() < 1e-5, "{time} h");
        }
        assert_eq!(decay.until(psi(10.1)), None);
        assert_eq!(decay.until(psi(0.0)), None);
        assert_eq!(decay.until(psi(-1.0)), None);
    }

    #[test]
    fn a_vacuum_fills_by_the_same_law() {
        let leak = FlowResistance::from_pascal_seconds_per_m3(find("psi/scfh").unwrap().to_si(6.0));
        let decay = LaminarDecay::new(volume(2.0), leak, SEA_LEVEL, fahrenheit(60.0), psi(-5.0)).unwrap();
        let later = decay.after(Time::from_seconds(1800.0));
        assert!(in_psi(later) > -5.0 && in_psi(later) < 0.0, "{later:?}");
        assert!((decay.until(later).unwrap().seconds() - 1800.0).abs() < 1e-6);
    }

    #[test]
    fn what_is_no_test_gives_no_flow() {
        let good = reading(psi(10.0), 60.0);
        let hour = Time::from_seconds(3600.0);
        let cold = ClosedAir {
            temperature: Temperature::from_kelvins(0.0),
            ..good
        };
        assert_eq!(decay_flow(volume(0.0), good, good, hour), None);
        assert_eq!(decay_flow(volume(2.0), good, good, Time::from_seconds(0.0)), None);
        assert_eq!(decay_flow(volume(2.0), good, cold, hour), None);
        assert_eq!(decay_flow(volume(f64::NAN), good, good, hour), None);
        let leak = FlowResistance::from_pascal_seconds_per_m3(0.0);
        assert_eq!(
            LaminarDecay::new(volume(2.0), leak, SEA_LEVEL, fahrenheit(60.0), psi(10.0)),
            None
        );
        let leak = FlowResistance::from_pascal_seconds_per_m3(1e9);
        assert_eq!(
            LaminarDecay::new(volume(2.0), leak, SEA_LEVEL, fahrenheit(60.0), psi(-15.0)),
            None
        );
    }
}
