//! Deadband of an alarm: how far a reading must come back before the alarm clears.

use core::ops::Mul;

/// Standard deviations of noise in the deadband.
const DEVIATIONS: f64 = 4.0;
/// Sensor steps in the deadband.
const STEPS: f64 = 2.0;

/// Least deadband of an alarm, max(4σ, 2 × step) \[derived, common practice\]; ISA-18.2 requires one and leaves its
/// size open. σ is the standard deviation of the noise about the slow course of the readings, and the step is the
/// resolution of the sensor. Both, and the result, are in the same measure: pressures or flows, or temperature
/// differences in kelvins.
///
/// With 4σ, a reading at its limit clears its alarm by noise alone once in some 30 000 readings \[derived, normal
/// noise\]; with 2 steps, a reading that flickers between two adjacent steps never does. A deviation that is NaN is
/// ignored.
pub fn least_deadband<M>(deviation: M, step: M) -> M
where
    M: Copy + PartialOrd + Mul<f64, Output = M>,
{
    let (noise, steps) = (deviation * DEVIATIONS, step * STEPS);
    if noise > steps { noise } else { steps }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::float_cmp)]

    use super::*;
    use crate::measure::{Flow, Pressure};
    use crate::noise::Noise;

    /// Number of times that a low alarm begins.
    fn alarms(readings: impl Iterator<Item = f64>, limit: f64, deadband: f64) -> u32 {
        let mut on = false;
        let mut count = 0;
        for reading in readings {
            if on {
                on = reading < limit + deadband;
            } else if reading < limit {
                on = true;
                count += 1;
            }
        }
        count
    }

    #[test]
    fn the_larger_of_the_two_counts() {
        let pressure =
            |deviation, step| least_deadband(Pressure::from_pascals(deviation), Pressure::from_pascals(step)).pascals();
        assert_eq!(pressure(50.0, 30.0), 200.0);
        assert_eq!(pressure(5.0, 30.0), 60.0);
        assert_eq!(pressure(0.0, 0.0), 0.0);
        assert_eq!(pressure(f64::NAN, 30.0), 60.0);
        let flow = least_deadband(
            Flow::from_cubic_metres_per_second(1.0),
            Flow::from_cubic_metres_per_second(3.0),
        );
        assert_eq!(flow, Flow::from_cubic_metres_per_second(6.0));
    }

    #[test]
    fn a_deadband_ends_the_chatter() {
        // Worked example ALM-1 (an illustration of ISA-18.2): noise of 0.05 about a mean 0.05 above a low limit of 5.0,
        // 20 000 readings. Tolerance: the order of magnitude.
        let count = |deadband| {
            let mut noise = Noise(3);
            alarms((0..20_000).map(|_| 5.05 + 0.05 * noise.normal()), 5.0, deadband)
        };
        for (deadband, expected) in [(0.0, 2679), (0.1, 1608), (0.2, 25), (0.4, 1)] {
            let found = count(deadband);
            assert!(
                found * 3 > expected && found < expected * 3,
                "{deadband}: {found} alarms, not {expected}"
            );
        }
        let least = least_deadband(Pressure::from_pascals(0.05), Pressure::from_pascals(0.01)).pascals();
        assert_eq!(least, 0.2);
        assert!(count(least) * 50 < count(0.0));
    }

    #[test]
    fn a_flickering_step_ends_no_alarm() {
        // A sensor with a step of 0.1 beside its limit: the reading moves by one step, the deadband is two.
        let flicker = (0..1000).map(|count| if count % 2 == 0 { 4.95 } else { 5.05 });
        let least = least_deadband(Pressure::from_pascals(0.0), Pressure::from_pascals(0.1)).pascals();
        assert_eq!(alarms(flicker.clone(), 5.0, 0.0), 500);
        assert_eq!(alarms(flicker, 5.0, least), 1);
    }
}
