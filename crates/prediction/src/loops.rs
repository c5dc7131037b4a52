//! The loop of each signal: the copper from its device to its input and back, and the most that it may have.
//!
//! A pair of a cable is counted from the office end to the device's location on that cable, and as the whole cable
//! where the device is located elsewhere. A route's cable is counted from the end at the office where the pair goes on to the monitor.
//! Where a loop passes several offices, it is counted at the hottest that any of them says. A run's own wire is what it states after `with`, once for the run as a whole and
//! for each pair of a range. A run that states neither size nor length is a jumper within the office and not worth
//! counting: their number is given. Coils, joints and fuses are not in it. Where sensors with addresses share a pair, the
//! currents of the others drop voltage on what their ways have in common.

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
use drysheath_office::{Across, Attributes, Fields, Given, Networks, Office, RunId, Terminal, ThingId};
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

/// The loop of a signal: its path to its input. Either of them may be in another office, and so may parts of the path: things and
/// runs are those of [`Networks::across`].
#[derive(Clone, Debug)]
pub struct Loop {
    /// The signal that the loop carries.
    pub signal: Terminal,
    /// The input that reads it.
    pub input: Terminal,
    /// The temperature of `resistance`.
    pub temperature: Given,
    /// The copper, from the device to the input.
    pub stretches: Vec<LoopStretch>,
    /// Number of runs on the path that state neither size nor length, and count as nothing.
    pub unstated_runs: u32,
    /// There and back, at the hottest that the pairs get.
    pub resistance: Resistance,
    /// There and back, at 20 °C.
    pub resistance_at_20: Resistance,
    /// The other devices on its pair, where sensors with addresses share one.
    pub others: Vec<OtherDevice>,
    /// What device and monitor say of the loop.
    pub limits: LoopLimits,
    /// The most that the loop may have, if a limit is declared, or why no loop would do.
    pub limit: Result<Option<LoopLimit>, LoopError>,
}

/// A part of a loop, the same wire throughout.
#[derive(Clone, Debug)]
pub struct LoopStretch {
    /// What it is part of.
    pub of: LoopPart,
    /// The size of its conductors, and its length, one way; none of a lead whose resistance is stated.
    pub wire: Option<(Quantity, Length)>,
    /// The place of the size; for a run, of size and length; or of the resistance.
    pub place: Place,
    /// How many pairs carry the signal side by side, each with these conductors: 1 but for bunched ones.
    pub side_by_side: u32,
    /// There and back, at the loop's temperature, of all that are side by side.
    pub resistance: Resistance,
}

/// What a part of a loop is part of.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum LoopPart {
    /// The run of that number.
    Run(RunId),
    /// A pair of a lead.
    Lead {
        /// The lead that the pair is in.
        thing: ThingId,
        /// The number of the pair.
        pair: u32,
    },
    /// A pair of a cable.
    Cable {
        /// The cable that the pair is in.
        thing: ThingId,
        /// The branch, where it is on one.
        branch: Option<Box<str>>,
        /// The number of the pair in the cable.
        pair: u32,
        /// Whether the device is not located on this cable, so that all of its length counts, without its branches.
        whole: bool,
    },
}

/// The temperature of [`Loop::resistance_at_20`].
const COLD: Temperature = Temperature::from_celsius(20.0);

/// The loop of each signal that is joined with exactly one input by a path that does not fork, in the order of the file, as
/// far as the file says enough; those too that begin or end in another office. What it lacks for the others is appended to `missing`; signals that are joined otherwise lack
/// nothing, and neither does what damaged text may say.
pub fn loops(office: &Office, networks: &Networks, missing: &mut Vec<MissingInput>) -> Vec<Loop> {
    if office.unsure.about(Medium::Wire) {
        return Vec::new();
    }
    let mut paths = signal_paths(office, networks).peekable();
    if paths.peek().is_none() {
        return Vec::new();
    }
    let mut survey = Survey::new(networks.across(office), missing);
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

/// What lacks something, so that it is noted once.
#[derive(PartialEq, Eq, Hash)]
enum Lacking {
    Run(RunId),
    Cable(ThingId),
}

/// Adds up what runs and cables say, and notes what they do not.
struct Survey<'o, 'g> {
    office: &'o Office,
    networks: &'o Networks,
    noted: FxHashSet<Lacking>,
    missing: &'g mut Vec<MissingInput>,
    /// How many were missing before.
    before: usize,
}

/// What was found along a path.
#[derive(Default)]
struct Met {
    /// The temperature of the pairs.
    hottest: Option<Given>,
    stretches: Vec<LoopStretch>,
    cold: f64,
    runs: Vec<RunId>,
    unstated_runs: u32,
    /// Whether something on the path is not known.
    unknown: bool,
}

impl Met {
    /// The resistance at the temperature of the pairs of what has `cold` at 20 °C.
    fn hot(&self, cold: Resistance) -> Option<Resistance> {
        let hottest = Temperature::of(self.hottest?.quantity)?;
        Some(wire::at_temperature(cold, hottest))
    }
}

impl<'o, 'g> Survey<'o, 'g> {
    fn new(across: Across<'o>, missing: &'g mut Vec<MissingInput>) -> Self {
        Self {
            office: across.office,
            networks: across.networks,
            noted: FxHashSet::default(),
            before: missing.len(),
            missing,
        }
    }

    /// What is missing in another office is said where this one uses the route.
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

    /// The hottest that the pairs of a path get, as the offices at its ends and on its way say. None where one of them does not.
    fn hottest(&self, path: SignalPath) -> Option<Given> {
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
        let mut hottest: Option<(Temperature, Given)> = None;
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

    /// Whether something of a path is in an office whose wires could not all be read, so that there may be others.
    fn is_unsure(&self, path: SignalPath) -> bool {
        let mut runs = path.steps(&self.networks.wire).map(|(joint, _)| joint.run);
        runs.any(|run| {
            let office = self.office.office_of_run(run);
            office.is_some_and(|office| office.unsure.about(Medium::Wire))
        })
    }

    /// Adds up the way of a path. `device` is the thing that the pairs lead to from the monitor.
    fn along(&mut self, path: SignalPath, device: ThingId) -> Option<Met> {
        if self.office.thing(path.signal.thing).damaged || self.office.thing(path.input.thing).damaged {
            return None;
        }
        if self.is_unsure(path) {
            return None;
        }
        let mut met = Met {
            hottest: Some(self.hottest(path)?),
            ..Met::default()
        };
        let is_from_monitor = device == path.input.thing;
        let mut steps = path.steps(&self.networks.wire).peekable();
        while let Some((joint, terminal)) = steps.next() {
            self.run(joint.run, &mut met);
            if terminal.port.role == Role::Pair {
                // The run that joins the pair on the side of the monitor.
                let next = if is_from_monitor { None } else { steps.peek() };
                let run = next.map_or(joint.run, |(joint, _)| joint.run);
                let is_at_far_end = self.office.is_at_far_end(self.office.run(run), terminal.thing);
                self.pair(device, terminal, is_at_far_end, &mut met);
            }
        }
        Some(met).filter(|met| !met.unknown)
    }

    fn follow(&mut self, path: SignalPath) -> Option<Loop> {
        let signal = path.signal;
        let (device, monitor) = (self.office.thing(signal.thing), self.office.thing(path.input.thing));
        let met = self.along(path, signal.thing)?;
        let limits = LoopLimits::of(device, monitor);
        Some(Loop {
            signal,
            input: path.input,
            temperature: met.hottest?,
            resistance: met.stretches.iter().map(|stretch| stretch.resistance).sum(),
            resistance_at_20: Resistance::from_ohms(met.cold),
            stretches: met.stretches,
            unstated_runs: met.unstated_runs,
            limit: limits.lowest(Voltage::from_volts(0.0)),
            others: Vec::new(),
            limits,
        })
    }

    /// Counts a run's own wire, once.
    fn run(&mut self, id: RunId, met: &mut Met) {
        if met.runs.contains(&id) {
            return;
        }
        met.runs.push(id);
        let run = self.office.run(id);
        // What could not be read may have been a size or a length.
        if run.pieces().any(|piece| piece.damaged) {
            met.unknown = true;
            return;
        }
        if run
            .pieces()
            .all(|piece| piece.gauge.is_none() && piece.length.is_none())
        {
            met.unstated_runs += 1;
            return;
        }
        for piece in run.pieces() {
            let (Some(gauge), Some(length)) = (piece.gauge, piece.length) else {
                met.unknown = true;
                self.incomplete(id, piece);
                return;
            };
            match Length::of(length.value) {
                Some(metres) => {
                    let range = gauge.range.cover(length.range);
                    let place = self.office.written(self.office.place(range));
                    Self::stretch(LoopPart::Run(id), (gauge.value, place), (metres, 1), met);
                }
                None => met.unknown = true,
            }
        }
    }

    /// Notes that a piece of a run says only one of size and length, or neither where others say them.
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

    /// Counts a pair, which has a length if it is in a cable.
    fn pair(&mut self, device: ThingId, terminal: &Terminal, is_at_far_end: bool, met: &mut Met) {
        let cable = self.office.thing(terminal.thing);
        if cable.is(KindId::Lead) {
            self.lead(terminal, met);
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
                    Self::stretch(of, part.gauge, (Length::from_metres(part.metres), side_by_side), met);
                }
            }
            Some(CableLength::Lacks { gauge, length }) => {
                met.unknown = true;
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
            None => met.unknown = true,
        }
    }

    /// Counts a pair of a lead: by the resistance that it states, or else by its size and length. What an installed one lacks is
    /// reported with its fields.
    fn lead(&mut self, terminal: &Terminal, met: &mut Met) {
        let lead = self.office.thing(terminal.thing);
        let of = LoopPart::Lead {
            thing: terminal.thing,
            pair: terminal.number,
        };
        let side_by_side = self.office.bunched_with(terminal);
        if let Some((quantity, place)) = lead.quantity(Key::Loop) {
            let Some(one) = Resistance::of(quantity) else {
                met.unknown = true;
                return;
            };
            let cold = wire::side_by_side(one, side_by_side);
            let Some(resistance) = met.hot(cold) else {
                met.unknown = true;
                return;
            };
            met.cold += cold.ohms();
            met.stretches.push(LoopStretch {
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
            (Some(gauge), Some(length)) if !lead.damaged => Self::stretch(of, gauge, (length, side_by_side), met),
            _ => met.unknown = true,
        }
    }

    fn stretch(of: LoopPart, (gauge, place): (Quantity, Place), (length, side_by_side): (Length, u32), met: &mut Met) {
        let Some(area) = ConductorArea::of(gauge) else {
            met.unknown = true;
            return;
        };
        let there_and_back = |temperature| {
            let one = wire::loop_resistance([wire::Stretch { area, length }], temperature);
            wire::side_by_side(one, side_by_side)
        };
        let hottest = met.hottest.and_then(|hottest| Temperature::of(hottest.quantity));
        let Some(hottest) = hottest else {
            met.unknown = true;
            return;
        };
        met.cold += there_and_back(COLD).ohms();
        met.stretches.push(LoopStretch {
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
