//! Voltage that arrives at a load, and required size of its wire.
//!
//! A constant-power load draws more current the lower its voltage, which lowers the voltage further. Plants may have
//! either polarity; results keep the sign of the source's voltage, which has no other effect.

use core::fmt;

use crate::measure::{ConductorArea, Current, Length, Power, Resistance, Temperature, Voltage};
use crate::wire;

/// Voltage and current at the end of a feed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ReceivingEnd {
    /// Voltage at the load, with the sign of the source.
    pub voltage: Voltage,
    /// Current in the feed.
    pub current: Current,
}

/// The feed cannot carry the power at any voltage.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct VoltageCollapse {
    /// Magnitude of the source's voltage.
    pub source: Voltage,
    /// Power of the load.
    pub load: Power,
    /// Resistance of the feed, there and back.
    pub resistance: Resistance,
    /// The highest power that this feed can carry to a load.
    pub most: Power,
}

impl fmt::Display for VoltageCollapse {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{:.1} W cannot arrive: from {:.2} V through {:.3} ohm at most {:.1} W can, and the voltage collapses; \
             take thicker wire, a shorter run or a smaller load",
            self.load.watts(),
            self.source.volts(),
            self.resistance.ohms(),
            self.most.watts()
        )
    }
}

impl core::error::Error for VoltageCollapse {}

/// Voltage and current at a load of constant power P, fed from a source V₀ through a resistance R there and back: V =
/// (V₀ + √(V₀² − 4PR))/2 \[derived\]. The lower root is not a stable operating point: there a load that draws more
/// current gets less power.
///
/// The worst case is the voltage at the end of discharge ([`end_of_discharge`]) and the hottest wire
/// ([`wire::loop_resistance`]). Contacts, fuses and joints add to R.
///
/// # Errors
///
/// [`VoltageCollapse`] if 4PR exceeds V₀². Load and resistance must not be negative.
pub fn receiving_end(source: Voltage, load: Power, resistance: Resistance) -> Result<ReceivingEnd, VoltageCollapse> {
    let magnitude = source.volts().abs();
    let (watts, ohms) = (load.watts(), resistance.ohms());
    let discriminant = magnitude * magnitude - 4.0 * watts * ohms;
    if discriminant.is_nan() || discriminant < 0.0 {
        return Err(VoltageCollapse {
            source: Voltage::from_volts(magnitude),
            load,
            resistance,
            most: Power::from_watts(magnitude * magnitude / (4.0 * ohms)),
        });
    }
    let arrived = f64::midpoint(magnitude, discriminant.sqrt());
    Ok(ReceivingEnd {
        voltage: Voltage::from_volts(arrived.copysign(source.volts())),
        current: Current::from_amperes(watts / arrived),
    })
}

/// Highest resistance, there and back, through which a load of constant power still has `least` volts: R = V·(V₀ − V)/P
/// \[derived\]. `None` if that voltage is above the source's, if the load has no power, or if it is below half the
/// source's voltage, where no load can run.
pub fn most_resistance(source: Voltage, load: Power, least: Voltage) -> Option<Resistance> {
    let (from, to) = (source.volts().abs(), least.volts().abs());
    let possible = to <= from && to * 2.0 >= from && from > 0.0 && load.watts() > 0.0;
    possible.then(|| Resistance::from_ohms(to * (from - to) / load.watts()))
}

/// Least cross-section of copper for a loss of `drop` volts over this one-way length: A = 2·ρ·I·L/ΔV with the
/// resistivity of [`wire::resistance`] \[derived\]. In the trade's form, circular mils = 2·K·I·L/ΔV with K = 10.371
/// Ω·cmil/ft at 20 °C \[from memory, recomputed\]. For a load of constant power use the current at the voltage that
/// arrives, P/(V₀ − ΔV). `None` unless current, length and drop are positive.
pub fn area_for_drop(
    current: Current,
    length: Length,
    drop: Voltage,
    temperature: Temperature,
) -> Option<ConductorArea> {
    let drop = drop.volts().abs();
    let possible = current.amperes() > 0.0 && length.metres() > 0.0 && drop > 0.0;
    let square_metre = wire::resistance(ConductorArea::from_square_metres(1.0), length * 2.0, temperature);
    possible.then(|| ConductorArea::from_square_metres((current * square_metre).volts() / drop))
}

/// Voltage of a battery at its end of discharge, cells × end voltage of a cell: 24 × 1.75 V = 42.0 V \[derived\]. The
/// battery's maker states the end voltage of a cell; 1.75 V is usual for lead-acid \[common practice\].
pub fn end_of_discharge(cells: u32, cell: Voltage) -> Voltage {
    cell * f64::from(cells)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;
    use crate::figures::feet;
    use crate::trade_size::CIRCULAR_MIL;
    use crate::wire::{WireSegment, gauge_area, loop_resistance};

    fn line(gauge: f64, length: f64, celsius: f64) -> Resistance {
        let stretch = WireSegment {
            area: gauge_area(gauge),
            length: feet(length),
        };
        loop_resistance([stretch], Temperature::from_celsius(celsius))
    }

    #[test]
    fn a_long_thin_feed_at_the_end_of_discharge() {
        // By hand, from the quadratic of a constant-power load: 60 W, 180 ft, −42 V at 40 °C; 14 AWG falls to 40.55 V
        // [derived].
        let battery = end_of_discharge(24, Voltage::from_volts(-1.75));
        let load = Power::from_watts(60.0);
        let resistance = line(14.0, 180.0, 40.0);
        let found = receiving_end(battery, load, resistance).unwrap();
        assert!((found.voltage.volts() + 40.55).abs() < 0.005, "{found:?}");
        // Kirchhoff: arriving voltage and loss add up to the source; the power arrives.
        let lost = (found.current * resistance).volts();
        assert!((found.voltage.volts() - lost - battery.volts()).abs() < 1e-9);
        assert!((found.voltage.volts() * found.current.amperes() + 60.0).abs() < 1e-9);
        let most = most_resistance(battery, load, found.voltage).unwrap();
        assert!((most.ohms() / resistance.ohms() - 1.0).abs() < 1e-9, "{most:?}");
    }

    #[test]
    fn a_feed_that_cannot_carry_its_load() {
        let (battery, load) = (Voltage::from_volts(-42.0), Power::from_watts(60.0));
        let error = receiving_end(battery, load, Resistance::from_ohms(8.0)).unwrap_err();
        assert_eq!(
            error.to_string(),
            "60.0 W cannot arrive: from 42.00 V through 8.000 ohm at most 55.1 W can, and the voltage collapses; take \
             thicker wire, a shorter run or a smaller load"
        );
        // At the limit half of the voltage arrives.
        let brink = receiving_end(battery, load, Resistance::from_ohms(42.0 * 42.0 / 240.0)).unwrap();
        assert!((brink.voltage.volts() + 21.0).abs() < 1e-6, "{brink:?}");
    }

    #[test]
    fn loads_and_wires_at_their_ends() {
        let found = |volts, watts, ohms| {
            receiving_end(
                Voltage::from_volts(volts),
                Power::from_watts(watts),
                Resistance::from_ohms(ohms),
            )
        };
        for (watts, ohms) in [(0.0, 5.0), (60.0, 0.0)] {
            assert_eq!(found(48.0, watts, ohms).map(|found| found.voltage.volts()), Ok(48.0));
        }
        for (watts, ohms) in [
            (60.0, f64::INFINITY),
            (f64::INFINITY, 1.0),
            (f64::NAN, 1.0),
            (0.0, f64::INFINITY),
        ] {
            assert!(found(48.0, watts, ohms).is_err(), "{watts} W, {ohms} ohm");
        }
        let most = |source, watts, least| {
            most_resistance(
                Voltage::from_volts(source),
                Power::from_watts(watts),
                Voltage::from_volts(least),
            )
        };
        assert_eq!(most(-42.0, 60.0, -43.0), None);
        assert_eq!(most(-42.0, 0.0, -40.5), None);
        assert_eq!(most(-42.0, 60.0, -20.0), None);
        assert_eq!(most(-42.0, 60.0, -42.0), Some(Resistance::from_ohms(0.0)));
    }

    #[test]
    fn circular_mils_for_a_drop() {
        // Worked example PWR-2 (from memory, recomputed from IEC 60028), tolerance 0.1 %.
        let cold = Temperature::from_celsius(20.0);
        let mils = |amperes, length, volts| {
            let area = area_for_drop(
                Current::from_amperes(amperes),
                feet(length),
                Voltage::from_volts(volts),
                cold,
            );
            area.map(|area| area.square_metres() / CIRCULAR_MIL)
        };
        let found = mils(2.0, 180.0, 0.5).unwrap();
        assert!((found / 14_934.550_185_326_916 - 1.0).abs() < 1e-9, "{found} cmil");
        let factor = mils(1.0, 1.0, 2.0).unwrap();
        assert!(
            (factor / 10.371_215_406_477_026 - 1.0).abs() < 1e-9,
            "{factor} ohm cmil/ft"
        );
        assert_eq!(mils(2.0, 180.0, 0.0), None);
        assert_eq!(mils(f64::NAN, 180.0, 0.5), None);
    }
}
