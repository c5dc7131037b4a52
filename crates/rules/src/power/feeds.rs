//! The feeds of loads and panels, their currents, and their protection.

use drysheath_engineering::loads::constant_power_current;
use drysheath_engineering::measure::{Current, Power, Voltage};
use drysheath_engineering::units::{Quantity, Unit};
use drysheath_office::kinds::{Key, Role};
use drysheath_office::{Fields, Link, Networks, Office, Spanned, Thing, ThingId, with_article};
use rustc_hash::{FxHashMap, FxHashSet};

use crate::coverage::MissingFigure;
use crate::finding::Finding;
use crate::lint::Inspection;

/// A plant by its voltage: "a -48 V plant".
pub(super) fn plant(nominal: Quantity) -> String {
    with_article(&format!("{nominal} plant"))
}

/// The highest continuous current of a load, and the voltage at which it occurs.
#[derive(Clone, Copy)]
pub(crate) struct HighestDraw {
    pub load: ThingId,
    pub current: Current,
    pub power: Quantity,
    pub voltage: Quantity,
}

/// Highest current of a load. It draws constant power, so the current is highest at the lowest voltage at which it
/// runs: the low end of its window, since the drop in the feed may bring it down to that from any battery voltage.
/// Where the window is unknown, the battery's end of discharge is used.
fn most_drawn(office: &Office, load: ThingId, battery: Option<ThingId>) -> Result<HighestDraw, MissingFigure> {
    let thing = office.thing(load);
    let (power, _) = office.drawn_power(load).ok_or(MissingFigure::Draws)?;
    let battery = battery.map(|battery| office.thing(battery));
    let range = thing.range(Key::Window).or_else(|| battery?.range(Key::Working));
    let (one, other, _) = range.ok_or(MissingFigure::Window)?;
    let voltage = nearer_zero(one, other);
    let known = Power::of(power).zip(Voltage::of(voltage));
    let current = known.and_then(|(power, voltage)| constant_power_current(power, voltage));
    let current = current.ok_or(MissingFigure::Figure)?;
    Ok(HighestDraw {
        load,
        current,
        power,
        voltage,
    })
}

/// Highest current of each load on a feed, of those that state their power.
pub(crate) fn draws_through(inspection: &Inspection<'_>, feed: &Link) -> Vec<HighestDraw> {
    through(inspection, feed).into_iter().flatten().collect()
}

/// Whether all loads on a feed state their power.
pub(crate) fn all_draw_through(inspection: &Inspection<'_>, feed: &Link) -> Result<(), MissingFigure> {
    through(inspection, feed)
        .into_iter()
        .try_for_each(|drawn| drawn.map(|_| ()))
}

/// Highest current of each load of a panel, of those that state their power.
pub(super) fn draws_from(inspection: &Inspection<'_>, panel: ThingId) -> Vec<HighestDraw> {
    from(inspection, panel).into_iter().flatten().collect()
}

/// Whether all loads of a panel, and of the panels that it feeds, state their power.
pub(super) fn all_draw_from(inspection: &Inspection<'_>, panel: ThingId) -> Result<(), MissingFigure> {
    from(inspection, panel)
        .into_iter()
        .try_for_each(|drawn| drawn.map(|_| ()))
}

fn through(inspection: &Inspection<'_>, feed: &Link) -> Vec<Result<HighestDraw, MissingFigure>> {
    let networks = inspection.networks;
    let own = (feed.to.port.role == Role::Load).then_some(feed.to.thing);
    let loads = own.into_iter().chain(networks.loads_behind(feed.to.thing));
    let battery = networks.battery_of(feed);
    loads.map(|load| most_drawn(inspection.office, load, battery)).collect()
}

fn from(inspection: &Inspection<'_>, panel: ThingId) -> Vec<Result<HighestDraw, MissingFigure>> {
    let networks = inspection.networks;
    let battery = networks.feeding(panel).find_map(|feed| networks.battery_of(feed));
    let loads = networks.loads_behind(panel).into_iter();
    loads.map(|load| most_drawn(inspection.office, load, battery)).collect()
}

/// What some loads draw together.
pub(crate) fn total(draws: &[HighestDraw]) -> Current {
    draws.iter().map(|draw| draw.current).sum()
}

/// The fuse that protects a feed: its own, or the fuse before a load that passes the feed on.
pub(super) fn protection(office: &Office, networks: &Networks, feed: &Link) -> Option<Spanned<Quantity>> {
    const MOST_LOADS_IN_A_ROW: u32 = 8;
    let mut at = feed;
    for _ in 0..MOST_LOADS_IN_A_ROW {
        if let Some(fuse) = at.with.fuse.filter(|_| at.is_last(office)) {
            return Some(fuse);
        }
        if at.from.port.role != Role::Load {
            return None;
        }
        at = networks.feeding(at.from.thing).next()?;
    }
    None
}

/// The largest fuse stated before a panel.
pub(crate) fn supply_fuse(inspection: &Inspection<'_>, panel: ThingId) -> Option<Spanned<Quantity>> {
    let (office, networks) = (inspection.office, inspection.networks);
    let fuses = networks
        .feeding(panel)
        .filter_map(|feed| protection(office, networks, feed));
    fuses.max_by(|one, other| one.value.si().total_cmp(&other.value.si()))
}

/// The feeds of a battery's loads, one for each load.
pub(super) fn loads_of<'i, 'o>(inspection: &'i Inspection<'o>, battery: ThingId) -> &'i [&'o Link] {
    let loads = inspection.loads.get_or_init(|| {
        let networks = inspection.networks;
        let mut loads: FxHashMap<ThingId, Vec<&Link>> = FxHashMap::default();
        let mut seen: FxHashSet<(ThingId, ThingId)> = FxHashSet::default();
        for feed in networks.feeds().filter(|feed| feed.to.port.role == Role::Load) {
            if let Some(battery) = networks.battery_of(feed)
                && seen.insert((battery, feed.to.thing))
            {
                loads.entry(battery).or_default().push(feed);
            }
        }
        loads
    });
    loads.get(&battery).map_or(&[], Vec::as_slice)
}

/// Loads that do not suit their battery.
pub(super) enum Misfit {
    /// None of several loads suits, so the battery is probably wrong.
    Battery(Vec<ThingId>),
    /// These loads do not suit, while others do.
    Loads(Vec<ThingId>),
}

/// Checks each load of a battery once; `fits` returns `None` for a load that does not state enough.
pub(super) fn misfits(inspection: &Inspection<'_>, battery: ThingId, fits: impl Fn(&Thing) -> Option<bool>) -> Misfit {
    let mut wrong = Vec::new();
    let mut any_fits = false;
    for feed in loads_of(inspection, battery) {
        let id = feed.to.thing;
        match fits(inspection.office.thing(id)) {
            Some(true) => any_fits = true,
            Some(false) => wrong.push(id),
            None => {}
        }
    }
    if wrong.len() > 1 && !any_fits {
        Misfit::Battery(wrong)
    } else {
        Misfit::Loads(wrong)
    }
}

/// Adds the window of the first of several loads as a related place.
pub(super) fn for_one(office: &Office, loads: &[ThingId], finding: &mut Finding) {
    let first = loads.first().map(|id| (*id, office.thing(*id)));
    if let Some((id, window)) = first.and_then(|(id, load)| Some((id, load.field(Key::Window)?))) {
        finding.related(window.place, format!("`{}`, for one", office.name(id)));
    }
}

/// The end of a range of voltages that is nearer to zero: the end of discharge, the low end of a window.
pub(crate) fn nearer_zero(one: Quantity, other: Quantity) -> Quantity {
    if one.si().abs() <= other.si().abs() { one } else { other }
}

/// The end of a range of voltages that is farther from zero: float, the high end of a window.
pub(super) fn farther_from_zero(one: Quantity, other: Quantity) -> Quantity {
    if one.si().abs() <= other.si().abs() { other } else { one }
}

/// A current in the unit of a written one, to two decimals.
pub(super) fn rounded(current: Current, unit: &'static Unit) -> Quantity {
    let value = unit.from_si(current.amperes());
    Quantity {
        value: (value * 100.0).round() / 100.0,
        unit,
    }
}

/// As [`rounded`], but up, for a minimum current.
pub(super) fn rounded_up(current: Current, unit: &'static Unit) -> Quantity {
    // Tolerance for floating-point error, so that 1.99999999 is not rounded up beyond 2.
    const VOLTAGE_TOLERANCE: f64 = 1e-6;
    let value = unit.from_si(current.amperes());
    Quantity {
        value: (value * 100.0 - VOLTAGE_TOLERANCE).ceil() / 100.0,
        unit,
    }
}
