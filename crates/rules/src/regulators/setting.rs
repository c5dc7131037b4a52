//! Errors in a regulator's set pressure and relief.

use drysheath_office::ThingId;
use drysheath_office::kinds::{Key, KindId};

use crate::figures::{below, same};
use crate::lint::Inspection;
use crate::supply::{StatedPressure, held, highest, is_bank, sources, stated, weaker_behind};

/// Things downstream of a regulator with a rating below its set pressure, lowest rating first.
pub(super) fn weaker_than_set(inspection: &Inspection<'_>, regulator: ThingId) -> Vec<StatedPressure> {
    match held(inspection.office, regulator) {
        Some(set) => weaker_behind(inspection, regulator, &[Key::Rating, Key::Proof], set.figure),
        None => Vec::new(),
    }
}

/// Things downstream of a regulator with a relief, rated below the pressure that can reach them if the regulator sticks
/// open.
pub(super) fn weaker_than_relief(inspection: &Inspection<'_>, regulator: ThingId) -> Vec<StatedPressure> {
    let relief = stated(inspection.office, regulator, Key::Relief);
    match relief.and_then(|_| highest(inspection, regulator)) {
        // Proof pressures of sensors are compared by another rule.
        Some(highest) => weaker_behind(inspection, regulator, &[Key::Rating], highest.figure),
        None => Vec::new(),
    }
}

/// Things downstream of a dryer, with no regulator between, rated below its delivery pressure.
pub(super) fn weaker_than_delivery(inspection: &Inspection<'_>, dryer: ThingId) -> Vec<StatedPressure> {
    match held(inspection.office, dryer) {
        Some(delivered) => weaker_behind(inspection, dryer, &[Key::Rating], delivered.figure),
        None => Vec::new(),
    }
}

/// Set pressure and relief of a regulator, where the relief is not above the set pressure.
pub(super) fn relief_below_set(
    inspection: &Inspection<'_>,
    regulator: ThingId,
) -> Option<(StatedPressure, StatedPressure)> {
    let set = held(inspection.office, regulator)?;
    let relief = stated(inspection.office, regulator, Key::Relief)?;
    (!below(set.figure, relief.figure)).then_some((set, relief))
}

/// An upstream regulator with the same set pressure.
pub(super) fn same_set_before(inspection: &Inspection<'_>, regulator: ThingId) -> Option<StatedPressure> {
    let office = inspection.office;
    let set = held(office, regulator)?;
    let is_regulator = |id: &ThingId| office.thing(*id).is(KindId::Regulator);
    let before = sources(inspection, regulator)
        .into_iter()
        .filter(is_regulator)
        .filter_map(|id| held(office, id));
    before
        .filter(|before| before.thing != regulator)
        .find(|before| same(before.figure, set.figure))
}

/// The lowest supply of a regulator, where it is too low for the set pressure. Standby cylinders beside a compressor
/// may be lower.
pub(super) fn supply_too_low(inspection: &Inspection<'_>, regulator: ThingId) -> Option<TooLow> {
    let office = inspection.office;
    let set = held(office, regulator)?;
    let needed = stated(office, regulator, Key::Differential);
    let mut supplies = sources(inspection, regulator);
    supplies.retain(|id| *id != regulator);
    let stands_by = |id: &ThingId| is_bank(office.thing(*id));
    if !supplies.iter().all(stands_by) {
        supplies.retain(|id| !stands_by(id));
    }
    let supplies = supplies.into_iter().filter_map(|id| held(office, id));
    let supply = supplies.min_by(|one, other| one.figure.total_cmp(&other.figure))?;
    let most = supply.figure - needed.map_or(0.0, |needed| needed.figure);
    below(most, set.figure).then_some(TooLow {
        set,
        supply,
        needed,
        most,
    })
}

/// A supply that is too low for a regulator's set pressure.
pub(super) struct TooLow {
    pub set: StatedPressure,
    pub supply: StatedPressure,
    /// Minimum differential for regulation, if stated.
    pub needed: Option<StatedPressure>,
    /// Highest set pressure that this supply allows.
    pub most: f64,
}
