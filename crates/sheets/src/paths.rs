//! The wires that begin and end in the office. Of one that goes on over a route, the other office's sheet has the far end, and this
//! one the pairs that it takes here.

use drysheath_office::{Networks, Office};
use drysheath_prediction::SignalPath;

/// The paths of its signals to its inputs, in the order of the file.
pub fn signal_paths(office: &Office, networks: &Networks) -> impl Iterator<Item = SignalPath> {
    own(office, drysheath_prediction::signal_paths(office, networks))
}

/// The paths of its outputs to its controls, in the order of the file.
pub fn control_paths(office: &Office, networks: &Networks) -> impl Iterator<Item = SignalPath> {
    own(
        office,
        drysheath_prediction::control_paths(office, networks).into_iter(),
    )
}

fn own(office: &Office, paths: impl Iterator<Item = SignalPath>) -> impl Iterator<Item = SignalPath> {
    paths.filter(|path| office.has(path.signal.thing) && office.has(path.input.thing))
}
