//! What is computed of the air somewhere is worth nothing where the record is wrong about what the air comes through: the one
//! result about that is enough.

use drysheath_office::ThingId;
use drysheath_office::kinds::KindId;

use crate::air::{has_loop_or_doubled_inlet, is_pressed_at};
use crate::lint::Inspection;
use crate::regulators::is_reported;
use crate::supply::{backwards, sources};

/// Whether another rule speaks of how air comes to a thing, so that what is computed there says nothing new.
pub(crate) fn is_doubtful(inspection: &Inspection<'_>, thing: ThingId) -> bool {
    let mut regulators = inspection.office.of_kind(KindId::Regulator);
    regulators.any(|(id, _)| backwards(inspection, id).is_some())
        || sources(inspection, thing)
            .into_iter()
            .any(|source| is_reported(inspection, source))
        || is_pressed_at(inspection, thing)
        || has_loop_or_doubled_inlet(inspection)
}
