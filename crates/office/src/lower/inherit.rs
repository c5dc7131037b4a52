//! How a thing inherits the fields of its part: field by field, also within groups and named fields.

use super::fields::same_slot;
use crate::kinds::{Key, KeySet, SURROUNDINGS};
use crate::value::{Field, Fields, Value};

/// Adds to `own` the fields of `given` that it lacks. Named fields keep the order of the part, since sections of a
/// cable follow each other from the office outwards; those that the part does not have come after them.
pub(super) fn inherit(own: &mut Vec<Field>, given: &[Field]) {
    // Most things have no named fields of their own, so they keep the order of their part.
    let names_some = own.iter().any(is_named);
    let said_here = own.len();
    let said_keys: KeySet = own.iter().map(|field| field.spec.key).collect();
    own.reserve(given.len());
    for from_part in given {
        if !said_keys.has(from_part.spec.key) {
            own.push(from_part.clone());
            continue;
        }
        let mut said = own.iter_mut().take(said_here);
        // Rows of numbers are one fact, and losses are one curve: own ones replace all of the part's.
        let is_one = from_part.spec.shape.has_rows() || from_part.spec.key == Key::Loss;
        if is_one && said.any(|own| own.spec.key == from_part.spec.key) {
            continue;
        }
        let mut said = own.iter_mut().take(said_here);
        match said.find(|own| same_slot(own, from_part)) {
            Some(own) => inside(own, from_part),
            None => own.push(from_part.clone()),
        }
    }
    if names_some {
        in_order_of(given, own);
    }
}

fn is_named(field: &Field) -> bool {
    matches!(field.value, Value::Named { .. })
}

fn inside(own: &mut Field, given: &Field) {
    if let (Value::Group(fields), Value::Group(given))
    | (Value::Named { fields, .. }, Value::Named { fields: given, .. }) = (&mut own.value, &given.value)
    {
        if own.spec.key == Key::Section {
            inherit(fields, &in_its_surroundings(fields, given));
        } else {
            inherit(fields, given);
        }
    }
}

/// The fields of a part's section that apply to a section with the surroundings in `own`: it has one kind of
/// surroundings only, and the depth belongs to that.
fn in_its_surroundings(own: &[Field], given: &[Field]) -> Vec<Field> {
    let is_said = SURROUNDINGS.iter().any(|key| own.has(*key));
    let is_same = SURROUNDINGS.iter().any(|key| own.has(*key) && given.has(*key));
    let holds = |given: &&Field| match given.spec.key {
        Key::Depth => !is_said || is_same,
        key => !is_said || !SURROUNDINGS.contains(&key),
    };
    given.iter().filter(holds).cloned().collect()
}

/// Sorts the named fields of `fields` in the order of `given`, without moving other fields.
fn in_order_of(given: &[Field], fields: &mut [Field]) {
    let rank = |field: &Field| {
        let rank = given.iter().position(|given| same_slot(given, field));
        rank.unwrap_or(usize::MAX)
    };
    let places: Vec<usize> = (0..)
        .zip(&*fields)
        .filter(|(_, field)| is_named(field))
        .map(|(at, _)| at)
        .collect();
    let mut named: Vec<Field> = fields.iter().filter(|field| is_named(field)).cloned().collect();
    if named.is_sorted_by_key(rank) {
        return;
    }
    named.sort_by_key(rank);
    for (place, field) in places.into_iter().zip(named) {
        if let Some(slot) = fields.get_mut(place) {
            *slot = field;
        }
    }
}
