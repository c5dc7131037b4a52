//! Current that equipment draws at a given voltage.

use crate::measure::{Current, Power, Voltage};

/// Current of a constant-power load, I = P/|V| (definition of power). It is highest at the low end of the input window,
/// so use that voltage to size a fuse. The sign of the voltage is the polarity of the plant and does not matter here.
/// `None` at 0 V.
pub fn constant_power_current(power: Power, voltage: Voltage) -> Option<Current> {
    let magnitude = voltage.volts().abs();
    (magnitude > 0.0).then(|| power / Voltage::from_volts(magnitude))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn draws_more_as_the_battery_runs_down() {
        // Worked example OCP-1: 60 W at 40.5 V, the low end of ETSI EN 300 132-2.
        let current = constant_power_current(Power::from_watts(60.0), Voltage::from_volts(-40.5));
        assert!((current.map_or(0.0, Current::amperes) - 1.481_481_481_481_481_4).abs() < 1e-12);
        assert_eq!(
            constant_power_current(Power::from_watts(60.0), Voltage::from_volts(0.0)),
            None
        );
    }
}
