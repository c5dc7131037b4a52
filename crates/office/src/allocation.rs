//! The used and free numbers of ports: pairs of blocks and cables, inputs of a monitor, positions of a fuse panel,
//! outlets of regulators and ports of manifolds.

use drysheath_syntax::PairState;
use drysheath_text::TextRange;

use crate::graph::{Link, LinkEnd, Networks, Terminal, TerminalId, Wiring};
use crate::kinds::{Bare, Key, Port, Role};
use crate::model::{End, Office, Run, ThingId};
use crate::value::Fields;

/// Consecutive numbers of a port, and where a statement names them.
#[derive(Clone, Copy, Debug)]
pub struct NumberRange {
    /// The thing that has the port.
    pub thing: ThingId,
    /// The port that has the numbers.
    pub port: &'static Port,
    /// First number of the range.
    pub from: u32,
    /// Last number of the range, inclusive.
    pub to: u32,
    /// The place of the numbers in the statement.
    pub range: TextRange,
}

/// Consecutive numbers of a port that a run may take.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Free {
    /// First number of the range.
    pub from: u32,
    /// Last number of the range, inclusive.
    pub to: u32,
    /// Their state in the file.
    pub state: FreeState,
}

/// State of a free number.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FreeState {
    /// No statement names it.
    Unstated,
    /// A `spare` statement names it.
    Spare,
    /// A pair joined on one side only, without a signal or an input.
    Terminated,
}

/// Number of free numbers of a port.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct FreeCount {
    /// Numbers that carry nothing.
    pub free: u32,
    /// All numbers of the port.
    pub total: u32,
    /// The first number that a run may take.
    pub next: Option<u32>,
}

/// The numbers of an office's ports that are in use, and those declared spare.
///
/// A pair that is joined but carries no signal and leads to no input is not in use: it is terminated, and free. The
/// same holds for factory wiring of a monitor: an input or output wired to pairs of a connector, without a device.
#[derive(Debug)]
pub struct Allocation {
    used: Vec<NumberRange>,
    /// Joined pairs that carry nothing, and whether one of their sides is still open.
    idle: Vec<(NumberRange, bool)>,
    spare: Vec<NumberRange>,
    /// Numbers declared assigned or defective.
    stated: Vec<NumberRange>,
    /// Idle pairs joined to such a number: its state applies to them too.
    bound: Vec<NumberRange>,
    /// Numbers named by runs that are left out because of the stage of a thing: they are reserved.
    excluded: Vec<NumberRange>,
}

/// More numbers than any port has. A greater count is a mistake in the file and must not cost time or memory.
const MOST: usize = 10_000;

type SortKey = (ThingId, usize, u32);

impl Allocation {
    /// The allocation of an office.
    pub fn new(office: &Office, networks: &Networks) -> Self {
        let mut allocation = Self::collect(office, networks, None);
        allocation.spare_rest(office);
        allocation
    }

    /// The allocation while the run end at `end` is being written: numbers named by that end count as free, those named
    /// by unreadable runs as used.
    pub fn while_writing(office: &Office, networks: &Networks, end: TextRange) -> Self {
        let mut allocation = Self::collect(office, networks, Some(end));
        for run in office.runs.iter().filter(|run| run.damaged) {
            allocation.collect_damaged(office, run, end);
        }
        allocation.used.sort_unstable_by_key(NumberRange::key);
        allocation.spare_rest(office);
        allocation
    }

    /// Adds the ranges that `rest` stands for, one for each gap. Of two such statements on one port, the first takes
    /// all.
    fn spare_rest(&mut self, office: &Office) {
        let mut left = Vec::new();
        for rest in office.spares.iter().filter(|spare| spare.is_rest) {
            let Some((thing, port)) = rest.end.thing.zip(rest.end.port) else {
                continue;
            };
            let is_same = |own: &NumberRange| own.thing == thing && std::ptr::eq(own.port, port);
            if left.iter().any(is_same) {
                continue;
            }
            let gaps = self.unstated(office, thing, port).into_iter();
            left.extend(gaps.map(|(from, to)| NumberRange {
                thing,
                port,
                from,
                to,
                range: rest.end.detail,
            }));
        }
        if !left.is_empty() {
            self.spare.append(&mut left);
            self.spare.sort_unstable_by_key(NumberRange::key);
        }
    }

    fn collect(office: &Office, networks: &Networks, written: Option<TextRange>) -> Self {
        let mut allocation = Self {
            used: Vec::new(),
            idle: Vec::new(),
            spare: spare(office),
            stated: stated(office),
            bound: Vec::new(),
            excluded: excluded(office),
        };
        allocation.collect_wire(office, networks, written);
        allocation.collect_bunched(office);
        for link in networks.air.iter().chain(networks.power.iter()) {
            for side in [link.from, link.to] {
                if side.port.is_counted() && !touches(side.range, written) {
                    allocation.used.push(range_of(office, link, side));
                }
            }
        }
        allocation.used.sort_unstable_by_key(NumberRange::key);
        allocation.idle.sort_unstable_by_key(|(own, _)| own.key());
        allocation.bound.sort_unstable_by_key(NumberRange::key);
        allocation
    }

    fn collect_wire(&mut self, office: &Office, networks: &Networks, written: Option<TextRange>) {
        let wire = &networks.wire;
        for group in wire.groups() {
            let carries = group.clone().any(|id| is_end(wire, id)) && !waits_for_device(office, wire, group.clone());
            let is_bound =
                !carries && !self.stated.is_empty() && group.clone().any(|id| self.is_stated(wire.terminal(id)));
            for id in group {
                let terminal = wire.terminal(id);
                if !terminal.port.can_be_spare() {
                    continue;
                }
                let mut named = wire
                    .connections_at(id)
                    .map(|joint| joint.range_at(id))
                    .filter(|range| !touches(*range, written));
                let Some(range) = named.next() else { continue };
                let own = NumberRange {
                    thing: terminal.thing,
                    port: terminal.port,
                    from: terminal.number,
                    to: terminal.number,
                    range,
                };
                if carries {
                    self.used.push(own);
                } else if is_bound {
                    self.bound.push(own);
                } else {
                    self.idle.push((own, named.next().is_none()));
                }
            }
        }
    }

    /// Marks all pairs of a bunch as used if one of them is.
    fn collect_bunched(&mut self, office: &Office) {
        let bunches = office.wired.iter().filter(|wired| wired.state == PairState::Bunched);
        for bunch in bunches.filter_map(|bunch| NumberRange::of(&bunch.end)) {
            let is_of = |own: &&NumberRange| {
                own.thing == bunch.thing
                    && std::ptr::eq(own.port, bunch.port)
                    && (bunch.from..=bunch.to).contains(&own.from)
            };
            let used: Vec<u32> = self.used.iter().filter(is_of).map(|own| own.from).collect();
            if used.is_empty() {
                continue;
            }
            let all = bunch.from..=bunch.to.min(bunch.from.saturating_add(MOST as u32));
            let others = all.filter(|number| !used.contains(number));
            self.used.extend(others.map(|number| NumberRange {
                from: number,
                to: number,
                ..bunch
            }));
        }
    }

    fn is_stated(&self, terminal: &Terminal) -> bool {
        let mut stated = of(&self.stated, NumberRange::key, terminal.thing, terminal.port).iter();
        stated.any(|own| (own.from..=own.to).contains(&terminal.number))
    }

    /// Numbers that no run may take: assigned or defective ones, those joined to them, and reserved ones.
    fn barred(&self, thing: ThingId, port: &'static Port) -> impl Iterator<Item = &NumberRange> {
        let stated = of(&self.stated, NumberRange::key, thing, port);
        let bound = of(&self.bound, NumberRange::key, thing, port);
        let excluded = of(&self.excluded, NumberRange::key, thing, port);
        stated.iter().chain(bound).chain(excluded)
    }

    /// Whether any number of a port is declared assigned or defective.
    pub fn has_stated(&self, thing: ThingId, port: &'static Port) -> bool {
        !of(&self.stated, NumberRange::key, thing, port).is_empty()
    }

    fn collect_damaged(&mut self, office: &Office, run: &Run, written: TextRange) {
        let named = numbers_of(office, run);
        self.used.extend(named.filter(|own| !touches(own.range, Some(written))));
    }

    /// The numbers of a port used by runs, in order.
    pub fn used(&self, thing: ThingId, port: &'static Port) -> &[NumberRange] {
        of(&self.used, NumberRange::key, thing, port)
    }

    /// The numbers of a port declared spare, in order.
    pub fn spare(&self, thing: ThingId, port: &'static Port) -> &[NumberRange] {
        of(&self.spare, NumberRange::key, thing, port)
    }

    /// All numbers declared spare, sorted by thing, port and number.
    pub fn all_spare(&self) -> &[NumberRange] {
        &self.spare
    }

    /// The used numbers within `range`.
    pub fn used_within(&self, range: &NumberRange) -> &[NumberRange] {
        let used = self.used(range.thing, range.port);
        let used = used
            .get(used.partition_point(|own| own.to < range.from)..)
            .unwrap_or_default();
        let end = used.partition_point(|own| own.from <= range.to);
        used.get(..end).unwrap_or_default()
    }

    /// Whether a number is joined to others and carries nothing.
    pub fn is_idle(&self, thing: ThingId, port: &'static Port, number: u32) -> bool {
        let idle = of(&self.idle, |(own, _)| own.key(), thing, port);
        idle.iter().any(|(own, _)| (own.from..=own.to).contains(&number))
    }

    /// Whether a number is declared spare.
    pub fn is_spare(&self, thing: ThingId, port: &'static Port, number: u32) -> bool {
        self.spare(thing, port)
            .iter()
            .any(|own| (own.from..=own.to).contains(&number))
    }

    /// The numbers that no run uses and no statement names, as ranges in order. Empty where the port's range is not
    /// known.
    pub fn unstated(&self, office: &Office, thing: ThingId, port: &'static Port) -> Vec<(u32, u32)> {
        let said = self.used(thing, port).iter().chain(self.spare(thing, port));
        let said = said.chain(self.barred(thing, port));
        gaps(office, thing, port, said.map(NumberRange::numbers).collect())
    }

    /// Numbers that a run may take, as blocks of `width` consecutive ones, lowest first. Terminated pairs come last.
    pub fn free(&self, office: &Office, thing: ThingId, port: &'static Port, width: u32) -> impl Iterator<Item = Free> {
        let idle = of(&self.idle, |(own, _)| own.key(), thing, port);
        let spare = self.spare(thing, port);
        let before_last = width.max(1) - 1;
        let taken = self.used(thing, port).iter().chain(idle.iter().map(|(own, _)| own));
        let taken = taken.chain(self.barred(thing, port));
        let gaps = gaps(office, thing, port, taken.map(NumberRange::numbers).collect());
        let rows = gaps
            .into_iter()
            .filter_map(move |(from, to)| Some(from..=to.checked_sub(before_last)?));
        let untouched = rows.flatten().map(move |from| {
            let to = from + before_last;
            let is_spare = spare.iter().any(|own| own.from <= to && from <= own.to);
            let state = if is_spare {
                FreeState::Spare
            } else {
                FreeState::Unstated
            };
            Free { from, to, state }
        });
        let rows = office.rows(thing, port);
        let terminated = idle
            .iter()
            .filter(move |(own, is_open)| *is_open && width <= 1 && rows.is_some_and(|rows| rows.has(own.to)))
            .map(|(own, _)| Free {
                from: own.from,
                to: own.to,
                state: FreeState::Terminated,
            });
        untouched.take(MOST).chain(terminated)
    }

    /// Number of free numbers of a port. `None` where its range is not known.
    pub fn count(&self, office: &Office, thing: ThingId, port: &'static Port) -> Option<FreeCount> {
        let rows = office.rows(thing, port)?;
        let used = self.used(thing, port).iter().chain(self.barred(thing, port));
        let gaps = gaps(office, thing, port, used.map(NumberRange::numbers).collect());
        Some(FreeCount {
            free: gaps
                .iter()
                .fold(0, |sum, (from, to)| (to - from).saturating_add(1).saturating_add(sum)),
            total: rows.count(),
            next: self.free(office, thing, port, 1).next().map(|free| free.from),
        })
    }
}

/// Whether a circuit begins or ends at a terminal.
fn is_end(wire: &Wiring, id: TerminalId) -> bool {
    let role = wire.terminal(id).port.role;
    role.begins_circuit() || role.ends_circuit()
}

/// Whether the joined terminals are a single input or output of a monitor and pairs, one of them on a connector:
/// factory wiring, with or without a device.
fn waits_for_device(office: &Office, wire: &Wiring, mut group: impl Iterator<Item = TerminalId> + Clone) -> bool {
    let mut ends = group.clone().filter(|id| is_end(wire, *id));
    let of_monitor = |role: Role| role.is_input() || role == Role::Output;
    ends.next().is_some_and(|id| of_monitor(wire.terminal(id).port.role))
        && ends.next().is_none()
        && group.any(|id| office.thing(wire.terminal(id).thing).has(Key::Connector))
}

/// The numbers of a port that are not in `taken`, as ranges in order.
fn gaps(office: &Office, thing: ThingId, port: &'static Port, mut taken: Vec<(u32, u32)>) -> Vec<(u32, u32)> {
    let Some(rows) = office.rows(thing, port) else {
        return Vec::new();
    };
    taken.sort_unstable();
    let mut gaps = Vec::new();
    for (first, last) in rows.iter() {
        let mut next = Some(first);
        for (from, to) in taken.iter().copied() {
            let Some(start) = next.filter(|start| *start <= last && from <= last) else {
                break;
            };
            if start < from {
                gaps.push((start, from - 1));
            }
            next = to.checked_add(1).map(|after| after.max(start));
        }
        gaps.extend(next.filter(|start| *start <= last).map(|start| (start, last)));
    }
    gaps.sort_unstable();
    gaps
}

impl NumberRange {
    fn key(&self) -> SortKey {
        key(self.thing, self.port, self.from)
    }

    /// The numbers named by the end of a statement.
    pub fn of(end: &End) -> Option<Self> {
        Some(Self {
            thing: end.thing?,
            port: end.port?,
            from: end.numbers.0,
            to: end.numbers.1,
            range: end.detail,
        })
    }

    /// First and last number.
    pub fn numbers(&self) -> (u32, u32) {
        (self.from, self.to)
    }
}

fn spare(office: &Office) -> Vec<NumberRange> {
    let ranges = office.spares.iter().filter(|spare| !spare.is_rest);
    sorted(ranges.map(|spare| &spare.end))
}

fn stated(office: &Office) -> Vec<NumberRange> {
    sorted(office.stated.iter().map(|stated| &stated.end))
}

fn excluded(office: &Office) -> Vec<NumberRange> {
    let runs = office.excluded.runs.iter();
    let mut ranges: Vec<_> = runs.flat_map(|(_, run)| numbers_of(office, run)).collect();
    ranges.sort_unstable_by_key(NumberRange::key);
    ranges
}

/// The numbers named by the ends of a run, whether it joins them or not.
fn numbers_of<'o>(office: &'o Office, run: &'o Run) -> impl Iterator<Item = NumberRange> + 'o {
    let ends = run.ends.iter().enumerate();
    ends.filter_map(|(at, end)| {
        let thing = end.thing?;
        let leaves = at + 1 < run.ends.len();
        let (port, (from, to)) = match end.port {
            Some(port) => (port, end.numbers),
            // A run that names only the thing leaves by its first outlet.
            None => {
                let mut ports = office.thing(thing).kind?.ports_in(run.medium);
                (ports.find(|port| port.bare == Bare::Source && leaves)?, (1, 1))
            }
        };
        (port.is_counted() && from > 0).then_some(NumberRange {
            thing,
            port,
            from,
            to,
            range: end.range,
        })
    })
}

fn sorted<'o>(ends: impl Iterator<Item = &'o End>) -> Vec<NumberRange> {
    let mut ranges: Vec<_> = ends.filter_map(NumberRange::of).collect();
    ranges.sort_unstable_by_key(NumberRange::key);
    ranges
}

/// The numbers named by one side of a link. A run may name several outlets at once.
fn range_of(office: &Office, link: &Link, side: LinkEnd) -> NumberRange {
    let mut ends = office.run(link.run).ends.iter();
    let end = ends.find(|end| end.range == side.range && end.numbers.0 == side.number);
    NumberRange {
        thing: side.thing,
        port: side.port,
        from: side.number,
        to: end.map_or(side.number, |end| end.numbers.1),
        range: side.range,
    }
}

fn touches(range: TextRange, written: Option<TextRange>) -> bool {
    written.is_some_and(|written| range.start <= written.end && written.start <= range.end)
}

/// The entries of one port in a sorted list.
fn of<'n, T>(sorted: &'n [T], key_of: impl Fn(&T) -> SortKey, thing: ThingId, port: &'static Port) -> &'n [T] {
    let start = sorted.partition_point(|own| key_of(own) < key(thing, port, 0));
    let rest = sorted.get(start..).unwrap_or_default();
    let end = rest.partition_point(|own| key_of(own) <= key(thing, port, u32::MAX));
    rest.get(..end).unwrap_or_default()
}

/// Sort key. Ports are entries of one static table, so their addresses order them.
fn key(thing: ThingId, port: &'static Port, number: u32) -> SortKey {
    (thing, std::ptr::from_ref(port).addr(), number)
}
