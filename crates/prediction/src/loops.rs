//! The loop of each signal: the copper from its device to its input and back, and the most that it may have.
//!
//! A pair of a cable is counted from the office end to the device's location on that cable, and as the whole cable
//! where the device is located elsewhere. A run's own wire is what it states after `with`, once for the run as a whole and
//! for each pair of a range. A run that states neither size nor length is a jumper within the office and not worth
//! counting: their number is given. Coils, joints and fuses are not in it. Where sensors with addresses share a pair, the
//! currents of the others drop voltage on what their ways have in common.

mod cable_length;
mod controls;
mod limits;
mod shared;
mod signal_path;

use drysheath_engineering::loops::LoopError;
use drysheath_engineering::measure::{ConductorArea, Length, Resistance, Temperature, Voltage};
use drysheath_engineering::units::Quantity;
use drysheath_engineering::wire;
use drysheath_office::kinds::{Key, KindId, Role};
use drysheath_office::{Attributes, Fields, Given, Networks, Office, RunId, Terminal, ThingId};
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

/// The loop of a signal: its path to its input.
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
/// far as the file says enough. What it lacks for the others is appended to `missing`; signals that are joined otherwise lack
/// nothing, and neither does what damaged text may say.
pub fn loops(office: &Office, networks: &Networks, missing: &mut Vec<MissingInput>) -> Vec<Loop> {
    if office.unsure.about(Medium::Wire) {
        return Vec::new();
    }
    let mut paths = signal_paths(office, &networks.wire).peekable();
    if paths.peek().is_none() {
        return Vec::new();
    }
    let Some(mut survey) = Survey::new(office, networks, missing) else {
        return Vec::new();
    };
    let mut shared = Vec::new();
    let followed = paths.filter_map(|path| {
        if path.is_shared {
            shared.push(path);
        }
        survey.follow(path)
    });
    let mut loops: Vec<Loop> = followed.collect();
    if !shared.is_empty() {
        shared::add_others(office, &shared, &mut loops, missing);
    }
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
    temperature: Given,
    hottest: Temperature,
    noted: FxHashSet<Lacking>,
    missing: &'g mut Vec<MissingInput>,
}

/// What was found along a path.
#[derive(Default)]
struct Met {
    stretches: Vec<LoopStretch>,
    cold: f64,
    runs: Vec<RunId>,
    unstated_runs: u32,
    /// Whether something on the path is not known.
    unknown: bool,
}

impl<'o, 'g> Survey<'o, 'g> {
    /// None where the temperature of the pairs is not known.
    fn new(office: &'o Office, networks: &'o Networks, missing: &'g mut Vec<MissingInput>) -> Option<Self> {
        let temperature = stated_temperature(office, Key::Hottest)?;
        Some(Self {
            office,
            networks,
            temperature,
            hottest: Temperature::of(temperature.quantity)?,
            noted: FxHashSet::default(),
            missing,
        })
    }

    /// Adds up the way of a path. `device` is the thing that the pairs lead to from the monitor.
    fn along(&mut self, path: SignalPath, device: ThingId) -> Option<Met> {
        if self.office.thing(path.signal.thing).damaged || self.office.thing(path.input.thing).damaged {
            return None;
        }
        let wire = &self.networks.wire;
        let mut met = Met::default();
        for (joint, terminal) in path.steps(wire) {
            self.run(joint.run, &mut met);
            if terminal.port.role == Role::Pair {
                self.pair(device, terminal, &mut met);
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
            temperature: self.temperature,
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
                    let place = self.office.place(gauge.range.cover(length.range));
                    self.stretch(LoopPart::Run(id), (gauge.value, place), (metres, 1), met);
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
    fn pair(&mut self, device: ThingId, terminal: &Terminal, met: &mut Met) {
        let cable = self.office.thing(terminal.thing);
        if cable.is(KindId::Lead) {
            self.lead(terminal, met);
            return;
        }
        if !cable.is(KindId::Cable) {
            return;
        }
        match CableLength::of(self.office, self.networks, device, terminal.thing) {
            Some(CableLength::Known(parts)) => {
                for part in parts.into_iter().rev() {
                    let of = LoopPart::Cable {
                        thing: terminal.thing,
                        branch: part.branch.map(Box::from),
                        pair: terminal.number,
                        whole: part.whole,
                    };
                    let side_by_side = self.office.bunched_with(terminal);
                    self.stretch(of, part.gauge, (Length::from_metres(part.metres), side_by_side), met);
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
            met.cold += cold.ohms();
            met.stretches.push(LoopStretch {
                of,
                wire: None,
                place,
                side_by_side,
                resistance: wire::at_temperature(cold, self.hottest),
            });
            return;
        }
        let length = lead.quantity(Key::Length).and_then(|(length, _)| Length::of(length));
        match (lead.quantity(Key::Gauge), length) {
            (Some(gauge), Some(length)) if !lead.damaged => self.stretch(of, gauge, (length, side_by_side), met),
            _ => met.unknown = true,
        }
    }

    fn stretch(
        &mut self,
        of: LoopPart,
        (gauge, place): (Quantity, Place),
        (length, side_by_side): (Length, u32),
        met: &mut Met,
    ) {
        let Some(area) = ConductorArea::of(gauge) else {
            met.unknown = true;
            return;
        };
        let there_and_back = |temperature| {
            let one = wire::loop_resistance([wire::Stretch { area, length }], temperature);
            wire::side_by_side(one, side_by_side)
        };
        met.cold += there_and_back(COLD).ohms();
        met.stretches.push(LoopStretch {
            of,
            wire: Some((gauge, length)),
            place,
            side_by_side,
            resistance: there_and_back(self.hottest),
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
