//! Power conductors, the fuse before each, and how large that may be.

use drysheath_engineering::measure::{ConductorArea, Current};
use drysheath_engineering::protection::{WireLimit, WireTable, wire_limit};
use drysheath_engineering::units::Quantity;
use drysheath_office::{Link, Spanned};

use super::feeds::protection;
use crate::lint::Inspection;

/// A conductor and the fuse that protects it.
pub(super) struct Conductor<'n> {
    pub feed: &'n Link,
    pub fuse: Spanned<Quantity>,
    pub gauge: Spanned<Quantity>,
}

/// How large the fuse before a conductor may be.
pub(super) enum Bound {
    /// What its run says that it may carry.
    Stated(Spanned<Quantity>),
    /// What a published table says.
    Table(WireLimit, &'static WireTable),
}

/// The power conductors of known size behind a known fuse.
pub(super) fn conductors<'n>(inspection: &'n Inspection<'_>) -> impl Iterator<Item = Conductor<'n>> {
    let (office, networks) = (inspection.office, inspection.networks);
    networks.power.iter().filter_map(move |feed| {
        let gauge = feed.with.gauge.filter(|_| feed.is_last(office))?;
        let fuse = protection(office, networks, feed)?;
        Some(Conductor { feed, fuse, gauge })
    })
}

impl Conductor<'_> {
    /// How large its fuse may be.
    pub fn bound(&self) -> Option<Bound> {
        if let Some(limit) = self.feed.with.limit {
            return Some(Bound::Stated(limit));
        }
        let area = ConductorArea::of(self.gauge.value)?;
        let (limit, table) = wire_limit(area, self.gauge.value.unit.name == "mm2");
        Some(Bound::Table(limit, table))
    }

    /// The rating of its fuse.
    pub fn rating(&self) -> Option<Current> {
        Current::of(self.fuse.value)
    }
}
