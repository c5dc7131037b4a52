//! Checks the figures of a section against each other.

use drysheath_engineering::units::{Dimension, Quantity};

use crate::kinds::{Key, SURROUNDINGS};
use crate::problem::{Problem, ProblemId};
use crate::value::{Field, Fields, Value};

/// Cross-section of the air in a cable, m²: from a cable of a few pairs to more than the largest (common practice, no
/// source).
const LEAST_AREA: f64 = 2e-6;
const MOST_AREA: f64 = 1e-2;

/// The problem of a volume that is impossible for the section's length. The field is made unreadable.
pub(super) fn volume_beyond_length(fields: &mut [Field]) -> Option<Problem> {
    let lengths = SURROUNDINGS.iter().filter_map(|key| fields.quantity(*key));
    let (length, place) = lengths
        .into_iter()
        .find(|(length, _)| length.dimension() == Dimension::Length)?;
    let (volume, at) = fields.quantity(Key::Volume)?;
    let area = volume.si() / length.si();
    if (LEAST_AREA..=MOST_AREA).contains(&area) {
        return None;
    }
    let of = |area: f64| {
        let value = volume.unit.from_si(area * length.si());
        Quantity { value, ..volume }.to_digits(2)
    };
    let problem = Problem::new(
        ProblemId::ValueImplausible,
        at.range,
        format!(
            "`volume` of {length} of cable expects {} to {}; found {volume}",
            of(LEAST_AREA),
            of(MOST_AREA)
        ),
    );
    let field = fields.iter_mut().find(|field| field.spec.key == Key::Volume)?;
    field.value = Value::Unreadable;
    let label = "the length of the section";
    Some(
        problem
            .related(place, label)
            .help("check the decimal point and the unit of both"),
    )
}
