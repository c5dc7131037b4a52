//! Checks of feeds, fuse panels and grounds.

use drysheath_office::kinds::{KindId, Role};

use super::{Comparison, CoverageSurvey, MissingFigure};
use crate::grounds::frame_ground_missing::needs_ground;
use crate::grounds::{conductors_to_bars, ground_conductor_small};
use crate::lint::Inspection;
use crate::power::{fuse_above_wire, fuse_below_load, is_on_mains, panel_overloaded, voltage_below_window};

pub(super) fn survey(inspection: &Inspection<'_>, survey: &mut CoverageSurvey) {
    let Inspection {
        office,
        networks,
        prediction,
        ..
    } = *inspection;
    for feed in &prediction.feeds {
        survey.count(
            Comparison::SupplyVoltage,
            &voltage_below_window::compared(inspection, feed),
        );
    }
    let on_mains = office.of_kind(KindId::Monitor);
    for _ in on_mains.filter(|(_, monitor)| is_on_mains(monitor)) {
        survey.count(Comparison::SupplyVoltage, &Err::<(), _>(MissingFigure::BatteryFeed));
    }
    let fed = networks
        .power
        .iter()
        .filter(|link| link.to.port.role == Role::Load)
        .count();
    for _ in prediction.feeds.len()..fed {
        survey.count(Comparison::SupplyVoltage, &Err::<(), _>(MissingFigure::Figure));
    }
    for feed in networks.power.iter().filter(|feed| feed.is_last(office)) {
        survey.count(Comparison::WireProtection, &fuse_above_wire::compared(inspection, feed));
        // A feed from a load that passes it on has no fuse of its own.
        if feed.from.port.role != Role::Load {
            survey.count(Comparison::FuseLoad, &fuse_below_load::compared(inspection, feed));
        }
    }
    for (id, panel) in office.of_kind(KindId::FusePanel) {
        let compared = panel_overloaded::compared(inspection, id);
        survey.note(inspection, Comparison::PanelLoad, &compared, (id, panel.name));
    }
    grounds(inspection, survey);
}

fn grounds(inspection: &Inspection<'_>, survey: &mut CoverageSurvey) {
    let Inspection { office, networks, .. } = *inspection;
    let links = networks.ground.iter();
    for compared in links.filter_map(|link| ground_conductor_small::compared(inspection, link)) {
        survey.count(Comparison::GroundSize, &compared);
    }
    let ungrounded = office.things().filter(|(id, thing)| {
        let role = if thing.is(KindId::Battery) {
            Role::Return
        } else {
            Role::Frame
        };
        let is_asked = role == Role::Return || needs_ground(thing);
        is_asked && conductors_to_bars(networks, *id, role).next().is_none()
    });
    for _ in ungrounded {
        survey.count(Comparison::GroundSize, &Err::<(), _>(MissingFigure::GroundConductor));
    }
}
