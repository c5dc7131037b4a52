//! Adds a wire: through the next free pairs to the next free input.

use drysheath_office::kinds::{KindId, Numbering, Port, Role};
use drysheath_office::{Allocation, End, Free, FreeState, Office, Signal, TerminalId, ThingId, printed};
use drysheath_rules::Finding;
use drysheath_syntax::Medium;
use drysheath_text::{Edit, TextRange};
use drysheath_workspace::Analysis;

use super::{Proposal, after_runs, laid_out};
use crate::spares::{taken, written};

/// Wires an unwired signal: over its cable and a block to a monitor.
pub(super) fn device(analysis: &Analysis, finding: &Finding) -> Vec<Proposal> {
    let office = &analysis.office;
    let Some(id) = finding.on else { return Vec::new() };
    let signals = office.signals(id);
    let several = signals.len() > 1;
    let open = signals.iter().filter(|signal| {
        analysis
            .networks
            .wire
            .find(signal.thing, signal.port, signal.number)
            .is_none()
    });
    open.filter_map(|signal| new_wire(analysis, signal, several)).collect()
}

fn new_wire(analysis: &Analysis, signal: &Signal<'_>, several: bool) -> Option<Proposal> {
    let office = &analysis.office;
    let name = office.name(signal.thing);
    let start = match signal.port.numbering {
        Numbering::Named(_) => format!("{name} {} {}", signal.port.word, signal.name),
        _ if several => format!("{name} {}", signal.port.word),
        _ => name.to_owned(),
    };
    let is_measured = signal.dimension.is_some();
    let mut new_wire = NewWire::new(analysis);
    let mut line = format!("wire {start}");
    match office.host(signal.thing).and_then(|at| at.thing) {
        None => line += &new_wire.on_to_input(true, is_measured)?,
        Some(host) => {
            let pair = new_wire.take(host, Role::Pair)?;
            line += &new_wire.end(pair);
            match terminated_at(analysis, pair) {
                // The pair is already terminated on a block, so the wire continues from there.
                Some(block) => {
                    line = format!("{line}\nwire {block}{}", new_wire.on_to_input(false, is_measured)?);
                }
                None => line += &new_wire.on_to_input(true, is_measured)?,
            }
        }
    }
    let shown = line.replace('\n', "` and `");
    let lines: Vec<String> = line.lines().map(laid_out).collect();
    let mut edits = new_wire.edits;
    edits.push(after_runs(office, Medium::Wire, &lines.join("\n")));
    Some(Proposal::new(format!("Add `{shown}`"), edits))
}

/// Continues a wire that ends at a pair.
pub(super) fn onward(analysis: &Analysis, finding: &Finding) -> Vec<Proposal> {
    let office = &analysis.office;
    let ends = office
        .runs
        .iter()
        .filter(|run| run.medium == Medium::Wire)
        .flat_map(|run| &run.ends);
    let stops = ends.filter(|end| end.range == finding.place.range);
    stops.filter_map(|end| onward_from(analysis, end)).collect()
}

fn onward_from(analysis: &Analysis, end: &End) -> Option<Proposal> {
    let office = &analysis.office;
    let (thing, port) = (end.thing?, end.port?);
    let wire = &analysis.networks.wire;
    let pair = wire.find(thing, port, end.numbers.0)?;
    let signal = wire
        .joined_with(pair)
        .find_map(|id| match wire.terminal(id).port.role {
            Role::Signal(signal) => Some(signal),
            _ => None,
        })?;
    let mut new_wire = NewWire::new(analysis);
    let through = office.thing(thing).is(KindId::Cable);
    let rest = new_wire.on_to_input(through, signal.dimension.is_some())?;
    let run = office.runs.iter().find(|run| run.range.contains(end.range))?;
    let mut edits = new_wire.edits;
    let is_last = run.ends.last().is_some_and(|last| last.range == end.range) && end.numbers.0 == end.numbers.1;
    edits.push(if is_last {
        Edit {
            range: TextRange::empty(end.range.end),
            replacement: rest.clone(),
        }
    } else {
        let from = format!("{} {} {}", office.name(thing), port.word, printed(end.numbers.0));
        after_runs(office, Medium::Wire, &laid_out(&format!("wire {from}{rest}")))
    });
    Some(Proposal::new(format!("Wire it on: `{}`", rest.trim_start()), edits))
}

/// Where a terminated pair of a cable appears on a block, as written.
fn terminated_at(analysis: &Analysis, pair: (ThingId, &'static Port, Free)) -> Option<String> {
    let (thing, port, free) = pair;
    let (office, wire) = (&analysis.office, &analysis.networks.wire);
    let id = Some(free).filter(|free| free.state == FreeState::Terminated);
    let id = id.and_then(|free| wire.find(thing, port, free.from))?;
    let is_end = |other: &TerminalId| *other != id && wire.connections_at(*other).len() == 1;
    let end = wire.joined_with(id).find(is_end).map(|other| wire.terminal(other))?;
    Some(format!(
        "{} {} {}",
        office.name(end.thing),
        end.port.word,
        printed(end.number)
    ))
}

/// The numbers that a new wire uses.
struct NewWire<'a> {
    analysis: &'a Analysis,
    allocation: Allocation,
    /// Edits that remove them from `spare` statements.
    edits: Vec<Edit>,
}

impl<'a> NewWire<'a> {
    fn new(analysis: &'a Analysis) -> Self {
        Self {
            analysis,
            allocation: Allocation::new(&analysis.office, &analysis.networks),
            edits: Vec::new(),
        }
    }

    /// Takes the next free number of a role on a thing.
    fn take(&mut self, thing: ThingId, role: Role) -> Option<(ThingId, &'static Port, Free)> {
        let office = &self.analysis.office;
        let kind = office.thing(thing).kind?;
        let port = kind.ports_in(Medium::Wire).find(|port| port.role == role)?;
        let next = self.allocation.free(office, thing, port, 1).next()?;
        self.edits.extend(taken(self.analysis, thing, port, next));
        Some((thing, port, next))
    }

    fn end(&self, (thing, port, next): (ThingId, &'static Port, Free)) -> String {
        format!(
            " -> {} {} {}",
            self.analysis.office.name(thing),
            port.word,
            written(next)
        )
    }

    /// Continues to an input, over a block if one is needed and exists.
    fn on_to_input(&mut self, over_block: bool, is_measured: bool) -> Option<String> {
        let mut new_wire = String::new();
        let office = &self.analysis.office;
        let blocks = most_used(office, KindId::Block);
        if over_block && !blocks.is_empty() {
            let pair = blocks.into_iter().find_map(|block| {
                let before = self.edits.len();
                let pair = self.take(block, Role::Pair);
                let is_free = pair.is_some_and(|(.., next)| next.state != FreeState::Terminated);
                if !is_free {
                    self.edits.truncate(before);
                }
                pair.filter(|_| is_free)
            })?;
            new_wire += &self.end(pair);
        }
        let role = if is_measured {
            Role::SensorInput
        } else {
            Role::ContactInput
        };
        let monitors = most_used(office, KindId::Monitor);
        let input = monitors.into_iter().find_map(|monitor| self.take(monitor, role))?;
        new_wire += &self.end(input);
        Some(new_wire)
    }
}

/// The things of a kind, those with the most wires first.
fn most_used(office: &Office, kind: KindId) -> Vec<ThingId> {
    let ends = || {
        office
            .runs
            .iter()
            .filter(|run| run.medium == Medium::Wire)
            .flat_map(|run| &run.ends)
    };
    let mut things: Vec<ThingId> = office.of_kind(kind).map(|(id, _)| id).collect();
    things.sort_by_key(|id| std::cmp::Reverse(ends().filter(|end| end.thing == Some(*id)).count()));
    things
}
