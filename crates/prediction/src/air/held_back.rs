//! Regulators that pass the least that their makers promise, and all combinations of them.
//!
//! Over time one that lacks pressure is anywhere between wide open and held back. Where several take their air from one tank or tube, one that
//! is held back leaves more for the others, so that each combination has to be followed: a pressure is monotonic in what each of them passes,
//! whatever the others do, and is highest and lowest where each is at one end.

use drysheath_office::kinds::{Key, KindId};
use drysheath_office::{Fields, Office, ThingId};

/// The most regulators of which all combinations are followed.
const MOST: usize = 5;

/// The regulators that are held back: see [`Network::hold_back_regulators`](drysheath_engineering::network::Network::hold_back_regulators).
pub(crate) enum HeldBack {
    /// These of the office; all others open as wide as they can.
    Only(Vec<ThingId>),
    /// All, also those of other offices that share a route.
    All,
}

impl HeldBack {
    /// Whether all are.
    pub fn is_all(&self) -> bool {
        matches!(self, Self::All)
    }
}

/// The regulators that promise to regulate only down to some difference of pressure.
pub(crate) fn with_differential(office: &Office) -> impl Iterator<Item = ThingId> + '_ {
    let regulators = office.of_kind(KindId::Regulator);
    let found = regulators.filter(|(_, thing)| thing.has(Key::Differential));
    found.map(|(id, _)| id)
}

/// All combinations of regulators that may be held back, first that of all. None where they are too many to follow.
pub(crate) fn combinations(office: &Office) -> Option<Vec<HeldBack>> {
    let regulators: Vec<ThingId> = with_differential(office).collect();
    if regulators.len() > MOST {
        return None;
    }
    let all = 1_u32 << regulators.len().max(1);
    let held = |set: u32| {
        let members = regulators.iter().enumerate();
        let members = members.filter(|(number, _)| set & (1 << number) != 0);
        HeldBack::Only(members.map(|(_, id)| *id).collect())
    };
    Some([HeldBack::All].into_iter().chain((0..all - 1).map(held)).collect())
}
