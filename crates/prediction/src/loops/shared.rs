//! Sensors with addresses on one pair: the current of each flows through everything between it and the input, and drops
//! voltage there for the others.

use drysheath_engineering::measure::{Current, Resistance, Voltage};
use drysheath_office::kinds::Key;
use drysheath_office::{Fields, GivenQuantity, Office, Terminal, ThingId};

use super::{Loop, LoopPart, LoopStretch, SignalPath};
use crate::{MissingInput, NeededFor};

/// Another device on the pair of a loop.
#[derive(Clone, Copy, Debug)]
pub struct OtherDevice {
    /// Device that shares the pair.
    pub thing: ThingId,
    /// Current drawn by the device.
    pub current: GivenQuantity,
    /// Resistance there and back of the part of its path to the input that it shares with the loop.
    pub resistance: Resistance,
}

impl Loop {
    /// Voltage that the other devices on the pair drop on the shared part.
    pub fn dropped_by_others(&self) -> Voltage {
        let drop = |other: &OtherDevice| {
            Current::of(other.current.quantity).map_or(0.0, Current::amperes) * other.resistance.ohms()
        };
        Voltage::from_volts(self.others.iter().map(drop).sum())
    }
}

/// Adds to each loop on a shared pair the other devices on it. Where the current or path of one of them is not known,
/// the remaining voltage is not known for any.
pub(super) fn add_others(office: &Office, paths: &[SignalPath], loops: &mut [Loop], missing: &mut Vec<MissingInput>) {
    let is_on_shared = |one: &&Loop| paths.iter().any(|path| path.signal == one.signal);
    let known: Vec<(Terminal, Vec<LoopStretch>)> = loops
        .iter()
        .filter(is_on_shared)
        .map(|one| (one.signal, one.stretches.clone()))
        .collect();
    let mut noted = Vec::new();
    for one in loops {
        if !paths.iter().any(|path| path.signal == one.signal) || one.limits.supply.is_none() {
            continue;
        }
        let mut others: Vec<ThingId> = Vec::new();
        for path in paths.iter().filter(|path| path.input == one.input) {
            let thing = path.signal.thing;
            if thing == one.signal.thing || others.contains(&thing) {
                continue;
            }
            others.push(thing);
            let way = known.iter().find(|(signal, _)| *signal == path.signal);
            let drawn = office.thing(thing).quantity(Key::CurrentMax);
            if drawn.is_none() && !office.thing(thing).damaged && !noted.contains(&thing) {
                noted.push(thing);
                missing.push(MissingInput {
                    on: thing,
                    range: office.thing(thing).name,
                    what: format!("the `current-max` of `{}`", office.name(thing)),
                    needed_for: NeededFor::Loop,
                });
            }
            match (way, drawn) {
                (Some((_, stretches)), Some((quantity, place))) => one.others.push(OtherDevice {
                    thing,
                    current: GivenQuantity {
                        quantity,
                        place: Some(place),
                    },
                    resistance: common(&one.stretches, stretches),
                }),
                _ => one.limits.supply = None,
            }
        }
        if one.limits.supply.is_none() {
            one.others.clear();
        }
        one.limit = one.limits.lowest(one.dropped_by_others());
    }
}

/// Resistance shared by two paths to one input. Pairs in a cable begin at the office, so of two stretches of one pair
/// the shorter is part of the longer.
fn common(own: &[LoopStretch], others: &[LoopStretch]) -> Resistance {
    let shared = own.iter().filter_map(|own| {
        let is_same = |other: &&LoopStretch| is_same(&other.of, &own.of) && other.place == own.place;
        let other = others.iter().find(is_same)?;
        Some(own.resistance.ohms().min(other.resistance.ohms()))
    });
    Resistance::from_ohms(shared.sum())
}

/// Whether both are stretches of the same run or of the same pair, whatever their length.
fn is_same(one: &LoopPart, other: &LoopPart) -> bool {
    match (one, other) {
        (
            LoopPart::Cable {
                thing, branch, pair, ..
            },
            LoopPart::Cable {
                thing: other_thing,
                branch: other_branch,
                pair: other_pair,
                ..
            },
        ) => (thing, branch, pair) == (other_thing, other_branch, other_pair),
        _ => one == other,
    }
}
