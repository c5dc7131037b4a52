use drysheath_office::{Given, Terminal};
use drysheath_prediction::{Loop, SetBy, StatedLoopSupply};

/// What the most that a loop may have is computed from.
#[derive(Clone, Copy, Debug)]
pub enum LimitInputs {
    /// The `loop-max` that the device states.
    Device(Given),
    /// The `loop-max` that the monitor states.
    Monitor(Given),
    /// The voltage that the monitor gives, what the device needs of it, and its current.
    Supply(StatedLoopSupply),
}

/// What sets the most that a loop may have.
pub fn limit_inputs(one: &Loop, by: SetBy) -> Option<LimitInputs> {
    match by {
        SetBy::Device => one.limits.device.map(LimitInputs::Device),
        SetBy::Monitor => one.limits.monitor.map(LimitInputs::Monitor),
        SetBy::Supply => one.limits.supply.map(LimitInputs::Supply),
    }
}

/// The loop that begins at a signal.
pub fn loop_of<'l>(loops: &'l [Loop], signal: &Terminal) -> Option<&'l Loop> {
    loops.iter().find(|one| one.signal == *signal)
}
