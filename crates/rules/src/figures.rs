//! Comparison and display of figures, and results about fields that may be declared in a part.

use drysheath_engineering::measure::{Flow, Pressure};
use drysheath_engineering::units::{Dimension, Quantity};
use drysheath_office::kinds::Key;
use drysheath_office::{Fields, Office, Thing, ThingId, UnitPreferences};
use drysheath_text::Place;

use crate::finding::{Finding, Sink};

/// Number of significant digits of a computed figure.
const DIGITS: i32 = 4;

/// Whether `one` is less than `other` by more than floating-point rounding.
pub(crate) fn below(one: f64, other: f64) -> bool {
    const ROUNDING: f64 = 1e-9;
    other - one > ROUNDING * one.abs().max(other.abs())
}

/// Whether a computed figure exceeds a limit by more than the solver's tolerance.
pub(crate) fn exceeds(computed: f64, limit: f64) -> bool {
    const SOLVER_TOLERANCE: f64 = 1e-6;
    computed - limit > SOLVER_TOLERANCE * computed.abs().max(limit.abs())
}

/// Whether two figures are equal apart from the rounding of a unit conversion.
pub(crate) fn same(one: f64, other: f64) -> bool {
    const CONVERSION_TOLERANCE: f64 = 1e-3;
    (one - other).abs() <= CONVERSION_TOLERANCE * one.abs().max(other.abs())
}

/// A figure (see [`Office::figure`]) in the unit of `model`.
pub(crate) fn in_unit_of(model: Quantity, figure: f64, office: &Office) -> Quantity {
    office.quantity_of(figure, model.unit)
}

/// A computed figure (see [`Office::figure`]) in the unit of a written one, with significant digits only, unless more
/// are needed to tell the two apart.
pub(crate) fn computed(beside: Quantity, figure: f64, office: &Office) -> Quantity {
    let exact = in_unit_of(beside, figure, office);
    let rounded = exact.to_digits(DIGITS);
    let looks_the_same = !below(rounded.value, beside.value) && !below(beside.value, rounded.value);
    if looks_the_same { exact } else { rounded }
}

/// A difference in SI, in the unit of another difference, such as a sensor's error.
pub(crate) fn difference(model: Quantity, si: f64) -> Quantity {
    let exact = Quantity {
        value: model.unit.from_si(si),
        ..model
    };
    exact.to_digits(DIGITS)
}

/// A quantity that shows which unit the office uses for pressures or flows: a field of its first dryer.
pub(crate) fn usual(office: &Office, key: Key) -> Option<Quantity> {
    let of_dryer = |(_, thing): (ThingId, &Thing)| thing.quantity(key);
    office.air_sources().find_map(of_dryer).map(|(found, _)| found)
}

/// A computed gauge pressure, in the unit that the office uses for pressures.
pub(crate) fn shown_pressure(office: &Office, pressure: Pressure) -> String {
    match usual(office, Key::Delivers) {
        Some(beside) => computed(beside, pressure.pascals(), office).to_string(),
        None => format!("{:.0} Pa", pressure.pascals()),
    }
}

/// A computed flow, in the unit that the office uses for flows.
pub(crate) fn shown_flow(office: &Office, flow: Flow) -> String {
    let figure = flow.cubic_metres_per_second();
    match usual(office, Key::Capacity) {
        Some(beside) => computed(beside, figure, office).to_string(),
        None => UnitPreferences::of(office).show(Dimension::Flow, figure),
    }
}

/// Reports a field at `place`, or at the thing's name where a part declares the field.
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
    let label = format!("the part gives `{}` this value", office.name(on));
    sink.report(on, office.thing(on).name, message).related(place, label)
}

/// Names for a message; of many names only the first few.
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
