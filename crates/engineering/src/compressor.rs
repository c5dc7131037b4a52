//! Duty cycle of a compressor that fills a tank between two pressures.

use crate::measure::{Flow, Pressure, Temperature, Time, Volume};
use crate::standard::StandardConditions;

/// A run of a compressor and the rest after it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cycle {
    /// Running time in each cycle.
    pub on: Time,
    /// Rest time in each cycle.
    pub off: Time,
}

impl Cycle {
    /// Number of starts per hour.
    pub fn starts_an_hour(self) -> f64 {
        const HOUR: f64 = 3600.0;
        HOUR / (self.on.seconds() + self.off.seconds())
    }
}

/// The cycle of a compressor that delivers `capacity`, C, while it runs, with a tank that is drained continuously by
/// `used`, Q. From cut-in to cut-out the tank stores `A = V·Δp/p_s·T_s/T` of air at standard conditions (ideal gas,
/// constant temperature): the compressor runs for A/(C − Q) and rests for A/Q \[derived\]. So it starts most often at
/// half its capacity.
///
/// `None` if nothing is used, so that it never starts again, if it cannot keep up, so that it never stops, and if a
/// figure is not positive.
pub fn cycle(tank: Volume, between: Pressure, temperature: Temperature, capacity: Flow, used: Flow) -> Option<Cycle> {
    let standard = StandardConditions::BASE;
    let filled = tank.cubic_metres() * between.pascals() / standard.pressure().pascals()
        * standard.temperature().kelvins()
        / temperature.kelvins();
    let [used, capacity] = [used, capacity].map(Flow::cubic_metres_per_second);
    let is_usual = filled > 0.0 && filled.is_finite() && used > 0.0 && capacity > used;
    is_usual.then(|| Cycle {
        on: Time::from_seconds(filled / (capacity - used)),
        off: Time::from_seconds(filled / used),
    })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;
    use crate::figures::scfh;
    use crate::units::find;

    fn of(used: f64) -> Option<Cycle> {
        let si = |figure: f64, unit: &str| find(unit).unwrap().to_si(figure);
        let (tank, between) = (
            Volume::from_cubic_metres(si(2.0, "ft3")),
            Pressure::from_pascals(si(14.695_95, "psi")),
        );
        cycle(
            tank,
            between,
            StandardConditions::BASE.temperature(),
            scfh(40.0),
            scfh(used),
        )
    }

    #[test]
    fn a_tank_of_two_cubic_feet_over_one_atmosphere_holds_two_standard_ones() {
        // By hand: 2 scf at 40 − 10 scfh are 4 min on, at 10 scfh 12 min off: 3.75 starts an hour, a quarter of the time.
        let cycle = of(10.0).unwrap();
        assert!((cycle.on.seconds() - 240.0).abs() < 0.01, "{cycle:?}");
        assert!((cycle.off.seconds() - 720.0).abs() < 0.03, "{cycle:?}");
        assert!((cycle.starts_an_hour() - 3.75).abs() < 1e-3, "{cycle:?}");
    }

    #[test]
    fn it_starts_most_often_where_half_is_used() {
        let starts = |used| of(used).unwrap().starts_an_hour();
        assert!(starts(20.0) > starts(19.0) && starts(20.0) > starts(21.0));
        // C/(4·V): 40 scfh over 4 times 2 scf.
        assert!((starts(20.0) - 5.0).abs() < 1e-3);
    }

    #[test]
    fn there_is_no_cycle_where_it_never_starts_or_never_stops() {
        for used in [0.0, 40.0, 41.0, f64::NAN] {
            assert_eq!(of(used), None, "{used}");
        }
    }
}
