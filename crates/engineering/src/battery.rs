//! How long a battery carries a load.
//!
//! A lead-acid battery is rated by the charge that it gives in eight hours down to its end of discharge. A slower
//! discharge gives a little more, a faster one less (Peukert, 1897); how much is in the maker's table. So these
//! functions apply to eight hours and more, and are conservative there. Proper sizing, with the load over time and the
//! temperature, is IEEE 485.

use crate::measure::{Charge, Current, Time};

/// Discharge time of the rated capacity, h: that of telephone plants in America (common practice; IEC 60896 rates at 10
/// h, from memory).
pub const RATED_HOURS: f64 = 8.0;
/// Fraction of its capacity that a battery has at the end of its life, when it is replaced (IEEE 450 and 1188, from
/// memory).
pub const AT_END_OF_LIFE: f64 = 0.8;

const HOUR: f64 = 3600.0;

/// How long a battery of a capacity carries a constant current: t = C/I. `None` for less than the rated discharge time,
/// since the battery gives less then, and for zero current.
pub fn carries(capacity: Charge, current: Current) -> Option<Time> {
    let seconds = capacity.coulombs() / current.amperes();
    (seconds.is_finite() && seconds >= RATED_HOURS * HOUR).then(|| Time::from_seconds(seconds))
}

/// The capacity that carries a current for a time, discharging no faster than rated: C = I·max(t, 8 h).
pub fn needed(current: Current, time: Time) -> Charge {
    Charge::from_coulombs(current.amperes() * time.seconds().max(RATED_HOURS * HOUR))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;

    #[test]
    fn a_battery_carries_what_it_holds_over_what_is_drawn() {
        // By hand: 100 Ah over 2 A are 50 h; over 20 A they would be 5 h, which is faster than rated.
        let capacity = Charge::from_coulombs(100.0 * HOUR);
        let hours = |amperes| carries(capacity, Current::from_amperes(amperes)).map(|time| time.seconds() / HOUR);
        assert!((hours(2.0).unwrap() - 50.0).abs() < 1e-12);
        assert!((hours(12.5).unwrap() - 8.0).abs() < 1e-12);
        assert_eq!((hours(20.0), hours(0.0)), (None, None));
    }

    #[test]
    fn what_is_needed_carries_it_that_long() {
        // By hand: 2 A for 24 h are 48 Ah, and for 3 h as much as for 8 h: 16 Ah.
        let needed =
            |hours: f64| needed(Current::from_amperes(2.0), Time::from_seconds(hours * HOUR)).coulombs() / HOUR;
        assert!((needed(24.0) - 48.0).abs() < 1e-12 && (needed(3.0) - 16.0).abs() < 1e-12);
    }
}
