//! Colours of pairs in cables and leads.

use drysheath_engineering::colour::{self, Colour, PairColours};

use crate::kinds::{Key, Role};
use crate::model::{Office, ThingId};
use crate::numbers::in_row;
use crate::value::{Fields, Value};

/// The colour code repeats after this many pairs.
const GROUP: u32 = 25;

impl Office {
    /// Colours of a pair and of its binder. `None` for a number that the thing does not have, and for paper-insulated
    /// pairs. In rows with letters the code starts again in each row.
    pub fn pair_colours(&self, thing: ThingId, pair: u32) -> Option<PairColours> {
        let code = colour::pair_colours(in_row(pair)).filter(|_| self.has_coloured_pair(thing, pair))?;
        let (tip, ring) = self.tip_and_ring(thing, pair)?;
        Some(PairColours { tip, ring, ..code })
    }

    /// Tip and ring colours of a pair; known also in cables with more binders than the code covers.
    pub fn tip_and_ring(&self, thing: ThingId, pair: u32) -> Option<(Colour, Colour)> {
        if self.thing(thing).has(Key::Pair) {
            return self.own_colours(thing, pair);
        }
        let before = in_row(pair).checked_sub(1)?;
        let colours = colour::pair_colours(before % GROUP + 1).filter(|_| self.has_coloured_pair(thing, pair))?;
        Some((colours.tip, colours.ring))
    }

    /// The colours that a lead states for a pair.
    fn own_colours(&self, thing: ThingId, pair: u32) -> Option<(Colour, Colour)> {
        let mut said = self.thing(thing).all(Key::Pair);
        said.find_map(|field| match field.value {
            Value::PairColours(own, colours) if own == pair => Some(colours),
            _ => None,
        })
    }

    /// Whether the thing has coloured pairs, and may have a pair of that number.
    fn has_coloured_pair(&self, thing: ThingId, pair: u32) -> bool {
        if !self.thing(thing).has_colour_code() {
            return false;
        }
        let mut ports = self.thing(thing).kind.into_iter().flat_map(|kind| kind.ports);
        let port = ports.find(|port| port.role == Role::Pair);
        port.is_some_and(|port| self.rows(thing, port).is_none_or(|rows| rows.has(pair)))
    }
}
