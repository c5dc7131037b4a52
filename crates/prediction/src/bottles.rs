//! How long bottles last at the computed usage.

use drysheath_engineering::measure::Flow;
use drysheath_engineering::units::{Quantity, time};
use drysheath_office::kinds::Key;
use drysheath_office::{Fields, Thing};

/// Number of bottles in a bank; one if not stated.
pub fn bottles(bank: &Thing) -> u32 {
    bank.count(Key::Bottles).unwrap_or(1)
}

/// How long full bottles sustain a flow: total content over flow, both at standard conditions. `None` where the content
/// of a bottle is not stated, or the flow is not positive.
pub fn bottles_last(bank: &Thing, flow: Flow) -> Option<Quantity> {
    let (holds, _) = bank.quantity(Key::Holds)?;
    let flow = flow.cubic_metres_per_second();
    let seconds = (flow > 0.0).then(|| holds.si() * f64::from(bottles(bank)) / flow)?;
    time(seconds)
}
