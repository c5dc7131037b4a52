//! What was checked of feeds and fuse panels.

use drysheath_engineering::feeds::FeedError;
use drysheath_office::kinds::{Key, KindId, Role};
use drysheath_office::{Fields, ThingId};

use super::{Comparison, Lack, Survey};
use crate::lint::Inspection;

pub(super) fn survey(inspection: &Inspection<'_>, survey: &mut Survey) {
    let Inspection {
        office,
        networks,
        prediction,
        ..
    } = *inspection;
    for feed in &prediction.feeds {
        let compared = match (office.thing(feed.load).range(Key::Window), &feed.arrival) {
            (None, _) => Err(Lack::Window),
            (_, Err(FeedError::Unusable)) => Err(Lack::Figure),
            (Some(_), _) => Ok(()),
        };
        survey.count(Comparison::SupplyVoltage, &compared);
    }
    let fed = networks
        .power
        .iter()
        .filter(|link| link.to.port.role == Role::Load)
        .count();
    for _ in prediction.feeds.len()..fed {
        survey.count(Comparison::SupplyVoltage, &Err::<(), _>(Lack::Figure));
    }
    for (id, panel) in office.of_kind(KindId::FusePanel) {
        let compared = match panel.quantity(Key::Limit) {
            None => Err(Lack::PanelLimit),
            Some(_) if !all_draw(inspection, id) => Err(Lack::Draws),
            Some(_) => Ok(()),
        };
        survey.note(inspection, Comparison::PanelLoad, &compared, (id, panel.name));
    }
}

/// Whether every load of a panel, and of the panels that it feeds, states its power.
fn all_draw(inspection: &Inspection<'_>, panel: ThingId) -> bool {
    let Inspection { office, networks, .. } = *inspection;
    let mut seen = vec![panel];
    let mut at = 0;
    while let Some(panel) = seen.get(at).copied() {
        at += 1;
        for link in networks.power.leaving(panel) {
            let thing = link.to.thing;
            if link.to.port.role == Role::Load && office.thing(thing).quantity(Key::Draws).is_none() {
                return false;
            }
            if !seen.contains(&thing) {
                seen.push(thing);
            }
        }
    }
    true
}
