//! Sensors with addresses on one pair.

use drysheath_office::kinds::Key;
use drysheath_office::{Fields, Office, ThingId, Wiring};

use super::circuit::Circuit;

/// The devices of a circuit that have addresses, each once, with their addresses.
pub(super) fn addressed(office: &Office, wire: &Wiring, circuit: &Circuit) -> Vec<(ThingId, u32)> {
    let mut devices = Vec::new();
    for id in circuit.signals_of(wire) {
        let thing = wire.terminal(id).thing;
        let address = office.thing(thing).count(Key::Address);
        if let Some(address) = address.filter(|_| !devices.iter().any(|(known, _)| *known == thing)) {
            devices.push((thing, address));
        }
    }
    devices
}
