//! Sensors that are told apart by addresses.

use drysheath_office::kinds::Key;
use drysheath_office::{Fields, Office, ThingId, Wiring};

use super::circuit::Circuit;

/// Whether anything in an office has an address. Hardly any has, so that this is asked first.
pub(super) fn has_any(office: &Office) -> bool {
    office.things().any(|(_, thing)| thing.has(Key::Address))
}

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
