//! Changes of runs: the ends that they join, and their tubes and wires. The paths of signals are compared in
//! `circuits`.

use drysheath_engineering::units::Quantity;
use drysheath_office::{Adapter, Attributes, LinkEnd, Office, Run, RunId, Spanned, ThingId};
use drysheath_syntax::Medium;
use drysheath_text::TextRange;
use rustc_hash::FxHashMap;

use super::circuits::{TerminalKey, own};
use super::{ChangePlace, Changes, OfficeState, deed};
use crate::compare::record::{ChangeRecord, Deed, Of};

/// The pairs of ends that a run joins.
type Links = Vec<(TerminalKey, TerminalKey)>;

/// A run of one of the two states, with the ends that it joins.
struct RunLinks<'s> {
    run: &'s Run,
    links: Links,
}

impl Changes<'_> {
    pub(super) fn runs(&mut self) {
        for medium in [Medium::Air, Medium::Power, Medium::Ground, Medium::Wire] {
            let before = run_links(&self.base, medium, &|thing| self.matching.number(thing));
            let after = run_links(&self.head, medium, &own);
            let pairs = pairs(&before, &after);
            let mut known = vec![false; before.len()];
            for (was, now) in &pairs {
                if let (Some(was_run), Some(now_run)) = (was.and_then(|was| before.get(was)), after.get(*now)) {
                    if let Some(known) = was.and_then(|was| known.get_mut(was)) {
                        *known = true;
                    }
                    if was_run.links != now_run.links && medium != Medium::Wire {
                        let told = (self.base.ends(was_run.run), self.head.ends(now_run.run));
                        let subject = subject(&self.head, now_run.run);
                        let told = (Some(told.0), Some(told.1));
                        self.tell(
                            Deed::Moved,
                            of(medium),
                            subject,
                            told,
                            &ChangePlace::Head(now_run.run.range),
                        );
                    }
                    self.attributes(was_run.run, now_run.run);
                } else if let Some(now_run) = after.get(*now).filter(|_| medium != Medium::Wire) {
                    let told = self.head.written(now_run.run.range);
                    self.tell(
                        Deed::Added,
                        of(medium),
                        told,
                        (None, None),
                        &ChangePlace::Head(now_run.run.range),
                    );
                }
            }
            for (was, _) in before
                .iter()
                .zip(known)
                .filter(|(_, known)| !known && medium != Medium::Wire)
            {
                let told = self.base.written(was.run.range);
                self.tell(
                    Deed::Removed,
                    of(medium),
                    told,
                    (None, None),
                    &ChangePlace::Base(was.run.range),
                );
            }
        }
    }

    /// Records changed attributes of a run: adapters and pieces.
    fn attributes(&mut self, before: &Run, after: &Run) {
        let subject = format!("{} {}", after.medium.word(), self.head.ends(after));
        self.adapters(&subject, before, after);
        let number = before.pieces().count().max(after.pieces().count());
        for at in 0..number {
            match (before.pieces().nth(at), after.pieces().nth(at)) {
                (Some(was), Some(now)) => self.piece(&subject, at, (was, now), after),
                (was, now) => {
                    let (was, now) = (was.and_then(Attributes::range), now.and_then(Attributes::range));
                    self.told(&subject, format!("piece {}", at + 1), (was, now), after);
                }
            }
        }
    }

    /// Records changed adapters of a run, each identified by its end.
    fn adapters(&mut self, subject: &str, before: &Run, after: &Run) {
        let (base, head) = (self.base.office, self.head.office);
        let end = |office: &Office, adapter: &Adapter| adapter.at.map(|at| office.name(at).to_owned());
        let mut ends: Vec<Option<String>> = before.adapters.iter().map(|adapter| end(base, adapter)).collect();
        ends.extend(after.adapters.iter().map(|adapter| end(head, adapter)));
        ends.sort_unstable();
        ends.dedup();
        for at in ends {
            let was = before.adapters.iter().find(|adapter| end(base, adapter) == at);
            let now = after.adapters.iter().find(|adapter| end(head, adapter) == at);
            let fitting = |adapter: &Adapter| adapter.fitting.value;
            if was.map(fitting) != now.map(fitting) {
                let name = at.map_or_else(|| "adapter".to_owned(), |at| format!("adapter at {at}"));
                let told = (was.map(|was| was.range), now.map(|now| now.range));
                self.told(subject, name, told, after);
            }
        }
    }

    /// Records the changes of one piece of a run.
    fn piece(&mut self, subject: &str, at: usize, (was, now): (&Attributes, &Attributes), after: &Run) {
        let mut told = Vec::new();
        for (name, was, now) in [
            ("tube", was.tube, now.tube),
            ("bore", was.bore, now.bore),
            ("fuse", was.fuse, now.fuse),
            ("limit", was.limit, now.limit),
            ("wire size", was.gauge, now.gauge),
            ("length", was.length, now.length),
        ] {
            if value(was) != value(now) {
                told.push((name, was.map(|was| was.range), now.map(|now| now.range)));
            }
        }
        if was.reducer.is_some() != now.reducer.is_some() {
            told.push(("reducer", was.reducer, now.reducer));
        }
        for (name, was, now) in told {
            let name = match at {
                0 => name.to_owned(),
                _ => format!("{name} of piece {}", at + 1),
            };
            self.told(subject, name, (was, now), after);
        }
    }

    /// Records the change of an attribute that follows `with` in `after`.
    fn told(&mut self, subject: &str, field: String, (was, now): (Option<TextRange>, Option<TextRange>), after: &Run) {
        let line = now.map_or_else(|| self.head.line(after.range), |now| self.head.line(now));
        self.found.push(ChangeRecord {
            what: deed(was.is_some(), now.is_some()),
            of: Of::Field,
            subject: subject.to_owned(),
            title: None,
            field_kind: Some(field.clone()),
            field: Some(field),
            before: was.map(|was| self.base.written(was)),
            after: now.map(|now| self.head.written(now)),
            line: Some(line),
        });
    }
}

impl OfficeState<'_> {
    /// The ends of a run as written.
    fn ends(&self, run: &Run) -> String {
        let ends: Vec<String> = run.ends.iter().map(|end| self.written(end.range)).collect();
        ends.join(" -> ")
    }
}

fn value(stated: Option<Spanned<Quantity>>) -> Option<Quantity> {
    stated.map(|stated| stated.value)
}

fn of(medium: Medium) -> Of {
    match medium {
        Medium::Air => Of::Air,
        Medium::Wire => Of::Wire,
        Medium::Power => Of::Power,
        Medium::Ground => Of::Ground,
    }
}

/// Name of a run for its changes: the load of a power run, the frame of a ground run, start and end of an air run.
fn subject(state: &OfficeState<'_>, run: &Run) -> String {
    let name = |end: Option<&drysheath_office::End>| {
        let thing = end.and_then(|end| end.thing);
        thing.map_or("", |thing| state.office.name(thing)).to_owned()
    };
    let (first, last) = (name(run.ends.first()), name(run.ends.last()));
    match run.medium {
        Medium::Power => format!("power of {last}"),
        Medium::Ground => format!("ground of {first}"),
        Medium::Air | Medium::Wire => format!("{} from {first} to {last}", run.medium.word()),
    }
}

fn run_links<'s>(state: &OfficeState<'s>, medium: Medium, number: &dyn Fn(ThingId) -> i64) -> Vec<RunLinks<'s>> {
    let mut links: FxHashMap<RunId, Links> = FxHashMap::default();
    let side = |side: &LinkEnd| (number(side.thing), side.port.word, side.number);
    let networks = state.networks;
    match medium {
        Medium::Wire => {
            let wire = &networks.wire;
            for (id, from) in wire.terminals() {
                for joint in wire.connections_at(id).filter(|joint| joint.from == id) {
                    let key = |terminal: &drysheath_office::Terminal| {
                        (number(terminal.thing), terminal.port.word, terminal.number)
                    };
                    let ends = (key(from), key(wire.terminal(joint.to)));
                    links.entry(joint.run).or_default().push(ends);
                }
            }
        }
        Medium::Air | Medium::Power | Medium::Ground => {
            let all = match medium {
                Medium::Air => &networks.air,
                Medium::Power => &networks.power,
                _ => &networks.ground,
            };
            for link in all.iter() {
                let ends = (side(&link.from), side(&link.to));
                links.entry(link.run).or_default().push(ends);
            }
        }
    }
    let runs = state.office.runs.enumerated();
    runs.filter(|(_, run)| run.medium == medium && !run.damaged)
        .map(|(id, run)| RunLinks {
            run,
            links: links.remove(&id).unwrap_or_default(),
        })
        .collect()
}

/// For each run of the head its counterpart in the base, if any: first runs that join the same ends, then those that
/// have most in common.
fn pairs(before: &[RunLinks<'_>], after: &[RunLinks<'_>]) -> Vec<(Option<usize>, usize)> {
    let mut by_links: FxHashMap<&Links, Vec<usize>> = FxHashMap::default();
    for (at, run) in before.iter().enumerate().rev() {
        by_links.entry(&run.links).or_default().push(at);
    }
    let mut free = vec![true; before.len()];
    let mut taken: Vec<Option<usize>> = after
        .iter()
        .map(|run| by_links.get_mut(&run.links).and_then(Vec::pop))
        .collect();
    for at in taken.iter().flatten() {
        if let Some(free) = free.get_mut(*at) {
            *free = false;
        }
    }
    let mut likely = Vec::new();
    for (now, run) in after
        .iter()
        .enumerate()
        .filter(|(now, _)| taken.get(*now) == Some(&None))
    {
        for (was, other) in before
            .iter()
            .enumerate()
            .filter(|(was, _)| free.get(*was) == Some(&true))
        {
            let likeness = likeness(other, run);
            if likeness > 0 {
                likely.push((std::cmp::Reverse(likeness), was, now));
            }
        }
    }
    likely.sort_unstable();
    for (_, was, now) in likely {
        if let (Some(free), Some(slot)) = (free.get_mut(was), taken.get_mut(now))
            && *free
            && slot.is_none()
        {
            *free = false;
            *slot = Some(was);
        }
    }
    taken.into_iter().zip(0..).collect()
}

/// Score of what two runs have in common.
fn likeness(one: &RunLinks<'_>, other: &RunLinks<'_>) -> usize {
    let shared = one.links.iter().filter(|link| other.links.contains(link)).count();
    let first = |strung: &RunLinks<'_>| strung.links.first().map(|(from, _)| *from);
    let last = |strung: &RunLinks<'_>| strung.links.last().map(|(_, to)| *to);
    let same = |one: Option<TerminalKey>, other: Option<TerminalKey>| usize::from(one.is_some() && one == other);
    2 * shared + same(first(one), first(other)) + same(last(one), last(other))
}
