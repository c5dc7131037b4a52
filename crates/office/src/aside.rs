//! What is left out of all that is checked and computed because of its stage: things that are planned or disused in an office that
//! is further on, the runs that name them, and the wires that carry nothing but their signals.

use std::sync::OnceLock;

use rustc_hash::FxHashSet;

use crate::graph::Wiring;
use crate::kinds::{Key, Role, Stage, ThingStage};
use crate::model::{Attributes, Office, Reading, Run, RunId, ThingId};
use crate::value::Fields;

/// What is left out.
#[derive(Clone, Debug, Default)]
pub struct Aside {
    /// The things, and how far each has come, in order.
    pub things: Vec<(ThingId, ThingStage)>,
    /// The runs. What they name of other things is reserved, and not checked.
    pub runs: Vec<(RunId, Run)>,
    /// The readings of those things.
    pub readings: Vec<Reading>,
}

impl Aside {
    /// What of an office is left out. `with_planned` keeps what is planned.
    pub(crate) fn of(office: &Office, with_planned: bool) -> Self {
        // In an office that is planned, everything is. One whose stage cannot be read may be further on.
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
        let mut aside = Self {
            things: stages.collect(),
            ..Self::default()
        };
        if aside.things.is_empty() {
            return aside;
        }
        let left_alone = left_alone(office, &aside);
        let is_out = |id: &RunId, run: &Run| {
            let names_some = run.ends.iter().any(|end| end.thing.is_some_and(|id| aside.has(id)));
            names_some || left_alone.contains(id)
        };
        aside.runs = office
            .runs
            .enumerated()
            .filter(|(id, run)| is_out(id, run))
            .map(|(id, run)| (id, run.clone()))
            .collect();
        aside.readings = office
            .readings
            .iter()
            .filter(|reading| reading.of.thing.is_some_and(|id| aside.has(id)))
            .copied()
            .collect();
        aside
    }

    /// Whether a thing is left out.
    pub fn has(&self, id: ThingId) -> bool {
        self.stage(id).is_some()
    }

    /// How far a thing has come that is left out.
    pub fn stage(&self, id: ThingId) -> Option<ThingStage> {
        let at = self.things.binary_search_by_key(&id, |(own, _)| *own).ok()?;
        self.things.get(at).map(|(_, stage)| *stage)
    }

    /// How many things are left out at a stage.
    pub fn count(&self, stage: ThingStage) -> u32 {
        self.things.iter().filter(|(_, own)| *own == stage).count() as u32
    }
}

/// The wire runs that carry nothing once some things are left out, but did: a planned sensor's pairs on to the monitor.
fn left_alone(office: &Office, aside: &Aside) -> FxHashSet<RunId> {
    let wiring = Wiring::new(office);
    let (mut left_alone, mut used) = (FxHashSet::default(), FxHashSet::default());
    for group in wiring.groups() {
        let things = || group.clone().map(|id| wiring.terminal(id));
        let is_left = things().any(|terminal| aside.has(terminal.thing));
        let is_live =
            things().any(|terminal| matches!(terminal.port.role, Role::Signal(_)) && !aside.has(terminal.thing));
        let runs = if is_left && !is_live {
            &mut left_alone
        } else {
            &mut used
        };
        for id in group.clone() {
            runs.extend(wiring.joints_at(id).map(|joint| joint.run));
        }
    }
    // A run of several pairs stays while one of them carries something.
    left_alone.retain(|run| !used.contains(run));
    left_alone
}

impl Office {
    /// The office without what is left out because of its stage: what is checked and computed. None where that is all of it.
    ///
    /// Things and runs keep their numbers. Those that are left out are of no kind and join nothing, and nothing follows from what
    /// they lack.
    pub fn present(&self) -> Option<Self> {
        (!self.aside.things.is_empty()).then(|| self.without(self.aside.clone()))
    }

    /// The office as it will be once everything that is planned is there. None where nothing is left out.
    pub fn with_planned(&self) -> Option<Self> {
        (!self.aside.things.is_empty()).then(|| self.without(Aside::of(self, true)))
    }

    fn without(&self, aside: Aside) -> Self {
        let mut office = self.clone();
        for (id, _) in &aside.things {
            let thing = office.thing_mut(*id);
            thing.kind = None;
            thing.part = None;
            thing.fields.clear();
            thing.damaged = true;
        }
        for (id, _) in &aside.runs {
            let run = &mut office.runs[*id];
            run.ends.clear();
            run.with = Attributes::default();
            run.damaged = true;
        }
        let is_kept = |thing: Option<ThingId>| !thing.is_some_and(|id| aside.has(id));
        office.spares.retain(|spare| is_kept(spare.end.thing));
        office.stated.retain(|stated| is_kept(stated.end.thing));
        office.wired.retain(|wired| is_kept(wired.end.thing));
        office.readings.retain(|reading| is_kept(reading.of.thing));
        office.whens.retain(|when| !when.things().any(|thing| aside.has(thing)));
        office.aside = aside;
        office.in_air = OnceLock::new();
        office.index();
        office
    }
}
