//! What device and monitor allow a loop.

use drysheath_engineering::loops::{self, LimitedBy, LoopError, LoopSupply};
use drysheath_engineering::measure::{Current, Resistance, Voltage};
use drysheath_office::kinds::Key;
use drysheath_office::{Fields, Given, Thing};

/// The limits that the device and the monitor declare for a loop.
#[derive(Clone, Copy, Debug)]
pub struct LoopLimits {
    /// The most that the device allows: its `loop-max`.
    pub device: Option<Given>,
    /// The most that the monitor allows: its `loop-max`.
    pub monitor: Option<Given>,
    /// The supply of the device, where all its figures are declared.
    pub supply: Option<StatedLoopSupply>,
}

/// What supplies a device over its loop.
#[derive(Clone, Copy, Debug)]
pub struct StatedLoopSupply {
    /// The voltage that the monitor puts on the loop: its `loop-voltage`.
    pub voltage: Given,
    /// What the device `needs` at its terminals.
    pub needs: Given,
    /// The current that the device draws: its `current-max`.
    pub current: Given,
}

/// The most resistance that a loop may have.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LoopLimit {
    /// Resistance of both conductors of the loop together.
    pub resistance: Resistance,
    /// Which of the limits is the lowest.
    pub by: SetBy,
}

/// Which of [`LoopLimits`] sets the limit. Of several that are the same it is the first of these.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SetBy {
    /// The device, by [`LoopLimits::device`].
    Device,
    /// The monitor, by [`LoopLimits::monitor`].
    Monitor,
    /// The voltage left for the device, by [`LoopLimits::supply`].
    Supply,
}

impl LoopLimits {
    pub(super) fn of(device: &Thing, monitor: &Thing) -> Self {
        let said = |thing: &Thing, key| {
            thing.quantity(key).map(|(quantity, place)| Given {
                quantity,
                place: Some(place),
            })
        };
        let supply = || {
            Some(StatedLoopSupply {
                voltage: said(monitor, Key::LoopVoltage)?,
                needs: said(device, Key::Needs)?,
                current: said(device, Key::CurrentMax)?,
            })
        };
        Self {
            device: said(device, Key::LoopMax),
            monitor: said(monitor, Key::LoopMax),
            supply: supply(),
        }
    }

    /// The lowest of them, where the currents of other devices on the pair drop `dropped`.
    pub(super) fn lowest(&self, dropped: Voltage) -> Result<Option<LoopLimit>, LoopError> {
        let ohms = |given: Option<Given>| given.and_then(|given| Resistance::of(given.quantity));
        let (declared, declared_by) = match (ohms(self.device), ohms(self.monitor)) {
            (Some(device), Some(monitor)) if monitor < device => (Some(monitor), SetBy::Monitor),
            (None, Some(monitor)) => (Some(monitor), SetBy::Monitor),
            (device, _) => (device, SetBy::Device),
        };
        let supply = self.supply.and_then(|supply| {
            Some(LoopSupply {
                supply: less(Voltage::of(supply.voltage.quantity)?, dropped),
                device: Voltage::of(supply.needs.quantity)?,
                current: Current::of(supply.current.quantity)?,
            })
        });
        let lowest = loops::limit(declared, supply)?;
        Ok(lowest.map(|limit| LoopLimit {
            resistance: limit.resistance,
            by: match limit.by {
                LimitedBy::Device => declared_by,
                LimitedBy::Supply => SetBy::Supply,
            },
        }))
    }
}

/// What a drop leaves of a voltage, whose sign is its polarity; nothing where it drops all.
fn less(voltage: Voltage, dropped: Voltage) -> Voltage {
    Voltage::from_volts((voltage.volts().abs() - dropped.volts()).max(0.0))
}
