//! How long bottles last at the computed usage.

use drysheath_engineering::measure::{Flow, Time};
use drysheath_office::kinds::Key;
use drysheath_office::{Fields, Thing};

/// Number of bottles in a bank; one if not stated.
pub fn bottles(bank: &Thing) -> u32 {
    bank.count(Key::Bottles).unwrap_or(1)
}

/// How long full bottles give a flow: what all of them hold over the flow, both at standard conditions. None where it is not
/// stated what one holds, and without a flow.
pub fn bottles_last(bank: &Thing, flow: Flow) -> Option<Time> {
    let (holds, _) = bank.quantity(Key::Holds)?;
    let flow = flow.cubic_metres_per_second();
    let seconds = (flow > 0.0).then(|| holds.si() * f64::from(bottles(bank)) / flow)?;
    seconds.is_finite().then(|| Time::from_seconds(seconds))
}
