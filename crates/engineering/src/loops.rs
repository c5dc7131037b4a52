//! Permitted resistance of a pair between a monitor and its device.
//!
//! The actual resistance of a pair is [`crate::wire::loop_resistance`] of its stretches at the highest temperature of
//! the cable. Limits are declared by makers; none is assumed.

use core::fmt;

use crate::measure::{Current, Resistance, Voltage};

/// The supply of the device at the far end.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LoopSupply {
    /// Lowest voltage that the monitor puts on the pair.
    pub supply: Voltage,
    /// Lowest voltage at which the device works.
    pub device: Voltage,
    /// Highest current of the device.
    pub current: Current,
}

/// The declared limit that applies.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum LimitedBy {
    /// The resistance that the device or the monitor allows.
    Device,
    /// The voltage that has to arrive.
    Supply,
}

/// Highest resistance that a loop may have.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LoopLimit {
    /// Resistance of both conductors of the pair together.
    pub resistance: Resistance,
    /// The limit that applies: the lower one.
    pub by: LimitedBy,
}

/// Why no loop works, however short.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum LoopError {
    /// The device needs more voltage than the monitor supplies.
    SupplyTooLow {
        /// Magnitude of the lowest voltage that the monitor puts on the pair.
        supply: Voltage,
        /// Magnitude of the lowest voltage at which the device works.
        device: Voltage,
    },
    /// A limit, voltage or current is negative or zero where it must not be, or NaN.
    Unusable,
}

impl fmt::Display for LoopError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            LoopError::SupplyTooLow { supply, device } => write!(
                f,
                "the device works from {:.2} V and only {:.2} V are put on the pair: no pair is short enough",
                device.volts(),
                supply.volts()
            ),
            LoopError::Unusable => f.write_str("a loop wants a positive current, and limits that are not negative"),
        }
    }
}

impl core::error::Error for LoopError {}

/// Highest resistance of the pair given the voltages, `(V_min − V_dev)/I` \[derived\]. Signs of the voltages are their
/// polarity and do not matter.
///
/// # Errors
///
/// [`LoopError::SupplyTooLow`] if no voltage is left, [`LoopError::Unusable`] unless the current is positive and all
/// are numbers.
pub fn supply_limit(supply: LoopSupply) -> Result<Resistance, LoopError> {
    let (from, to) = (supply.supply.volts().abs(), supply.device.volts().abs());
    let amperes = supply.current.amperes();
    if !(amperes > 0.0 && amperes.is_finite() && from.is_finite() && to.is_finite()) {
        Err(LoopError::Unusable)
    } else if from < to {
        Err(LoopError::SupplyTooLow {
            supply: Voltage::from_volts(from),
            device: Voltage::from_volts(to),
        })
    } else {
        Ok(Voltage::from_volts(from - to) / supply.current)
    }
}

/// The limit of a loop, `min(device limit, (V_min − V_dev)/I)`, of the declared ones \[derived\]; `None` if none is
/// declared. If both are equal it is the device's.
///
/// # Errors
///
/// As [`supply_limit`]; [`LoopError::Unusable`] also for a device limit that is negative or not a number.
pub fn limit(device: Option<Resistance>, supply: Option<LoopSupply>) -> Result<Option<LoopLimit>, LoopError> {
    let supplied = supply.map(supply_limit).transpose()?;
    if device.is_some_and(|limit| limit.ohms().is_nan() || limit.ohms() < 0.0) {
        return Err(LoopError::Unusable);
    }
    let device = device.map(|resistance| LoopLimit {
        resistance,
        by: LimitedBy::Device,
    });
    let supplied = supplied.map(|resistance| LoopLimit {
        resistance,
        by: LimitedBy::Supply,
    });
    Ok(match (device, supplied) {
        (Some(device), Some(supplied)) if supplied.resistance < device.resistance => Some(supplied),
        (device, supplied) => device.or(supplied),
    })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;
    use crate::measure::{Length, Temperature};
    use crate::units::find;
    use crate::wire::{WireSegment, gauge_area, loop_resistance};

    fn supply(supply: f64, device: f64, milliamperes: f64) -> LoopSupply {
        LoopSupply {
            supply: Voltage::from_volts(supply),
            device: Voltage::from_volts(device),
            current: Current::from_amperes(milliamperes / 1e3),
        }
    }

    fn stretch(gauge: f64, kilofeet: f64) -> WireSegment {
        WireSegment {
            area: gauge_area(gauge),
            length: Length::from_metres(find("kft").unwrap().to_si(kilofeet)),
        }
    }

    #[test]
    fn a_long_pair_on_a_hot_day() {
        // By hand: 24 AWG, 18 kft: 924 ohm at 20 °C and 1069 ohm at 60 °C [derived from IEC 60028].
        for (celsius, expected) in [(20.0, 924.0), (60.0, 1069.0)] {
            let found = loop_resistance([stretch(24.0, 18.0)], Temperature::from_celsius(celsius)).ohms();
            assert!((found - expected).abs() < 0.5, "{celsius} degC: {found} ohm");
        }
        // A cable that continues in another gauge: 12 kft of 24 and 6 kft of 22, from 51.3375 and 32.2865 ohm/kft
        // (AWG-1).
        let both = loop_resistance(
            [stretch(24.0, 12.0), stretch(22.0, 6.0)],
            Temperature::from_celsius(20.0),
        )
        .ohms();
        assert!(
            (both - (12.0 * 51.337_512_861 + 6.0 * 32.286_479_214)).abs() < 1e-6,
            "{both}"
        );
    }

    #[test]
    fn the_lower_limit_counts() {
        let found = |device: Option<f64>, supply| limit(device.map(Resistance::from_ohms), supply);
        let of = |ohms, by| {
            Ok(Some(LoopLimit {
                resistance: Resistance::from_ohms(ohms),
                by,
            }))
        };
        // (24 V − 10 V)/20 mA leave 700 ohm.
        let voltage = Some(supply(-24.0, -10.0, 20.0));
        assert_eq!(found(Some(1000.0), voltage), of(700.0, LimitedBy::Supply));
        assert_eq!(found(Some(500.0), voltage), of(500.0, LimitedBy::Device));
        assert_eq!(found(Some(700.0), voltage), of(700.0, LimitedBy::Device));
        assert_eq!(found(None, voltage), of(700.0, LimitedBy::Supply));
        assert_eq!(found(Some(500.0), None), of(500.0, LimitedBy::Device));
        assert_eq!(found(None, None), Ok(None));
    }

    #[test]
    fn no_pair_is_short_enough() {
        let error = limit(Some(Resistance::from_ohms(500.0)), Some(supply(9.0, 10.0, 20.0))).unwrap_err();
        assert_eq!(
            error.to_string(),
            "the device works from 10.00 V and only 9.00 V are put on the pair: no pair is short enough"
        );
        for (volts, milliamperes) in [(24.0, 0.0), (24.0, -1.0), (f64::NAN, 20.0), (24.0, f64::NAN)] {
            assert_eq!(
                supply_limit(supply(volts, 10.0, milliamperes)),
                Err(LoopError::Unusable)
            );
        }
        for ohms in [-1.0, f64::NAN] {
            assert_eq!(limit(Some(Resistance::from_ohms(ohms)), None), Err(LoopError::Unusable));
        }
        assert_eq!(supply_limit(supply(10.0, 10.0, 20.0)), Ok(Resistance::from_ohms(0.0)));
    }
}
