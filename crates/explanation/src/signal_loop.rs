use drysheath_office::{GivenQuantity, Terminal};
use drysheath_prediction::{Loop, SetBy, StatedLoopSupply};

/// Inputs of a loop's resistance limit.
#[derive(Clone, Copy, Debug)]
pub enum LimitInputs {
    /// The `loop-max` of the device.
    Device(GivenQuantity),
    /// The `loop-max` of the monitor.
    Monitor(GivenQuantity),
    /// Voltage of the monitor, voltage needed by the device, and its current.
    Supply(StatedLoopSupply),
}

/// The inputs of the limit that `by` names.
pub fn limit_inputs(one: &Loop, by: SetBy) -> Option<LimitInputs> {
    match by {
        SetBy::Device => one.limits.device.map(LimitInputs::Device),
        SetBy::Monitor => one.limits.monitor.map(LimitInputs::Monitor),
        SetBy::Supply => one.limits.supply.map(LimitInputs::Supply),
    }
}

/// The loop of a signal.
pub fn loop_of<'l>(loops: &'l [Loop], signal: &Terminal) -> Option<&'l Loop> {
    loops.iter().find(|one| one.signal == *signal)
}
