//! Limits of loop resistance from device and monitor.

use drysheath_engineering::loops::{self, LimitedBy, LoopError, LoopSupply};
use drysheath_engineering::measure::{Current, Resistance, Voltage};
use drysheath_office::kinds::Key;
use drysheath_office::{Fields, GivenQuantity, Thing};

/// The limits that the device and the monitor declare for a loop.
#[derive(Clone, Copy, Debug)]
pub struct LoopLimits {
    /// Resistance limit of the device: its `loop-max`.
    pub device: Option<GivenQuantity>,
    /// Resistance limit of the monitor: its `loop-max`.
    pub monitor: Option<GivenQuantity>,
    /// The supply of the device, where all its figures are declared.
    pub supply: Option<StatedLoopSupply>,
}

/// The supply of a device over its loop.
#[derive(Clone, Copy, Debug)]
pub struct StatedLoopSupply {
    /// Voltage that the monitor puts on the loop: its `loop-voltage`.
    pub voltage: GivenQuantity,
    /// Voltage that the device requires at its terminals: its `needs`.
    pub needs: GivenQuantity,
    /// Current of the device: its `current-max`.
    pub current: GivenQuantity,
}

/// Highest permitted loop resistance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LoopLimit {
    /// Resistance of both conductors of the loop together.
    pub resistance: Resistance,
    /// Which of the limits it is.
    pub by: SetBy,
}

/// The limit that is the lowest. If several are equal, the first of these variants.
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
            thing.quantity(key).map(|(quantity, place)| GivenQuantity {
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

    /// The lowest limit, where the currents of other devices on the pair drop `dropped`.
    pub(super) fn lowest(&self, dropped: Voltage) -> Result<Option<LoopLimit>, LoopError> {
        let ohms = |given: Option<GivenQuantity>| given.and_then(|given| Resistance::of(given.quantity));
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

/// A voltage reduced in magnitude by a drop; its sign is the polarity. Zero where the drop is greater.
fn less(voltage: Voltage, dropped: Voltage) -> Voltage {
    Voltage::from_volts((voltage.volts().abs() - dropped.volts()).max(0.0))
}
