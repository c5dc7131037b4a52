//! The loop of each signal: the copper from its device to its input and back, and its permitted resistance.
//!
//! A pair of a cable is counted from the office end to the device's location on that cable, or over the whole cable
//! where the device is located elsewhere. A route's cable is counted from the end at the office where the pair goes on
//! to the monitor. A loop that passes several offices is counted at the highest temperature that any of them states. A
//! run's own wire is what it states after `with`, once for the run as a whole and for each pair of a range. A run that
//! states neither size nor length is a jumper within the office whose resistance is negligible; such runs are only
//! counted. Coils, joints and fuses are not included. Where sensors with addresses share a pair, the currents of the
//! others drop voltage on the shared part of their paths.

mod cable_length;
mod controls;
mod limits;
mod shared;
mod signal_path;

use std::sync::Arc;

use drysheath_engineering::loops::LoopError;
use drysheath_engineering::measure::{ConductorArea, Length, Resistance, Temperature, Voltage};
use drysheath_engineering::units::Quantity;
use drysheath_engineering::wire;
use drysheath_office::kinds::{Key, KindId, Role};
use drysheath_office::{Attributes, Fields, GivenQuantity, MergedOffice, Networks, Office, RunId, Terminal, ThingId};
use drysheath_syntax::Medium;
use drysheath_text::{Place, TextRange};
use rustc_hash::FxHashSet;

pub use controls::{ControlLoop, controls};
pub use limits::{LoopLimit, LoopLimits, SetBy, StatedLoopSupply};
pub use shared::OtherDevice;
pub use signal_path::{SignalPath, control_paths, signal_paths};

use crate::feeds::stated_temperature;
use crate::{MissingInput, NeededFor};
use cable_length::CableLength;

/// The loop of a signal and its path to its input. Signal, input and parts of the path may be in other offices: things
/// and runs are those of [`Networks::merged`].
#[derive(Clone, Debug)]
pub struct Loop {
    /// The signal that the loop carries.
    pub signal: Terminal,
    /// The input that reads it.
    pub input: Terminal,
    /// The temperature that `resistance` is computed at.
    pub temperature: GivenQuantity,
    /// The stretches of wire from the device to the input.
    pub stretches: Vec<LoopStretch>,
    /// Number of runs on the path that state neither size nor length and are not counted.
    pub unstated_runs: u32,
    /// Resistance there and back, at the highest temperature of the pairs.
    pub resistance: Resistance,
    /// Resistance there and back, at 20 °C.
    pub resistance_at_20: Resistance,
    /// The other devices on its pair, where sensors with addresses share one.
    pub others: Vec<OtherDevice>,
    /// The limits that the device and the monitor declare.
    pub limits: LoopLimits,
    /// The lowest limit, `None` if none is declared, or an error if no loop can meet them.
    pub limit: Result<Option<LoopLimit>, LoopError>,
}

/// A part of a loop with the same wire throughout.
#[derive(Clone, Debug)]
pub struct LoopStretch {
    /// The run, lead or cable that it belongs to.
    pub of: LoopPart,
    /// Size of its conductors, and one-way length. `None` for a lead whose resistance is stated.
    pub wire: Option<(Quantity, Length)>,
    /// Where the size is written; for a run, size and length; or the resistance.
    pub place: Place,
    /// Number of pairs that carry the signal in parallel: 1 unless pairs are bunched.
    pub side_by_side: u32,
    /// Resistance there and back of all parallel pairs together, at the loop's temperature.
    pub resistance: Resistance,
}

/// What a stretch of a loop belongs to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum LoopPart {
    /// The wire of a run.
    Run(RunId),
    /// A pair of a lead.
    Lead {
        /// The lead that the pair is in.
        thing: ThingId,
        /// Number of the pair in the lead.
        pair: u32,
    },
    /// A pair of a cable.
    Cable {
        /// The cable that the pair is in.
        thing: ThingId,
        /// The branch. `None` on the trunk.
        branch: Option<Box<str>>,
        /// Number of the pair in the cable.
        pair: u32,
        /// Whether the device is not located on this cable, so that its whole length counts, without branches.
        whole: bool,
    },
}

/// The temperature of [`Loop::resistance_at_20`].
const COLD: Temperature = Temperature::from_celsius(20.0);

/// The loops of all signals that are joined to exactly one input by a path that does not fork, in the order of the
/// file, as far as the file states enough; including those that begin or end in another office. Missing inputs are
/// appended to `missing`. Nothing is reported missing for signals that are joined otherwise, or where damaged text may
/// state it.
pub fn loops(office: &Office, networks: &Networks, missing: &mut Vec<MissingInput>) -> Vec<Loop> {
    if office.unsure.about(Medium::Wire) {
        return Vec::new();
    }
    let mut paths = signal_paths(office, networks).peekable();
    if paths.peek().is_none() {
        return Vec::new();
    }
    let mut survey = LoopSurvey::new(networks.merged(office), missing);
    let mut shared = Vec::new();
    let followed = paths.filter_map(|path| {
        if path.is_shared {
            shared.push(path);
        }
        survey.follow(path)
    });
    let mut loops: Vec<Loop> = followed.collect();
    if !shared.is_empty() {
        shared::add_others(survey.office, &shared, &mut loops, survey.missing);
    }
    survey.finish(office);
    loops
}

/// A run or cable that lacks an input, to report it once.
#[derive(PartialEq, Eq, Hash)]
enum Lacking {
    Run(RunId),
    Cable(ThingId),
}

/// Adds up the wire that runs and cables state, and reports what they lack.
struct LoopSurvey<'o, 'g> {
    office: &'o Office,
    networks: &'o Networks,
    noted: FxHashSet<Lacking>,
    missing: &'g mut Vec<MissingInput>,
    /// Length of `missing` at the start.
    before: usize,
}

/// The wire found along a path.
#[derive(Default)]
struct PathWire {
    /// The temperature of the pairs.
    hottest: Option<GivenQuantity>,
    stretches: Vec<LoopStretch>,
    cold: f64,
    runs: Vec<RunId>,
    unstated_runs: u32,
    /// Whether part of the path is not known.
    unknown: bool,
}

impl PathWire {
    /// Resistance at the temperature of the pairs, from that at 20 °C.
    fn hot(&self, cold: Resistance) -> Option<Resistance> {
        let hottest = Temperature::of(self.hottest?.quantity)?;
        Some(wire::at_temperature(cold, hottest))
    }
}

impl<'o, 'g> LoopSurvey<'o, 'g> {
    fn new(merged: MergedOffice<'o>, missing: &'g mut Vec<MissingInput>) -> Self {
        Self {
            office: merged.office,
            networks: merged.networks,
            noted: FxHashSet::default(),
            before: missing.len(),
            missing,
        }
    }

    /// Moves missing inputs of another office to the place where this one uses the route.
    fn finish(self, office: &Office) {
        let route = office.placed.iter().find(|placed| placed.is_route());
        let Some((route, on)) = route.and_then(|route| Some((route, office.thing_of(route)?))) else {
            return;
        };
        for missing in self.missing.iter_mut().skip(self.before) {
            if !office.has(missing.on) {
                missing.on = on;
                missing.range = route.name;
            }
        }
    }

    /// Highest temperature of the pairs of a path that the offices on it state. `None` where one of them states none.
    fn hottest(&self, path: SignalPath) -> Option<GivenQuantity> {
        let of = |office: Option<&Arc<Office>>| {
            let said = stated_temperature(office.map_or(self.office, |office| office), Key::Hottest)?;
            Some((Temperature::of(said.quantity)?, said))
        };
        let ends = [path.signal.thing, path.input.thing];
        let runs = path.steps(&self.networks.wire).map(|(joint, _)| joint.run);
        let offices = ends
            .into_iter()
            .map(|thing| self.office.office_of(thing))
            .chain(runs.map(|run| self.office.office_of_run(run)));
        let mut hottest: Option<(Temperature, GivenQuantity)> = None;
        let mut known: Vec<Option<*const Office>> = Vec::new();
        for office in offices {
            let key = office.map(Arc::as_ptr);
            if known.contains(&key) {
                continue;
            }
            known.push(key);
            let said = of(office)?;
            if hottest.is_none_or(|(most, _)| said.0.celsius() > most.celsius()) {
                hottest = Some(said);
            }
        }
        hottest.map(|(_, said)| said)
    }

    /// Whether a run of a path is in an office with unreadable wires, where there may be others.
    fn is_unsure(&self, path: SignalPath) -> bool {
        let mut runs = path.steps(&self.networks.wire).map(|(joint, _)| joint.run);
        runs.any(|run| {
            let office = self.office.office_of_run(run);
            office.is_some_and(|office| office.unsure.about(Medium::Wire))
        })
    }

    /// Adds up the wire of a path. `device` is the thing that the pairs lead to, seen from the monitor.
    fn wire_along(&mut self, path: SignalPath, device: ThingId) -> Option<PathWire> {
        if self.office.thing(path.signal.thing).damaged || self.office.thing(path.input.thing).damaged {
            return None;
        }
        if self.is_unsure(path) {
            return None;
        }
        let mut path_wire = PathWire {
            hottest: Some(self.hottest(path)?),
            ..PathWire::default()
        };
        let is_from_monitor = device == path.input.thing;
        let mut steps = path.steps(&self.networks.wire).peekable();
        while let Some((joint, terminal)) = steps.next() {
            self.run(joint.run, &mut path_wire);
            if terminal.port.role == Role::Pair {
                // The run that joins the pair on the monitor's side.
                let next = if is_from_monitor { None } else { steps.peek() };
                let run = next.map_or(joint.run, |(joint, _)| joint.run);
                let is_at_far_end = self.office.is_at_far_end(self.office.run(run), terminal.thing);
                self.pair(device, terminal, is_at_far_end, &mut path_wire);
            }
        }
        Some(path_wire).filter(|path_wire| !path_wire.unknown)
    }

    fn follow(&mut self, path: SignalPath) -> Option<Loop> {
        let signal = path.signal;
        let (device, monitor) = (self.office.thing(signal.thing), self.office.thing(path.input.thing));
        let path_wire = self.wire_along(path, signal.thing)?;
        let limits = LoopLimits::of(device, monitor);
        Some(Loop {
            signal,
            input: path.input,
            temperature: path_wire.hottest?,
            resistance: path_wire.stretches.iter().map(|stretch| stretch.resistance).sum(),
            resistance_at_20: Resistance::from_ohms(path_wire.cold),
            stretches: path_wire.stretches,
            unstated_runs: path_wire.unstated_runs,
            limit: limits.lowest(Voltage::from_volts(0.0)),
            others: Vec::new(),
            limits,
        })
    }

    /// Counts a run's own wire, once for each run.
    fn run(&mut self, id: RunId, path_wire: &mut PathWire) {
        if path_wire.runs.contains(&id) {
            return;
        }
        path_wire.runs.push(id);
        let run = self.office.run(id);
        // Unreadable text may have been a size or a length.
        if run.pieces().any(|piece| piece.damaged) {
            path_wire.unknown = true;
            return;
        }
        if run
            .pieces()
            .all(|piece| piece.gauge.is_none() && piece.length.is_none())
        {
            path_wire.unstated_runs += 1;
            return;
        }
        for piece in run.pieces() {
            let (Some(gauge), Some(length)) = (piece.gauge, piece.length) else {
                path_wire.unknown = true;
                self.incomplete(id, piece);
                return;
            };
            match Length::of(length.value) {
                Some(metres) => {
                    let range = gauge.range.cover(length.range);
                    let place = self.office.written(self.office.place(range));
                    Self::stretch(LoopPart::Run(id), (gauge.value, place), (metres, 1), path_wire);
                }
                None => path_wire.unknown = true,
            }
        }
    }

    /// Reports a piece of a run that states only one of size and length, or neither where other pieces state them.
    fn incomplete(&mut self, id: RunId, piece: &Attributes) {
        let run = self.office.run(id);
        let (Some(first), Some(last)) = (run.ends.first(), run.ends.last()) else {
            return;
        };
        let what = match (piece.gauge, piece.length) {
            (Some(_), _) => "length",
            (None, Some(_)) => "wire size",
            (None, None) => "wire size and length",
        };
        let on = first.thing.or(last.thing);
        let number = run.pieces().position(|other| std::ptr::eq(other, piece));
        let of_piece = number.filter(|_| !run.then.is_empty());
        let of_piece = of_piece.map_or_else(String::new, |at| format!("piece {} of ", at + 1));
        self.note(Lacking::Run(id), on, run.range, |office| {
            let name = |thing: Option<ThingId>| thing.map_or("", |thing| office.name(thing));
            let (from, to) = (name(first.thing), name(last.thing));
            format!("the {what} of {of_piece}the run from `{from}` to `{to}`")
        });
    }

    /// Counts a pair of a cable or lead; other pairs have no length.
    fn pair(&mut self, device: ThingId, terminal: &Terminal, is_at_far_end: bool, path_wire: &mut PathWire) {
        let cable = self.office.thing(terminal.thing);
        if cable.is(KindId::Lead) {
            self.lead(terminal, path_wire);
            return;
        }
        if !cable.is(KindId::Cable) {
            return;
        }
        match CableLength::of(self.office, self.networks, device, terminal.thing, is_at_far_end) {
            Some(CableLength::Known(parts)) => {
                for part in parts.into_iter().rev() {
                    let of = LoopPart::Cable {
                        thing: terminal.thing,
                        branch: part.branch.map(Box::from),
                        pair: terminal.number,
                        whole: part.whole,
                    };
                    let side_by_side = self.office.bunched_with(terminal);
                    Self::stretch(
                        of,
                        part.gauge,
                        (Length::from_metres(part.metres), side_by_side),
                        path_wire,
                    );
                }
            }
            Some(CableLength::Lacks { gauge, length }) => {
                path_wire.unknown = true;
                let what = match (gauge, length) {
                    (true, true) => "wire size and length",
                    (true, false) => "wire size",
                    _ => "length",
                };
                self.note(
                    Lacking::Cable(terminal.thing),
                    Some(terminal.thing),
                    cable.name,
                    |office| format!("the {what} of `{}`", office.name(terminal.thing)),
                );
            }
            None => path_wire.unknown = true,
        }
    }

    /// Counts a pair of a lead, by its stated resistance or else by size and length. What an installed lead lacks is
    /// reported with its fields.
    fn lead(&mut self, terminal: &Terminal, path_wire: &mut PathWire) {
        let lead = self.office.thing(terminal.thing);
        let of = LoopPart::Lead {
            thing: terminal.thing,
            pair: terminal.number,
        };
        let side_by_side = self.office.bunched_with(terminal);
        if let Some((quantity, place)) = lead.quantity(Key::Loop) {
            let Some(one) = Resistance::of(quantity) else {
                path_wire.unknown = true;
                return;
            };
            let cold = wire::in_parallel(one, side_by_side);
            let Some(resistance) = path_wire.hot(cold) else {
                path_wire.unknown = true;
                return;
            };
            path_wire.cold += cold.ohms();
            path_wire.stretches.push(LoopStretch {
                of,
                wire: None,
                place,
                side_by_side,
                resistance,
            });
            return;
        }
        let length = lead.quantity(Key::Length).and_then(|(length, _)| Length::of(length));
        match (lead.quantity(Key::Gauge), length) {
            (Some(gauge), Some(length)) if !lead.damaged => Self::stretch(of, gauge, (length, side_by_side), path_wire),
            _ => path_wire.unknown = true,
        }
    }

    fn stretch(
        of: LoopPart,
        (gauge, place): (Quantity, Place),
        (length, side_by_side): (Length, u32),
        path_wire: &mut PathWire,
    ) {
        let Some(area) = ConductorArea::of(gauge) else {
            path_wire.unknown = true;
            return;
        };
        let there_and_back = |temperature| {
            let one = wire::loop_resistance([wire::WireSegment { area, length }], temperature);
            wire::in_parallel(one, side_by_side)
        };
        let hottest = path_wire.hottest.and_then(|hottest| Temperature::of(hottest.quantity));
        let Some(hottest) = hottest else {
            path_wire.unknown = true;
            return;
        };
        path_wire.cold += there_and_back(COLD).ohms();
        path_wire.stretches.push(LoopStretch {
            of,
            wire: Some((gauge, length)),
            place,
            side_by_side,
            resistance: there_and_back(hottest),
        });
    }

    fn note(
        &mut self,
        lacking: Lacking,
        on: Option<ThingId>,
        range: TextRange,
        what: impl FnOnce(&'o Office) -> String,
    ) {
        let Some(on) = on else { return };
        if self.noted.insert(lacking) {
            self.missing.push(MissingInput {
                on,
                range,
                what: what(self.office),
                needed_for: NeededFor::Loop,
            });
        }
    }
}
