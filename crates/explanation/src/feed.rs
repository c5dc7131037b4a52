use drysheath_engineering::units::Quantity;
use drysheath_office::kinds::Key;
use drysheath_office::{Fields, Office};
use drysheath_prediction::Feed;

use crate::Bound;

/// Lowest voltage at which the load of a feed works: the end of its window that is nearer to zero.
pub fn least_voltage(office: &Office, feed: &Feed) -> Option<Quantity> {
    let (one, other, _) = office.thing(feed.load).range(Key::Window)?;
    Some(if one.si().abs() < other.si().abs() { one } else { other })
}

/// Margin of the voltage at a load over the lowest at which it works.
pub fn voltage_margin(office: &Office, feed: &Feed) -> Option<f64> {
    let least = least_voltage(office, feed)?;
    let receiving_end = feed.receiving_end.as_ref().ok()?;
    Some(Bound::no_nearer_to_zero(least.si()).margin(receiving_end.voltage.volts()))
}
