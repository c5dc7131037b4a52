//! How a pair is identified: by colours, binder, and pins of its connector.

use std::fmt::Write as _;

use drysheath_engineering::colour::{Colour, PairColours, connector_pins};
use drysheath_office::kinds::{Key, KindId};
use drysheath_office::{Fields, Office, ThingId, in_row};

/// Pairs in a binder, and on a connector.
const GROUP: u32 = 25;
/// Pairs in a super-unit.
const SUPER_UNIT: u32 = 600;

/// Identification of a pair of a block or cable.
pub(crate) struct PairIdentity {
    pub colours: PairColours,
    /// Whether the cable has several binders, so that the binder identifies the pair too.
    pub is_bound: bool,
    /// Whether the cable has several super-units.
    pub is_in_super_unit: bool,
    /// Pins, for a block with connectors.
    pub pins: Option<Pins>,
}

/// Position of a pair on a block's connectors of 25 pairs.
pub(crate) struct Pins {
    /// The connector, if the block has several.
    pub connector: Option<u32>,
    pub tip: u32,
    pub ring: u32,
}

impl PairIdentity {
    /// Identifies a pair. `None` if the thing has no such pair.
    pub fn of(office: &Office, thing: ThingId, pair: u32) -> Option<Self> {
        let colours = office.pair_colours(thing, pair)?;
        let thing = office.thing(thing);
        let pairs = thing.count(Key::Pairs);
        let pair = in_row(pair);
        let has_pins = thing.is(KindId::Block) && thing.yes_no(Key::Pins) == Some(true);
        let pins = has_pins.then(|| {
            let (tip, ring) = connector_pins((pair - 1) % GROUP + 1)?;
            let several = pairs.is_some_and(|pairs| pairs > GROUP);
            Some(Pins {
                connector: several.then_some((pair - 1) / GROUP + 1),
                tip,
                ring,
            })
        });
        let is_more_than = |most| thing.is(KindId::Cable) && pairs.unwrap_or(pair) > most;
        Some(Self {
            colours,
            is_bound: is_more_than(GROUP),
            is_in_super_unit: is_more_than(SUPER_UNIT),
            pins: pins.flatten(),
        })
    }

    /// Tip and ring in the notation of the language: `white-green`.
    pub fn written(&self) -> String {
        format!("{}-{}", self.colours.tip.name(), self.colours.ring.name())
    }

    /// Abbreviated: `WH-GN`, `BK-OR in WH-OR`, `WH-GN 28/3`.
    pub fn short(&self, with_colours: bool) -> String {
        let mut parts = Vec::new();
        if with_colours {
            parts.push(letters(self.colours.tip, self.colours.ring));
        }
        if self.is_bound {
            let binder = self.colours.binder;
            parts.push(format!("in {}", letters(binder.tip, binder.ring)));
        }
        if let Some(pins) = &self.pins {
            let connector = pins.connector.map(|connector| format!("{connector}:"));
            parts.push(format!("{}{}/{}", connector.unwrap_or_default(), pins.tip, pins.ring));
        }
        parts.join(" ")
    }

    /// As sentences, one for each means of identification.
    pub fn sentences(&self) -> Vec<String> {
        let colours = self.colours;
        let mut sentences = vec![format!(
            "tip {}, ring {} ({})",
            colours.tip.name(),
            colours.ring.name(),
            letters(colours.tip, colours.ring)
        )];
        if self.is_bound {
            let binder = colours.binder;
            let mut bound = format!(
                "binder {} is {}-{}",
                binder.group,
                binder.tip.name(),
                binder.ring.name()
            );
            if self.is_in_super_unit {
                let _ = write!(bound, ", in the {} super-unit", binder.super_unit.name());
            }
            sentences.push(bound);
        }
        if let Some(pins) = &self.pins {
            let connector = pins.connector.map(|connector| format!(" of connector {connector}"));
            sentences.push(format!(
                "tip on pin {}, ring on pin {}{}",
                pins.tip,
                pins.ring,
                connector.unwrap_or_default()
            ));
        }
        sentences
    }
}

fn letters(tip: Colour, ring: Colour) -> String {
    format!("{}-{}", tip.abbreviation(), ring.abbreviation())
}
