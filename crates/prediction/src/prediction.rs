use drysheath_engineering::index::IndexVec;
use drysheath_office::kinds::{Key, KindId};
use drysheath_office::{Fields, Networks, Office};
use drysheath_syntax::Medium;

use crate::air::{Air, StateError, SystemId};
use crate::decay_test::volumes_missing;
use crate::dryness::Dryness;
use crate::expectation::{AirState, state};
use crate::feeds::{Feed, feeds};
use crate::loops::{ControlLoop, Loop, controls, loops};
use crate::missing_input::{MissingInput, NeededFor};

/// All figures that can be computed from an office's file.
pub struct Prediction {
    /// Pressures and flows of the air network.
    pub air: Air,
    /// Dryness of the wettest dryer that feeds each system. `None` where one of the dryers does not state it.
    dryness: IndexVec<SystemId, Option<Dryness>>,
    /// Feeds of the loads: voltage and current.
    pub feeds: Vec<Feed>,
    /// Loops of the signals.
    pub loops: Vec<Loop>,
    /// Loops from outputs to their controls.
    pub controls: Vec<ControlLoop>,
    /// The air network in each state that the office states an expectation for, in the order of the file.
    pub states: Vec<Result<AirState, StateError>>,
    /// Missing inputs, medium by medium.
    pub missing: Vec<MissingInput>,
}

impl Prediction {
    /// Computes all figures that the file states enough for.
    pub fn new(office: &Office, networks: &Networks) -> Self {
        let mut missing = Vec::new();
        let air = Air::new(office, networks, &mut missing);
        let dryness = air
            .systems()
            .map(|system| wettest(office, &air, system, &mut missing))
            .collect();
        if air.systems().len() > 0 {
            coldest_missing(office, networks, &mut missing);
        }
        let feeds = feeds(office, networks, &mut missing);
        let loops = loops(office, networks, &mut missing);
        let controls = controls(office, networks, &mut missing);
        volumes_missing(office, &mut missing);
        let states = office.whens.iter();
        let states = states.map(|when| state(office, networks, &air, when)).collect();
        Self {
            air,
            dryness,
            feeds,
            loops,
            controls,
            states,
            missing,
        }
    }

    /// Dryness of the air of a system. `None` where it is not known.
    pub fn dryness_of(&self, system: SystemId) -> Option<&Dryness> {
        self.dryness[system].as_ref()
    }
}

/// The wettest of a system's dryers, including those of other offices that feed it over routes. `None` unless all of
/// them state their dryness.
fn wettest(office: &Office, air: &Air, system: SystemId, missing: &mut Vec<MissingInput>) -> Option<Dryness> {
    let mut wettest: Option<Dryness> = None;
    let mut all = true;
    for id in air.dryers(system) {
        let Some(dryness) = Dryness::of(office, id) else {
            all = false;
            let thing = office.thing(id);
            if !thing.damaged && !thing.has(Key::DewPoint) {
                missing.push(MissingInput {
                    on: id,
                    range: thing.name,
                    what: format!("the dew point of `{}`", office.name(id)),
                    needed_for: NeededFor::Dryness,
                });
            }
            continue;
        };
        if wettest.is_none_or(|other| dryness.vapour_part > other.vapour_part) {
            wettest = Some(dryness);
        }
    }
    for (neighbour, id) in air.dryers_elsewhere(system) {
        match Dryness::elsewhere(office, neighbour, id) {
            Some(dryness) if wettest.is_none_or(|other| dryness.vapour_part > other.vapour_part) => {
                wettest = Some(dryness);
            }
            Some(_) => {}
            None => all = false,
        }
    }
    wettest.filter(|_| all)
}

/// Reports that the office does not state how cold its cable gets, if air reaches a cable.
fn coldest_missing(office: &Office, networks: &Networks, missing: &mut Vec<MissingInput>) {
    let Some((id, thing)) = office.itself.map(|id| (id, office.thing(id))) else {
        return;
    };
    let is_fed = office
        .of_kind(KindId::Cable)
        .any(|(cable, _)| networks.is_reached(cable));
    if is_fed && !thing.damaged && !thing.has(Key::Coldest) && !office.unsure.about(Medium::Air) {
        missing.push(MissingInput {
            on: id,
            range: thing.name,
            what: "the coldest temperature of the cable".to_owned(),
            needed_for: NeededFor::Dryness,
        });
    }
}
