//! Power conductors, the fuse before each, and how large that may be.

use drysheath_engineering::measure::{ConductorArea, Current};
use drysheath_engineering::protection::{WireLimit, WireTable, wire_limit};
use drysheath_engineering::units::Quantity;
use drysheath_office::{Link, Spanned};

use super::feeds::protection;
use crate::coverage::Lack;
use crate::figures::exceeds;
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
    let feeds = networks.power.iter().filter(move |feed| feed.is_last(office));
    feeds.filter_map(move |feed| conductor(inspection, feed).ok())
}

/// The conductor of a feed, if its size and its fuse are known.
pub(super) fn conductor<'n>(inspection: &'n Inspection<'_>, feed: &'n Link) -> Result<Conductor<'n>, Lack> {
    let fuse = protection(inspection.office, inspection.networks, feed).ok_or(Lack::Fuse)?;
    let gauge = feed.with.gauge.ok_or(Lack::WireSize)?;
    Ok(Conductor { feed, fuse, gauge })
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

    /// The rating of its fuse, and how large it may be; or that no table and no run says that.
    pub fn compared(&self) -> Result<(Current, Bound), Lack> {
        let (rating, bound) = self.rating().zip(self.bound()).ok_or(Lack::Figure)?;
        match bound {
            Bound::Table(WireLimit::LessThan(limit), _) if !exceeds(rating.amperes(), limit.amperes()) => {
                Err(Lack::WireTable)
            }
            Bound::Table(WireLimit::NotCovered, _) => Err(Lack::WireTable),
            _ => Ok((rating, bound)),
        }
    }

    /// The rating of its fuse.
    pub fn rating(&self) -> Option<Current> {
        Current::of(self.fuse.value)
    }
}
