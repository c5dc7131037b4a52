use drysheath_office::kinds::{Compressor, Key, KindId};
use drysheath_office::{Fields, Link, ThingId};

use crate::lint::Inspection;
use crate::supply::sources;

/// The flow sensors fed by a pulsating compressor with no regulator between, each with its dryers.
pub(super) fn unregulated<'i>(inspection: &'i Inspection<'_>) -> impl Iterator<Item = (ThingId, Vec<ThingId>)> + 'i {
    let office = inspection.office;
    let pulses = move |id: &ThingId| {
        let dryer = office.thing(*id);
        let compressor = dryer.choice(Key::Compressor);
        dryer.is(KindId::Dryer) && matches!(compressor, Some(Compressor::Piston | Compressor::Diaphragm))
    };
    let any = office.things().any(|(id, _)| pulses(&id));
    let sensors = office.of_kind(KindId::FlowSensor).filter(move |_| any);
    sensors.filter_map(move |(id, _)| {
        let dryers: Vec<_> = sources(inspection, id).into_iter().filter(pulses).collect();
        (!dryers.is_empty()).then_some((id, dryers))
    })
}

/// The run to the regulator directly downstream of a flow sensor, with only valves and sensors between.
pub(super) fn regulator_behind<'i>(inspection: &'i Inspection<'_>, sensor: ThingId) -> Option<&'i Link> {
    let office = inspection.office;
    let mut at = sensor;
    // Bounded, as runs may form a loop.
    for _ in 0..office.things.len() {
        let mut links = inspection.networks.air.leaving(at);
        let only = links.next().filter(|_| links.next().is_none())?;
        let kind = office.thing(only.to.thing).kind?;
        match kind.id {
            KindId::Regulator => return Some(only),
            KindId::Valve | KindId::Filter | KindId::FlowSensor => at = only.to.thing,
            _ => return None,
        }
    }
    None
}
