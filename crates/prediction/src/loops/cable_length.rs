//! The stretches of a cable that a loop passes through.

use drysheath_engineering::units::Quantity;
use drysheath_office::kinds::{Key, SURROUNDINGS};
use drysheath_office::line::{position_at, position_of, sections, surroundings};
use drysheath_office::{Fields, Networks, Office, Thing, ThingId};
use drysheath_text::Place;

/// Limit of stretches in one cable; beyond it nothing is computed.
const MOST_PARTS: usize = 100;

/// A stretch of cable with the same wire throughout.
pub(super) struct CablePart<'o> {
    pub branch: Option<&'o str>,
    pub gauge: (Quantity, Place),
    pub metres: f64,
    /// Whether the device is located elsewhere, so that the whole cable counts.
    pub whole: bool,
}

/// The stretches of a cable that a loop passes through.
pub(super) enum CableLength<'o> {
    /// The stretches, from the office outwards.
    Known(Vec<CablePart<'o>>),
    /// The cable does not state gauge or length.
    Lacks { gauge: bool, length: bool },
}

impl<'o> CableLength<'o> {
    /// The stretches between the office end of `cable` and a device, or the whole cable if the device is located
    /// elsewhere. `is_at_far_end` is true for a route's cable whose end, not beginning, is on the monitor's side.
    /// `None` where other errors in the file leave the length open.
    pub fn of(
        office: &'o Office,
        networks: &Networks,
        device: ThingId,
        cable: ThingId,
        is_at_far_end: bool,
    ) -> Option<Self> {
        let thing = Some(office.thing(cable)).filter(|thing| !thing.damaged)?;
        let position = match office.host(device) {
            Some(at) if at.thing? == cable => Some(position_at(office, at)?),
            Some(_) => None,
            None => position_of(office, networks, device).filter(|position| position.host == cable),
        };
        let mut walk = Walk {
            cable: thing,
            gauge: thing.quantity(Key::Gauge),
            whole: position.is_none(),
            parts: Vec::new(),
            lacks: (false, false),
        };
        match position {
            None => walk.follow(None, None)?,
            Some(position) => match position.branch {
                None => walk.trunk(position.metres, is_at_far_end)?,
                Some(branch) => {
                    let (_, _, fields) = thing.named(Key::Branch).find(|(name, ..)| *name == branch)?;
                    let (from, _) = fields.quantity(Key::From)?;
                    walk.trunk(from.si(), is_at_far_end)?;
                    walk.follow(Some(branch), Some(position.metres))?;
                }
            },
        }
        Some(match walk.lacks {
            (false, false) => Self::Known(walk.parts),
            (gauge, length) => Self::Lacks { gauge, length },
        })
    }
}

/// Adds up the wire along a cable.
struct Walk<'o> {
    cable: &'o Thing,
    gauge: Option<(Quantity, Place)>,
    whole: bool,
    parts: Vec<CablePart<'o>>,
    /// Whether a gauge and whether a length is missing.
    lacks: (bool, bool),
}

impl<'o> Walk<'o> {
    /// Follows the cable or a branch to a distance, or to the end. `None` where the distance lies beyond the end or the
    /// record contradicts itself.
    fn follow(&mut self, branch: Option<&'o str>, to: Option<f64>) -> Option<()> {
        // Tolerance, m: equal distances may differ a little after conversion of units.
        const ROUNDING: f64 = 1e-3;
        let mut left = to.unwrap_or(f64::INFINITY);
        if left < 0.0 {
            return None;
        }
        let mut is_empty = true;
        for (_, section) in sections(self.cable, branch)? {
            is_empty = false;
            if left <= ROUNDING {
                break;
            }
            let Some((_, metres)) = surroundings(section) else {
                if SURROUNDINGS.iter().any(|key| section.has(*key)) {
                    return None;
                }
                self.lacks.1 = true;
                return Some(());
            };
            if metres < 0.0 {
                return None;
            }
            match section.quantity(Key::Gauge).or(self.gauge) {
                Some(gauge) => self.part(branch, gauge, metres.min(left)),
                None => self.lacks.0 = true,
            }
            if self.parts.len() > MOST_PARTS {
                return None;
            }
            left -= metres;
        }
        if is_empty && left > ROUNDING {
            self.lacks.1 = true;
        } else if left.is_finite() && left > ROUNDING {
            return None;
        }
        Some(())
    }

    /// Follows the trunk from its beginning to a distance, or from there to its far end.
    fn trunk(&mut self, metres: f64, is_at_far_end: bool) -> Option<()> {
        if !is_at_far_end {
            return self.follow(None, Some(metres));
        }
        // Subtract the part before the distance.
        self.follow(None, Some(metres))?;
        let before = std::mem::take(&mut self.parts);
        self.follow(None, None)?;
        let mut left: f64 = before.iter().map(|part| part.metres).sum();
        for part in &mut self.parts {
            let less = part.metres.min(left);
            part.metres -= less;
            left -= less;
        }
        self.parts.retain(|part| part.metres > 0.0);
        self.parts.reverse();
        Some(())
    }

    fn part(&mut self, branch: Option<&'o str>, gauge: (Quantity, Place), metres: f64) {
        match self.parts.last_mut() {
            Some(last) if last.branch == branch && last.gauge.1 == gauge.1 => last.metres += metres,
            _ => self.parts.push(CablePart {
                branch,
                gauge,
                metres,
                whole: self.whole,
            }),
        }
    }
}
