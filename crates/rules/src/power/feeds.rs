//! The feeds of loads, and their highest currents.

use drysheath_engineering::loads::constant_power_current;
use drysheath_engineering::measure::{Current, Power, Voltage};
use drysheath_engineering::units::{Quantity, Unit};
use drysheath_office::kinds::Key;
use drysheath_office::{FeedLinks, Fields, Networks, Office, Thing, ThingId};

use crate::finding::Finding;
use crate::lint::Inspection;

/// The highest continuous current of a load, and the voltage at which it occurs.
#[derive(Clone, Copy)]
pub(super) struct Draw {
    pub current: Current,
    pub power: Quantity,
    pub voltage: Quantity,
}

/// The most that a fed load draws. It holds its power, so it draws most at the lowest voltage at which it still runs. That
/// is the low end of its window: however high the battery ends its discharge, the feed itself may take the rest. Where
/// the window is unknown, the battery's end of discharge has to do.
pub(super) fn most_drawn(office: &Office, feed: &FeedLinks<'_>) -> Option<Draw> {
    let load = office.thing(feed.load.to.thing);
    let (power, _) = load.quantity(Key::Draws)?;
    let battery = feed.battery.map(|battery| office.thing(battery));
    let (one, other, _) = load.range(Key::Window).or_else(|| battery?.range(Key::Working))?;
    let voltage = if one.si().abs() <= other.si().abs() { one } else { other };
    let current = constant_power_current(Power::of(power)?, Voltage::of(voltage)?)?;
    Some(Draw {
        current,
        power,
        voltage,
    })
}

/// The loads of a battery, each once for every feed.
pub(super) fn loads_of(networks: &Networks, battery: ThingId) -> impl Iterator<Item = FeedLinks<'_>> {
    networks.feeds().filter(move |feed| feed.battery == Some(battery))
}

/// The loads that a battery does not suit.
pub(super) enum Misfit {
    /// None of these several loads suits, so that the battery is probably wrong.
    Battery(Vec<ThingId>),
    /// These loads, while others suit.
    Loads(Vec<ThingId>),
}

/// Checks each load of a battery once; `fits` gives none for a load that does not say.
pub(super) fn misfits(inspection: &Inspection<'_>, battery: ThingId, fits: impl Fn(&Thing) -> Option<bool>) -> Misfit {
    let mut wrong = Vec::new();
    let mut any_fits = false;
    for feed in loads_of(inspection.networks, battery) {
        let id = feed.load.to.thing;
        match fits(inspection.office.thing(id)) {
            Some(true) => any_fits = true,
            Some(false) if !wrong.contains(&id) => wrong.push(id),
            _ => {}
        }
    }
    if wrong.len() > 1 && !any_fits {
        Misfit::Battery(wrong)
    } else {
        Misfit::Loads(wrong)
    }
}

/// Points at the window of the first of several loads.
pub(super) fn for_one(office: &Office, loads: &[ThingId], finding: &mut Finding) {
    let first = loads.first().map(|id| (*id, office.thing(*id)));
    if let Some((id, window)) = first.and_then(|(id, load)| Some((id, load.field(Key::Window)?))) {
        finding.related(window.place, format!("`{}`, for one", office.name(id)));
    }
}

/// A current in the unit of a written one, to two decimals.
pub(super) fn rounded(current: Current, unit: &'static Unit) -> Quantity {
    let value = unit.from_si(current.amperes());
    Quantity {
        value: (value * 100.0).round() / 100.0,
        unit,
    }
}

/// The same for a minimum current, rounded up.
pub(super) fn rounded_up(current: Current, unit: &'static Unit) -> Quantity {
    // A hair below the next hundredth is that hundredth, not the one after it.
    const HAIR: f64 = 1e-6;
    let value = unit.from_si(current.amperes());
    Quantity {
        value: (value * 100.0 - HAIR).ceil() / 100.0,
        unit,
    }
}
