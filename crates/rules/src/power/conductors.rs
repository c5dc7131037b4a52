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
    /// The most that it may carry as its maker says.
    pub limit: Option<Spanned<Quantity>>,
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

/// The conductor of a feed, if its size and its fuse are known: of several pieces the one that bears the least.
pub(super) fn conductor<'n>(inspection: &'n Inspection<'_>, feed: &'n Link) -> Result<Conductor<'n>, Lack> {
    let fuse = protection(inspection.office, inspection.networks, feed).ok_or(Lack::Fuse)?;
    let pieces = feed.pieces(inspection.office).map(|piece| {
        let limit = piece.limit;
        piece.gauge.map(|gauge| Conductor {
            feed,
            fuse,
            gauge,
            limit,
        })
    });
    let mut weakest: Option<Conductor<'_>> = None;
    for piece in pieces {
        let piece = piece.ok_or(Lack::WireSize)?;
        if weakest.as_ref().is_none_or(|weakest| piece.bears() < weakest.bears()) {
            weakest = Some(piece);
        }
    }
    weakest.ok_or(Lack::WireSize)
}

impl Conductor<'_> {
    /// How large its fuse may be. What its run says counts as far as the table allows it: no maker's figure raises that, and
    /// no thinner wire carries more than the thinnest of the table.
    pub fn bound(&self) -> Option<Bound> {
        let area = ConductorArea::of(self.gauge.value)?;
        let (limit, table) = wire_limit(area, self.gauge.value.unit.name == "mm2");
        let Some(stated) = self.limit else {
            return Some(Bound::Table(limit, table));
        };
        let above = |most: Current| exceeds(stated.value.si(), most.amperes());
        let is_capped = match limit {
            WireLimit::AtMost(most) => above(most),
            WireLimit::LessThan(most) => above(most) && self.is_fused_above(most),
            WireLimit::NotCovered => false,
        };
        Some(if is_capped {
            Bound::Table(limit, table)
        } else {
            Bound::Stated(stated)
        })
    }

    fn is_fused_above(&self, most: Current) -> bool {
        self.rating()
            .is_some_and(|rating| exceeds(rating.amperes(), most.amperes()))
    }

    /// What it bears, by which pieces of one run are told apart: the largest fuse, and of those with one the size.
    fn bears(&self) -> (f64, f64) {
        let most = match self.bound() {
            Some(Bound::Stated(limit)) => limit.value.si(),
            Some(Bound::Table(WireLimit::AtMost(limit) | WireLimit::LessThan(limit), _)) => limit.amperes(),
            Some(Bound::Table(WireLimit::NotCovered, _)) | None => f64::INFINITY,
        };
        (most, self.gauge.value.si())
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
