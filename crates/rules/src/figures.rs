//! Comparing figures, showing computed ones, and reporting what is said in a field wherever that field stands.

use drysheath_engineering::measure::{Flow, Pressure};
use drysheath_engineering::units::Quantity;
use drysheath_office::kinds::{Key, KindId};
use drysheath_office::{Fields, Office, Thing, ThingId};
use drysheath_text::Place;

use crate::finding::{Finding, Sink};

/// Computed figures have no more digits than mean something.
const DIGITS: i32 = 4;

/// Whether `one` is less than `other` by more than the rounding of a computer can make of equal figures.
pub(crate) fn below(one: f64, other: f64) -> bool {
    const ROUNDING: f64 = 1e-9;
    other - one > ROUNDING * one.abs().max(other.abs())
}

/// Whether a computed figure is above a limit by more than what solving a network can make of equal figures.
pub(crate) fn exceeds(computed: f64, limit: f64) -> bool {
    const SOLVING: f64 = 1e-6;
    computed - limit > SOLVING * computed.abs().max(limit.abs())
}

/// Whether two figures are the same for whoever reads them, though one may have been rounded when its unit was changed.
pub(crate) fn same(one: f64, other: f64) -> bool {
    const LEEWAY: f64 = 1e-3;
    (one - other).abs() <= LEEWAY * one.abs().max(other.abs())
}

/// A figure (see [`Office::figure`]) in the unit that `model` is written in.
pub(crate) fn in_unit_of(model: Quantity, figure: f64, office: &Office) -> Quantity {
    office.quantity_of(figure, model.unit)
}

/// A computed figure (see [`Office::figure`]) beside one that is written: in its unit, and with no more digits than mean
/// something, unless they are needed to tell the two apart.
pub(crate) fn computed(beside: Quantity, figure: f64, office: &Office) -> Quantity {
    let exact = in_unit_of(beside, figure, office);
    let rounded = exact.to_digits(DIGITS);
    if same(rounded.value, beside.value) {
        return exact;
    }
    rounded
}

/// A difference in SI, in the unit of a quantity that is one itself, such as a sensor's error.
pub(crate) fn difference(model: Quantity, si: f64) -> Quantity {
    let exact = Quantity {
        value: model.unit.from_si(si),
        ..model
    };
    exact.to_digits(DIGITS)
}

/// A quantity in whose unit this office shows pressures, or flows: what its first dryer delivers.
pub(crate) fn usual(office: &Office, key: Key) -> Option<Quantity> {
    let of_dryer = |(_, thing): (ThingId, &Thing)| thing.quantity(key);
    office.of_kind(KindId::Dryer).find_map(of_dryer).map(|(found, _)| found)
}

/// A computed pressure above the surrounding air, as this office writes pressures.
pub(crate) fn shown_pressure(office: &Office, pressure: Pressure) -> String {
    match usual(office, Key::Delivers) {
        Some(beside) => computed(beside, pressure.pascals(), office).to_string(),
        None => format!("{:.0} Pa", pressure.pascals()),
    }
}

/// A computed flow, as this office writes flows.
pub(crate) fn shown_flow(office: &Office, flow: Flow) -> String {
    let figure = flow.cubic_metres_per_second();
    match usual(office, Key::Capacity) {
        Some(beside) => computed(beside, figure, office).to_string(),
        None => format!("{figure:e} m\u{b3}/s"),
    }
}

/// A result about what is said at `place`: there, or at the thing's name where a part says it.
pub(crate) fn report_said<'s>(
    sink: &'s mut Sink<'_>,
    office: &Office,
    on: ThingId,
    place: Place,
    message: String,
) -> &'s mut Finding {
    if place.file == office.file {
        return sink.report(on, place.range, message);
    }
    let name = office.thing(on).name;
    sink.report(on, name, message).related(place, "the part says so here")
}

/// Some names for a message: all of a few, the first of many.
pub(crate) fn names(office: &Office, ids: &[ThingId]) -> String {
    const SHOWN: usize = 6;
    let shown: Vec<_> = ids
        .iter()
        .take(SHOWN)
        .map(|id| format!("`{}`", office.name(*id)))
        .collect();
    match (shown.as_slice(), ids.len().saturating_sub(SHOWN)) {
        ([], _) => String::new(),
        ([only], 0) => only.clone(),
        ([first @ .., last], 0) => format!("{} and {last}", first.join(", ")),
        (_, more) => format!("{} and {more} more", shown.join(", ")),
    }
}
