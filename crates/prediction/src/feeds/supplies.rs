//! The panels between the battery and the loads, and the runs that lead to them.

use std::cmp::Reverse;

use drysheath_office::kinds::Role;
use drysheath_office::{Given, Link, Networks, ThingId};
use rustc_hash::FxHashMap;

use super::{Conductor, Survey};

/// Panels in a row beyond which nothing is computed.
const MOST_PANELS_IN_A_ROW: u32 = 8;

/// What a conductor comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Above {
    /// The battery of that number.
    Battery(usize),
    /// The panel of that number.
    Panel(usize),
}

/// A battery that feeds something.
pub(super) struct Battery {
    pub thing: ThingId,
    /// Its voltage at the end of discharge.
    pub source: Option<Given>,
}

/// A panel that a battery feeds.
pub(super) struct Panel {
    pub above: Above,
    /// What leads to it, if size and length are known.
    pub supply: Option<Conductor>,
    /// The first panel after the battery. Loads behind different ones have nothing to do with each other.
    pub first: usize,
    /// How many panels there are from the battery to this one, itself included.
    depth: u32,
}

/// The batteries and panels of an office, as far as loads hang on them. A panel stands after the one that feeds it.
#[derive(Default)]
pub(super) struct Supplies {
    pub batteries: Vec<Battery>,
    pub panels: Vec<Panel>,
    found: FxHashMap<ThingId, Option<Above>>,
}

impl Supplies {
    /// What a part of a run comes from, if a battery stands at the beginning of it all.
    pub fn above(&mut self, survey: &mut Survey<'_, '_>, networks: &Networks, link: &Link) -> Option<Above> {
        // From the link up to something that is known, and then down again.
        let mut way = Vec::new();
        let mut at = link;
        let mut above = loop {
            let thing = at.from.thing;
            if let Some(found) = self.found.get(&thing) {
                break *found;
            }
            if at.from.port.role == Role::Battery {
                break Some(self.battery(survey, thing));
            }
            // It stays so if the panels feed each other in a ring.
            self.found.insert(thing, None);
            match supply(survey, networks, thing) {
                Some(supply) => {
                    way.push(supply);
                    at = supply;
                }
                None => break None,
            }
        };
        for supply in way.into_iter().rev() {
            above = above.and_then(|above| self.panel(survey, supply, above));
            self.found.insert(supply.to.thing, above);
        }
        above
    }

    fn battery(&mut self, survey: &mut Survey<'_, '_>, thing: ThingId) -> Above {
        let source = survey.source(thing);
        let battery = Above::Battery(self.batteries.len());
        self.batteries.push(Battery { thing, source });
        self.found.insert(thing, Some(battery));
        battery
    }

    fn panel(&mut self, survey: &mut Survey<'_, '_>, supply: &Link, above: Above) -> Option<Above> {
        let number = self.panels.len();
        let (first, depth) = match above {
            Above::Battery(_) => (number, 1),
            Above::Panel(above) => self.panels.get(above).map(|above| (above.first, above.depth + 1))?,
        };
        if depth > MOST_PANELS_IN_A_ROW {
            return None;
        }
        let panel = supply.to.thing;
        let conductor = if survey.is_last(supply) {
            survey.own_conductor(supply, panel)
        } else {
            // The run would be one of its own, and is best said at the panel.
            let name = survey.office.thing(panel).name;
            survey.lacking(supply, panel, name);
            None
        };
        self.panels.push(Panel {
            above,
            supply: conductor,
            first,
            depth,
        });
        Some(Above::Panel(number))
    }
}

/// What leads to a panel: the run of its own that says most of itself, or else one that goes through the panel.
fn supply<'n>(survey: &Survey<'_, '_>, networks: &'n Networks, panel: ThingId) -> Option<&'n Link> {
    let said = |link: &Link| match (survey.is_last(link), link.with.gauge, link.with.length) {
        (false, ..) => 0,
        (true, None, None) => 1,
        (true, Some(_), Some(_)) => 3,
        (true, ..) => 2,
    };
    let from_source = |link: &&Link| matches!(link.from.port.role, Role::Battery | Role::Fuse);
    let leading = networks.power.leading_to(panel).filter(from_source);
    leading.min_by_key(|link| Reverse(said(link)))
}
