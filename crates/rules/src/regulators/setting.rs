//! Errors in a regulator's set pressure and relief.

use drysheath_office::ThingId;
use drysheath_office::kinds::{Key, KindId};

use crate::figures::{below, same};
use crate::lint::Inspection;
use crate::supply::{Stated, held, highest, is_bank, sources, stated, weaker_behind};

/// The things downstream of a regulator that are rated for less than its set pressure, the lowest rating first.
pub(super) fn weaker_than_set(inspection: &Inspection<'_>, regulator: ThingId) -> Vec<Stated> {
    match held(inspection.office, regulator) {
        Some(set) => weaker_behind(inspection, regulator, &[Key::Rating, Key::Proof], set.figure),
        None => Vec::new(),
    }
}

/// The things downstream of a regulator that are rated for less than what can reach them when it sticks open, although it has
/// a relief.
pub(super) fn weaker_than_relief(inspection: &Inspection<'_>, regulator: ThingId) -> Vec<Stated> {
    let relief = stated(inspection.office, regulator, Key::Relief);
    match relief.and_then(|_| highest(inspection, regulator)) {
        // Proof pressures of sensors are compared by a rule of their own.
        Some(highest) => weaker_behind(inspection, regulator, &[Key::Rating], highest.figure),
        None => Vec::new(),
    }
}

/// The things downstream of a dryer, without a regulator between, that are rated for less than it delivers.
pub(super) fn weaker_than_delivery(inspection: &Inspection<'_>, dryer: ThingId) -> Vec<Stated> {
    match held(inspection.office, dryer) {
        Some(delivered) => weaker_behind(inspection, dryer, &[Key::Rating], delivered.figure),
        None => Vec::new(),
    }
}

/// Set pressure and relief of a regulator whose relief does not lie above its set pressure.
pub(super) fn relief_below_set(inspection: &Inspection<'_>, regulator: ThingId) -> Option<(Stated, Stated)> {
    let set = held(inspection.office, regulator)?;
    let relief = stated(inspection.office, regulator, Key::Relief)?;
    (!below(set.figure, relief.figure)).then_some((set, relief))
}

/// The upstream regulator that is set to the same pressure.
pub(super) fn same_set_before(inspection: &Inspection<'_>, regulator: ThingId) -> Option<Stated> {
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

/// The lowest supply of a regulator, where its set pressure is too high for that supply. Standby cylinders beside a
/// compressor may give less.
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

/// A supply that is too low for what a regulator is set to.
pub(super) struct TooLow {
    pub set: Stated,
    pub supply: Stated,
    /// The minimum differential for regulation, where it is stated.
    pub needed: Option<Stated>,
    /// The highest set pressure that this supply allows.
    pub most: f64,
}
