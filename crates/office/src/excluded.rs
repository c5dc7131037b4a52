//! Things excluded from checks and computations because of their stage: planned or disused things in an office of a
//! later stage, the runs that name them, and the wires that carry only their signals.

use std::sync::OnceLock;

use rustc_hash::FxHashSet;

use crate::graph::Wiring;
use crate::kinds::{Key, Role, Stage, ThingStage};
use crate::model::{Attributes, Office, Reading, Run, RunId, ThingId};
use crate::value::Fields;

/// The excluded things, runs and readings.
#[derive(Clone, Debug, Default)]
pub struct Excluded {
    /// The excluded things with their stages, sorted.
    pub things: Vec<(ThingId, ThingStage)>,
    /// The excluded runs. The numbers that they name on other things are reserved but not checked.
    pub runs: Vec<(RunId, Run)>,
    /// The readings of the excluded things.
    pub readings: Vec<Reading>,
}

impl Excluded {
    /// Determines what is excluded. `with_planned` keeps planned things.
    pub(crate) fn of(office: &Office, with_planned: bool) -> Self {
        // In a planned office, everything is planned. An office whose stage cannot be read may be of a later stage.
        let stage = office
            .itself
            .and_then(|id| office.thing(id).choice::<Stage>(Key::Stage));
        let keeps_planned = with_planned || stage == Some(Stage::Planned);
        let is_out = |stage: &ThingStage| match stage {
            ThingStage::Disused => true,
            ThingStage::Planned => !keeps_planned,
            ThingStage::Installed | ThingStage::InService => false,
        };
        let stages = office
            .things()
            .filter_map(|(id, thing)| Some((id, thing.choice::<ThingStage>(Key::Stage).filter(is_out)?)));
        let mut excluded = Self {
            things: stages.collect(),
            ..Self::default()
        };
        if excluded.things.is_empty() {
            return excluded;
        }
        let left_alone = left_alone(office, &excluded);
        let is_out = |id: &RunId, run: &Run| {
            let names_some = run.ends.iter().any(|end| end.thing.is_some_and(|id| excluded.has(id)));
            names_some || left_alone.contains(id)
        };
        excluded.runs = office
            .runs
            .enumerated()
            .filter(|(id, run)| is_out(id, run))
            .map(|(id, run)| (id, run.clone()))
            .collect();
        excluded.readings = office
            .readings
            .iter()
            .filter(|reading| reading.of.thing.is_some_and(|id| excluded.has(id)))
            .copied()
            .collect();
        excluded
    }

    /// Whether a thing is excluded.
    pub fn has(&self, id: ThingId) -> bool {
        self.stage(id).is_some()
    }

    /// Stage of an excluded thing. `None` for other things.
    pub fn stage(&self, id: ThingId) -> Option<ThingStage> {
        let at = self.things.binary_search_by_key(&id, |(own, _)| *own).ok()?;
        self.things.get(at).map(|(_, stage)| *stage)
    }

    /// Number of things excluded at a stage.
    pub fn count(&self, stage: ThingStage) -> u32 {
        self.things.iter().filter(|(_, own)| *own == stage).count() as u32
    }
}

/// The wire runs that carry a signal only through excluded things, such as a planned sensor's pairs on to the monitor.
fn left_alone(office: &Office, excluded: &Excluded) -> FxHashSet<RunId> {
    let wiring = Wiring::new(office);
    let (mut left_alone, mut used) = (FxHashSet::default(), FxHashSet::default());
    for group in wiring.groups() {
        let things = || group.clone().map(|id| wiring.terminal(id));
        let is_left = things().any(|terminal| excluded.has(terminal.thing));
        let is_live =
            things().any(|terminal| matches!(terminal.port.role, Role::Signal(_)) && !excluded.has(terminal.thing));
        let runs = if is_left && !is_live {
            &mut left_alone
        } else {
            &mut used
        };
        for id in group.clone() {
            runs.extend(wiring.connections_at(id).map(|joint| joint.run));
        }
    }
    // A run of several pairs is kept if one of them carries something.
    left_alone.retain(|run| !used.contains(run));
    left_alone
}

impl Office {
    /// The office without excluded things, as checked and computed. `None` if nothing is excluded.
    ///
    /// Things and runs keep their ids. Excluded ones get no kind and join nothing, and nothing that they lack is
    /// reported.
    pub fn present(&self) -> Option<Self> {
        (!self.excluded.things.is_empty()).then(|| self.without(self.excluded.clone()))
    }

    /// The office with everything that is planned. `None` if nothing is excluded.
    pub fn with_planned(&self) -> Option<Self> {
        (!self.excluded.things.is_empty()).then(|| self.without(Excluded::of(self, true)))
    }

    fn without(&self, excluded: Excluded) -> Self {
        let mut office = self.clone();
        for (id, _) in &excluded.things {
            let thing = office.thing_mut(*id);
            thing.kind = None;
            thing.part = None;
            thing.fields.clear();
            thing.damaged = true;
        }
        for (id, _) in &excluded.runs {
            let run = &mut office.runs[*id];
            run.ends.clear();
            run.with = Attributes::default();
            run.damaged = true;
        }
        let is_kept = |thing: Option<ThingId>| !thing.is_some_and(|id| excluded.has(id));
        office.spares.retain(|spare| is_kept(spare.end.thing));
        office.stated.retain(|stated| is_kept(stated.end.thing));
        office.wired.retain(|wired| is_kept(wired.end.thing));
        office.readings.retain(|reading| is_kept(reading.of.thing));
        office
            .whens
            .retain(|when| !when.things().any(|thing| excluded.has(thing)));
        office.excluded = excluded;
        office.in_air = OnceLock::new();
        office.index();
        office
    }
}
