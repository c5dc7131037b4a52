//! The panels between the battery and the loads, and the runs that lead to them.

use std::cmp::Reverse;

use drysheath_engineering::index::IndexVec;
use drysheath_engineering::index_type;
use drysheath_office::kinds::Role;
use drysheath_office::{GivenQuantity, Link, Networks, ThingId};
use rustc_hash::FxHashMap;

use super::{ConductorRun, FeedSurvey};

/// Limit of panels in series; beyond it nothing is computed.
const MOST_PANELS_IN_A_ROW: u32 = 8;

index_type! {
    /// Index of a battery among those that feed something.
    pub(super) struct BatteryIndex;
    /// Index of a panel among those that a battery feeds.
    pub(super) struct PanelIndex;
}

/// The start of a conductor.
#[derive(Clone, Copy, Debug)]
pub(super) enum Source {
    Battery(BatteryIndex),
    Panel(PanelIndex),
}

/// A battery that feeds something.
pub(super) struct Battery {
    pub thing: ThingId,
    /// Voltage at the end of discharge.
    pub voltage: Option<GivenQuantity>,
}

/// A panel that a battery feeds.
pub(super) struct Panel {
    pub source: Source,
    /// The conductor that leads to it, if size and length are known.
    pub supply: Option<ConductorRun>,
    /// The first panel after the battery. Loads behind different first panels do not affect each other.
    pub first: PanelIndex,
    /// Number of panels from the battery to this one, itself included.
    depth: u32,
}

/// Batteries and panels that feed loads. A panel comes after the one that feeds it.
#[derive(Default)]
pub(super) struct Supplies {
    pub batteries: IndexVec<BatteryIndex, Battery>,
    pub panels: IndexVec<PanelIndex, Panel>,
    /// The source for each thing that was looked up. `None` for a panel without a battery behind it.
    found: FxHashMap<ThingId, Option<Source>>,
}

impl Supplies {
    /// The source of a link, if a battery feeds it in the end.
    pub fn source_of(&mut self, survey: &mut FeedSurvey<'_, '_>, networks: &Networks, link: &Link) -> Option<Source> {
        // Go up from the link to a known source, then down again.
        let mut path = Vec::new();
        let mut at = link;
        let mut source = loop {
            let thing = at.from.thing;
            if let Some(found) = self.found.get(&thing) {
                break *found;
            }
            if at.from.port.role == Role::Battery {
                break Some(self.battery(survey, thing));
            }
            // Keeps `None` if the panels feed each other in a ring.
            self.found.insert(thing, None);
            match supply(survey, networks, thing) {
                Some(supply) => {
                    path.push(supply);
                    at = supply;
                }
                None => break None,
            }
        };
        for supply in path.into_iter().rev() {
            source = source.and_then(|source| self.panel(survey, supply, source));
            self.found.insert(supply.to.thing, source);
        }
        source
    }

    fn battery(&mut self, survey: &mut FeedSurvey<'_, '_>, thing: ThingId) -> Source {
        let voltage = survey.voltage(thing);
        let battery = Source::Battery(self.batteries.push(Battery { thing, voltage }));
        self.found.insert(thing, Some(battery));
        battery
    }

    fn panel(&mut self, survey: &mut FeedSurvey<'_, '_>, supply: &Link, source: Source) -> Option<Source> {
        let (first, depth) = match source {
            Source::Battery(_) => (PanelIndex::from(self.panels.len()), 1),
            Source::Panel(source) => (self.panels[source].first, self.panels[source].depth + 1),
        };
        if depth > MOST_PANELS_IN_A_ROW {
            return None;
        }
        let panel = supply.to.thing;
        let conductor = if supply.is_last(survey.office) {
            survey.own_conductor(supply, panel)
        } else {
            // A separate run to the panel is missing, so it is reported at the panel.
            let name = survey.office.thing(panel).name;
            survey.lacking(supply, panel, name);
            None
        };
        Some(Source::Panel(self.panels.push(Panel {
            source,
            supply: conductor,
            first,
            depth,
        })))
    }
}

/// The run that feeds a panel: of the separate runs the one that states the most, or else one that passes through the
/// panel.
fn supply<'n>(survey: &FeedSurvey<'_, '_>, networks: &'n Networks, panel: ThingId) -> Option<&'n Link> {
    let said = |link: &Link| match (link.is_last(survey.office), link.with.gauge, link.with.length) {
        (false, ..) => 0,
        (true, None, None) => 1,
        (true, Some(_), Some(_)) => 3,
        (true, ..) => 2,
    };
    let from_source = |link: &&Link| matches!(link.from.port.role, Role::Battery | Role::Fuse);
    let leading = networks.power.leading_to(panel).filter(from_source);
    leading.min_by_key(|link| Reverse(said(link)))
}
