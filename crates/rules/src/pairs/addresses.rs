//! Addressed sensors that share a pair.

use drysheath_office::kinds::Key;
use drysheath_office::{Fields, Office, ThingId, Wiring};
use drysheath_text::{Place, TextRange};

use super::circuit::{Circuit, place_of};
use crate::lint::Inspection;

/// The addressed devices of a circuit, without duplicates, with their addresses.
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

/// Where a sensor states its address: in its office's file, or at its name if a part states it.
pub(super) fn address_place(office: &Office, sensor: ThingId) -> Place {
    let thing = office.thing(sensor);
    let file = office.office_of(sensor).map_or(office.file, |other| other.file);
    match thing.field(Key::Address) {
        Some(field) if field.place.file == file => office.written(field.place),
        _ => office.written(office.place(thing.name)),
    }
}

/// The thing and place for a result on a sensor's address: the address itself, or for a sensor in another office the
/// place where its wire reaches the input.
pub(super) fn reported_at(inspection: &Inspection<'_>, circuit: &Circuit, sensor: ThingId) -> (ThingId, TextRange) {
    let office = inspection.office;
    if office.has(sensor) {
        return (sensor, office.thing(sensor).place_of(Key::Address, office.file));
    }
    let wire = &inspection.networks.merged(office).networks.wire;
    circuit.input.map_or((sensor, TextRange::default()), |id| {
        (wire.terminal(id).thing, place_of(wire, id))
    })
}
