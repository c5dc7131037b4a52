//! Whether computed air figures can be trusted at a sensor. Where the record is wrong about the air's path to it, the result
//! about that error is enough, and the figures that follow from it are not reported.

use drysheath_engineering::network::RegulatorState;
use drysheath_office::kinds::{Key, KindId};
use drysheath_office::{Fields, ThingId};
use drysheath_prediction::{AirLocation, SystemId};

use crate::air::{exceeds_lines, has_loop_or_doubled_inlet, is_overpressured, is_short_of_pressure};
use crate::lint::Inspection;
use crate::regulators::is_reported;
use crate::supply::{backwards, sources};

/// Whether another rule reports the air supply of a sensor, so that the figures computed there cannot be trusted.
pub(crate) fn is_unreliable(inspection: &Inspection<'_>, sensor: ThingId) -> bool {
    let Inspection {
        office,
        networks,
        prediction,
        ..
    } = inspection;
    let itself = office.itself.map(|id| office.thing(id));
    // Every pressure depends on the surrounding air.
    if itself.is_none_or(|itself| itself.quantity(Key::Elevation).is_none()) {
        return true;
    }
    let place = prediction.air.location_of(office, networks, sensor);
    let Some(system) = place.and_then(|place| prediction.air.system_at(&place)) else {
        return true;
    };
    let unreliable = inspection.unreliable_systems.get_or_init(|| {
        let systems = prediction.air.systems();
        systems
            .map(|system| is_unreliable_throughout(inspection, system))
            .collect()
    });
    unreliable[system]
        || sources(inspection, sensor)
            .into_iter()
            .any(|source| is_reported(inspection, source))
}

/// Whether another rule reports the air supply of a whole system.
fn is_unreliable_throughout(inspection: &Inspection<'_>, system: SystemId) -> bool {
    let Inspection { office, prediction, .. } = inspection;
    let is_here = |id: ThingId| prediction.air.system_at(&AirLocation::Thing(id)) == Some(system);
    let is_out = |id: ThingId| {
        let state = prediction.air.through(id).and_then(|state| state.regulator);
        state == Some(RegulatorState::OutOfRegulation)
    };
    let is_short = |kind| {
        let mut things = office.of_kind(kind).filter(|(id, _)| is_here(*id));
        things.any(|(id, _)| is_short_of_pressure(inspection, id))
    };
    let mut regulators = office.of_kind(KindId::Regulator);
    regulators.any(|(id, _)| backwards(inspection, id).is_some() || is_here(id) && is_out(id))
        || is_overpressured(inspection, system)
        || exceeds_lines(inspection, system)
        || is_short(KindId::Cable)
        || is_short(KindId::AirPipe)
        || has_loop_or_doubled_inlet(inspection)
}
