//! Candidate parts, and how each is judged.

use std::sync::Arc;

use drysheath_office::{Part, ThingId};
use drysheath_text::Place;

use super::PartOffer;
use crate::lint::Inspection;
use crate::supply::{self, StatedPressure};

/// Arguments for and against a part.
#[derive(Default)]
pub(super) struct Verdict {
    pub merits: Vec<String>,
    pub faults: Vec<String>,
    pub missing: Vec<String>,
}

impl Verdict {
    /// Adds a requirement as merit or fault; `wrong` is appended to a fault.
    pub fn judge(&mut self, is_good: bool, what: String, wrong: &str) {
        if is_good {
            self.merits.push(what);
        } else {
            self.faults.push(format!("{what}: {wrong}"));
        }
    }

    fn fits(&self) -> Option<bool> {
        if !self.faults.is_empty() {
            Some(false)
        } else if self.missing.is_empty() {
            Some(true)
        } else {
            None
        }
    }

    /// Builds the offer of the part.
    pub fn offer(self, name: String, place: Place, figures: String) -> PartOffer {
        PartOffer {
            name,
            place,
            figures,
            fits: self.fits(),
            is_chosen: false,
            merits: self.merits,
            faults: self.faults,
            missing: self.missing,
        }
    }
}

/// A part, and those that it is of in turn.
pub fn ancestry<'p>(parts: &'p [Arc<Part>], part: &'p Arc<Part>) -> Vec<&'p Part> {
    let mut chain: Vec<&Part> = vec![part];
    while let Some(base) = chain.last().and_then(|last| last.of.as_deref()) {
        let found = parts
            .iter()
            .find(|other| *other.name == *base && other.kind.id == part.kind.id);
        match found {
            Some(found) if !chain.iter().any(|known| std::ptr::eq(*known, &raw const **found)) => chain.push(found),
            _ => break,
        }
    }
    chain
}

/// Highest stated pressure that can reach a thing.
pub(super) fn reaches(inspection: &Inspection<'_>, thing: ThingId) -> Option<StatedPressure> {
    let sources = supply::sources(inspection, thing).into_iter();
    let highest = sources.filter_map(|source| supply::highest(inspection, source));
    highest.max_by(|one, other| one.figure.total_cmp(&other.figure))
}
