//! Matches the things of two states of an office.

use drysheath_engineering::index::IndexVec;
use drysheath_office::kinds::{KindId, Port};
use drysheath_office::{Fields as _, Office, Thing, ThingId};
use drysheath_syntax::Medium;
use rustc_hash::FxHashMap;

use super::fields::FieldComparer;
use crate::Files;
use crate::matching::Unmatched;

/// Corresponding things of two offices: those with the same name, and renamed ones.
#[derive(Debug, Default)]
pub(crate) struct Matching {
    forth: IndexVec<ThingId, Option<ThingId>>,
    back: IndexVec<ThingId, Option<ThingId>>,
    /// Renamed things: id in the base, id in the head.
    pub renamed: Vec<(ThingId, ThingId)>,
}

/// Limit of combinations to search for renamed things: beyond it the office is a different one.
const MOST_COMBINATIONS: usize = 40_000;
/// A renamed thing changes the joints of its neighbours too: limit of passes over them.
const ROUNDS: usize = 4;

impl Matching {
    /// Matches the things of two offices with the same text.
    pub fn of_same(office: &Office) -> Self {
        let all: IndexVec<ThingId, _> = office.things().map(|(id, _)| Some(id)).collect();
        Self {
            forth: all.clone(),
            back: all,
            renamed: Vec::new(),
        }
    }

    /// Matches the things of two offices.
    pub fn new(base: &Office, head: &Office, files: &dyn Files) -> Self {
        let mut matching = Self {
            forth: IndexVec::filled(None, base.things.len()),
            back: IndexVec::filled(None, head.things.len()),
            renamed: Vec::new(),
        };
        if let (Some(before), Some(after)) = (base.itself, head.itself) {
            matching.join(before, after);
            if base.name(before) != head.name(after) {
                matching.renamed.push((before, after));
            }
        }
        let named = |office: &Office| -> Vec<ThingId> {
            let things = office.things().filter(|(_, thing)| !thing.is(KindId::Office));
            things.map(|(id, _)| id).collect()
        };
        let mut unmatched = Unmatched {
            before: named(base),
            after: named(head),
        };
        let name = |office: &Office, id| Some(office.name(id).to_owned()).filter(|name| !name.is_empty());
        for (before, after) in unmatched.pair_in_order(|id| name(base, id), |id| name(head, id)) {
            matching.join(before, after);
        }
        matching.follow_former_names(&mut unmatched, base, head);
        // An assembly in one state may be written out in the other.
        let flat = |office: &Office, id| Some((kind(office.thing(id)), office.expanded_name(id)));
        for (before, after) in unmatched.pair_in_order(|id| flat(base, id), |id| flat(head, id)) {
            matching.join(before, after);
            matching.renamed.push((before, after));
        }
        for _ in 0..ROUNDS {
            if !matching.find_renamed(base, head, files) {
                break;
            }
        }
        matching.renamed.sort_by_key(|(_, after)| *after);
        matching
    }

    /// Matches the things of the head by their stated former names, whatever else differs.
    fn follow_former_names(&mut self, unmatched: &mut Unmatched<ThingId, ThingId>, base: &Office, head: &Office) {
        let left = std::mem::take(&mut unmatched.after);
        for now in left {
            let mut former = head.thing(now).former_names();
            let was = former.find_map(|(name, _)| unmatched.before.iter().position(|was| base.name(*was) == name));
            match was {
                Some(was) => {
                    let was = unmatched.before.remove(was);
                    self.join(was, now);
                    self.renamed.push((was, now));
                }
                None => unmatched.after.push(now),
            }
        }
    }

    /// The thing of the head that corresponds to a thing of the base.
    pub fn head_of(&self, base: ThingId) -> Option<ThingId> {
        self.forth[base]
    }

    /// The thing of the base that corresponds to a thing of the head.
    pub fn base_of(&self, head: ThingId) -> Option<ThingId> {
        self.back[head]
    }

    /// An identifying number for a thing of the base: that of its counterpart in the head, or a negative one without
    /// counterpart.
    pub fn number(&self, base: ThingId) -> i64 {
        self.head_of(base)
            .map_or(-1 - i64::from(u32::from(base)), |head| i64::from(u32::from(head)))
    }

    fn join(&mut self, base: ThingId, head: ThingId) {
        self.forth[base] = Some(head);
        self.back[head] = Some(base);
    }

    fn find_renamed(&mut self, base: &Office, head: &Office, files: &dyn Files) -> bool {
        let before: Vec<_> = base.things().filter(|(id, _)| self.head_of(*id).is_none()).collect();
        let after: Vec<_> = head.things().filter(|(id, _)| self.base_of(*id).is_none()).collect();
        if before.is_empty() || before.len() * after.len() > MOST_COMBINATIONS {
            return false;
        }
        let base_joints = joints(base, |id| self.head_of(id));
        let head_joints = joints(head, |id| self.base_of(id).map(|_| id));
        let is_same_thing = |one: ThingId, other: ThingId| match (self.head_of(one), self.base_of(other)) {
            (Some(same), _) => same == other,
            // Both hosts may have been renamed as well.
            (None, None) => kind(base.thing(one)) == kind(head.thing(other)),
            (None, Some(_)) => false,
        };
        let comparer = FieldComparer {
            files,
            offices: Some((base, head)),
            is_same_thing: &is_same_thing,
            is_told: &|_, _| false,
        };
        let mut likely = Vec::new();
        for (one, thing) in &before {
            for (other, candidate) in &after {
                if thing.kind.is_none() || kind(thing) != kind(candidate) {
                    continue;
                }
                let fields = share(
                    comparer.agreeing(&thing.fields, &candidate.fields),
                    thing.fields.len().max(candidate.fields.len()),
                );
                let (own, others) = (joints_of(&base_joints, *one), joints_of(&head_joints, *other));
                let kept = own.iter().filter(|joint| others.contains(joint)).count();
                let joined = share(kept, own.len().max(others.len()));
                let is_likely = (fields >= 1.0 && joined >= 0.5) || (joined >= 1.0 && !own.is_empty() && fields >= 0.5);
                if is_likely {
                    likely.push((fields + joined, *one, *other));
                }
            }
        }
        likely.sort_by(|one, other| other.0.total_cmp(&one.0).then((one.1, one.2).cmp(&(other.1, other.2))));
        let mut found = false;
        for (_, one, other) in likely {
            if self.head_of(one).is_none() && self.base_of(other).is_none() {
                self.join(one, other);
                self.renamed.push((one, other));
                found = true;
            }
        }
        found
    }
}

fn kind(thing: &Thing) -> Option<KindId> {
    thing.kind.map(|kind| kind.id)
}

/// Fraction that is kept; 1 of nothing.
fn share(kept: usize, of: usize) -> f64 {
    let part = |count: usize| f64::from(count as u32);
    if of == 0 { 1.0 } else { part(kept) / part(of) }
}

/// A joint of a thing: medium, own port and numbers, neighbour, and the neighbour's port and numbers.
type JointKey = (
    Medium,
    Option<&'static str>,
    (u32, u32),
    Result<ThingId, Option<KindId>>,
    Option<&'static str>,
    (u32, u32),
);

/// The joints of all unmatched things; `known` gives the counterpart in the head of things already matched.
fn joints(office: &Office, known: impl Fn(ThingId) -> Option<ThingId>) -> FxHashMap<ThingId, Vec<JointKey>> {
    let mut joints: FxHashMap<ThingId, Vec<JointKey>> = FxHashMap::default();
    let word = |port: Option<&'static Port>| port.map(|port| port.word);
    for run in &office.runs {
        for pair in run.ends.windows(2) {
            let [one, other] = pair else { continue };
            for (own, far) in [(one, other), (other, one)] {
                let Some(thing) = own.thing.filter(|thing| known(*thing).is_none()) else {
                    continue;
                };
                let neighbour = match far.thing.and_then(&known) {
                    Some(known) => Ok(known),
                    None => Err(far.thing.and_then(|thing| kind(office.thing(thing)))),
                };
                joints.entry(thing).or_default().push((
                    run.medium,
                    word(own.port),
                    own.numbers,
                    neighbour,
                    word(far.port),
                    far.numbers,
                ));
            }
        }
    }
    joints
}

fn joints_of(joints: &FxHashMap<ThingId, Vec<JointKey>>, thing: ThingId) -> &[JointKey] {
    joints.get(&thing).map_or(&[], Vec::as_slice)
}
