//! Power conductors, the fuse before each, and the largest fuse that each allows.

use drysheath_engineering::measure::{ConductorArea, Current};
use drysheath_engineering::protection::{WireLimit, WireTable, wire_limit};
use drysheath_engineering::units::Quantity;
use drysheath_office::{Link, Spanned};

use super::feeds::protection;
use crate::coverage::MissingFigure;
use crate::figures::exceeds;
use crate::lint::Inspection;

/// A conductor and the fuse that protects it.
pub(super) struct Conductor<'n> {
    pub feed: &'n Link,
    pub fuse: Spanned<Quantity>,
    pub gauge: Spanned<Quantity>,
    /// Current limit stated by its maker.
    pub limit: Option<Spanned<Quantity>>,
}

/// Upper bound of the fuse before a conductor.
pub(super) enum Bound {
    /// The limit that its run states.
    Stated(Spanned<Quantity>),
    /// The limit in a published table.
    Table(WireLimit, &'static WireTable),
}

/// The power conductors of known size behind a known fuse.
pub(super) fn conductors<'n>(inspection: &'n Inspection<'_>) -> impl Iterator<Item = Conductor<'n>> {
    let (office, networks) = (inspection.office, inspection.networks);
    let feeds = networks.power.iter().filter(move |feed| feed.is_last(office));
    feeds.filter_map(move |feed| conductor(inspection, feed).ok())
}

/// The conductor of a feed, if its size and fuse are known: of several pieces the one with the lowest limit.
pub(super) fn conductor<'n>(inspection: &'n Inspection<'_>, feed: &'n Link) -> Result<Conductor<'n>, MissingFigure> {
    let fuse = protection(inspection.office, inspection.networks, feed).ok_or(MissingFigure::Fuse)?;
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
        let piece = piece.ok_or(MissingFigure::WireSize)?;
        if weakest.as_ref().is_none_or(|weakest| piece.bears() < weakest.bears()) {
            weakest = Some(piece);
        }
    }
    weakest.ok_or(MissingFigure::WireSize)
}

impl Conductor<'_> {
    /// The largest fuse that it allows. A limit stated by its run counts only within that of the table: no maker's
    /// figure raises that, and no thinner wire carries more than the thinnest of the table.
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

    /// Sort key for the pieces of a run: the largest fuse, then the size.
    fn bears(&self) -> (f64, f64) {
        let most = match self.bound() {
            Some(Bound::Stated(limit)) => limit.value.si(),
            Some(Bound::Table(WireLimit::AtMost(limit) | WireLimit::LessThan(limit), _)) => limit.amperes(),
            Some(Bound::Table(WireLimit::NotCovered, _)) | None => f64::INFINITY,
        };
        (most, self.gauge.value.si())
    }

    /// Rating of its fuse, and the bound on it. An error if neither a table nor its run states one.
    pub fn compared(&self) -> Result<(Current, Bound), MissingFigure> {
        let (rating, bound) = self.rating().zip(self.bound()).ok_or(MissingFigure::Figure)?;
        match bound {
            Bound::Table(WireLimit::LessThan(limit), _) if !exceeds(rating.amperes(), limit.amperes()) => {
                Err(MissingFigure::WireTable)
            }
            Bound::Table(WireLimit::NotCovered, _) => Err(MissingFigure::WireTable),
            _ => Ok((rating, bound)),
        }
    }

    /// Rating of its fuse.
    pub fn rating(&self) -> Option<Current> {
        Current::of(self.fuse.value)
    }
}
