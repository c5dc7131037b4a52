//! What a sensor reads with a leak, as states and coverage compute it: leakage follows the pressure, and no source gives more than it can.

use drysheath_engineering::measure::{Flow, Pressure};
use drysheath_engineering::network::Hole;
use drysheath_engineering::units::Dimension;

use crate::lint::Inspection;
use crate::spans::Reading;

/// What a flow sensor reads with a leak, as an input is called.
pub(super) const MOST_WITH_LEAK: &str = "most that it reads with that leak at an end of a cable or pipe";

/// What a sensor reads with a leak that loses a flow at the normal pressure of its place: a pressure with the leak at the sensor, a flow with it at
/// that end of a cable or pipe where it shows most, in SI. None where that is not known.
pub(super) fn with_leak(inspection: &Inspection<'_>, reading: &Reading<'_>, leak: Flow) -> Option<f64> {
    let (office, networks) = (inspection.office, inspection.networks);
    let mut detection = inspection.detection()?.borrow_mut();
    let hole = Hole::Passing(leak);
    if reading.dimension == Dimension::Flow {
        let most = detection.most_flow_with_hole(office, networks, reading.id, hole)?;
        return Some(most.cubic_metres_per_second());
    }
    let left = detection.pressure_with_hole(office, networks, reading.id, hole)?;
    Some(left.pascals())
}

/// The smallest leak at a pressure sensor that takes the pressure there down to `trips`, by halving. None where none does, or where it is
/// not known.
pub(super) fn smallest_leak(inspection: &Inspection<'_>, reading: &Reading<'_>, trips: Pressure) -> Option<Flow> {
    const HALVINGS: u32 = 40;
    const MOST_DOUBLINGS: u32 = 40;
    let is_down = |leak: f64| {
        let left = with_leak(inspection, reading, Flow::from_cubic_metres_per_second(leak))?;
        Some(left <= trips.pascals())
    };
    // About a tenth of a cubic foot an hour.
    let (mut low, mut high) = (0.0, 1e-6);
    for _ in 0..MOST_DOUBLINGS {
        if is_down(high)? {
            break;
        }
        (low, high) = (high, 2.0 * high);
    }
    if !is_down(high)? {
        return None;
    }
    for _ in 0..HALVINGS {
        let middle = f64::midpoint(low, high);
        if is_down(middle)? {
            high = middle;
        } else {
            low = middle;
        }
    }
    Some(Flow::from_cubic_metres_per_second(high))
}
