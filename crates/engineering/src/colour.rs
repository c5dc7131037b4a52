//! Colours of telephone pairs and their binders, and pins on connectors.

/// Pairs in a group with a common binder.
const GROUP: u32 = 25;
/// Groups in a super-unit: one for each combination of colours but the last.
const GROUPS: u32 = 24;
/// Pairs of a connector; it has two rows of pins.
const ROW: u32 = 25;

/// A colour of insulation or binder.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Colour {
    /// White, a tip colour.
    White,
    /// Red, a tip colour.
    Red,
    /// Black, a tip colour.
    Black,
    /// Yellow, a tip colour.
    Yellow,
    /// Violet, a tip colour.
    Violet,
    /// Blue, a ring colour.
    Blue,
    /// Orange, a ring colour.
    Orange,
    /// Green, a ring colour.
    Green,
    /// Brown, a ring colour.
    Brown,
    /// Slate, a ring colour.
    Slate,
}

impl Colour {
    /// Colours of the tip conductor in the order of the pairs, 7 CFR 1755.870; super-units are bound in the same order.
    pub const TIP: [Colour; 5] = [
        Colour::White,
        Colour::Red,
        Colour::Black,
        Colour::Yellow,
        Colour::Violet,
    ];
    /// Colours of the ring conductor in the order of the pairs, 7 CFR 1755.870.
    pub const RING: [Colour; 5] = [
        Colour::Blue,
        Colour::Orange,
        Colour::Green,
        Colour::Brown,
        Colour::Slate,
    ];

    /// The English word for the colour, such as "white".
    pub fn name(self) -> &'static str {
        match self {
            Colour::White => "white",
            Colour::Red => "red",
            Colour::Black => "black",
            Colour::Yellow => "yellow",
            Colour::Violet => "violet",
            Colour::Blue => "blue",
            Colour::Orange => "orange",
            Colour::Green => "green",
            Colour::Brown => "brown",
            Colour::Slate => "slate",
        }
    }

    /// Two-letter trade abbreviation: "WH".
    pub fn abbreviation(self) -> &'static str {
        match self {
            Colour::White => "WH",
            Colour::Red => "RD",
            Colour::Black => "BK",
            Colour::Yellow => "YL",
            Colour::Violet => "VI",
            Colour::Blue => "BL",
            Colour::Orange => "OR",
            Colour::Green => "GN",
            Colour::Brown => "BR",
            Colour::Slate => "SL",
        }
    }

    /// Whether it marks a tip conductor; the others mark a ring conductor.
    pub fn is_tip(self) -> bool {
        Colour::TIP.contains(&self)
    }

    fn parse(text: &str) -> Option<Colour> {
        Colour::TIP
            .into_iter()
            .chain(Colour::RING)
            .find(|colour| text.eq_ignore_ascii_case(colour.name()) || text.eq_ignore_ascii_case(colour.abbreviation()))
    }
}

/// The binder around a group of 25 pairs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Binder {
    /// Number of the group in the whole cable, from 1.
    pub group: u32,
    /// First colour of the group's binder.
    pub tip: Colour,
    /// Second colour of the group's binder.
    pub ring: Colour,
    /// Colour of the binder around the group's super-unit of 600 pairs; not used in cables of 600 pairs or fewer.
    pub super_unit: Colour,
}

/// The colours that identify a pair in a cable.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PairColours {
    /// Main colour of the tip conductor.
    pub tip: Colour,
    /// Main colour of the ring conductor.
    pub ring: Colour,
    /// The binder of the pair's group; not used in cables of 25 pairs or fewer.
    pub binder: Binder,
}

/// The colours of a pair, by its number in the cable from 1: tip and ring by 7 CFR 1755.870; binders by 7 CFR 1755.890,
/// 24 groups of 25 to a super-unit of 600, five super-units. `None` for 0 and above 3000.
pub fn pair_colours(pair: u32) -> Option<PairColours> {
    let index = pair.checked_sub(1)?;
    let group = index / GROUP;
    let (tip, ring) = twist(index % GROUP)?;
    let (binder_tip, binder_ring) = twist(group % GROUPS)?;
    let super_unit = *Colour::TIP.get((group / GROUPS) as usize)?;
    let binder = Binder {
        group: group + 1,
        tip: binder_tip,
        ring: binder_ring,
        super_unit,
    };
    Some(PairColours { tip, ring, binder })
}

/// The colours at an index, from 0, in the sequence of 25.
fn twist(index: u32) -> Option<(Colour, Colour)> {
    let tip = Colour::TIP.get((index / 5) as usize)?;
    let ring = Colour::RING.get((index % 5) as usize)?;
    Some((*tip, *ring))
}

/// Parses two colours joined by a hyphen, as words or as two letters, in any case: `white-blue`, `WH-BL`. Ring first is
/// accepted as well, since the ring conductor has that name. The result is always (tip, ring). `None` unless one is a
/// tip colour and the other a ring colour.
pub fn parse_colours(text: &str) -> Option<(Colour, Colour)> {
    let (first, second) = text.split_once('-')?;
    let (first, second) = (Colour::parse(first)?, Colour::parse(second)?);
    match (first.is_tip(), second.is_tip()) {
        (true, false) => Some((first, second)),
        (false, true) => Some((second, first)),
        _ => None,
    }
}

/// Parses any two colours joined by a hyphen, in the order written: a maker's own colours need not be a tip and a ring
/// colour. `None` if they are not two different colours.
pub fn two_colours(text: &str) -> Option<(Colour, Colour)> {
    let (first, second) = text.split_once('-')?;
    let both = (Colour::parse(first)?, Colour::parse(second)?);
    (both.0 != both.1).then_some(both)
}

/// The pins (tip, ring) of a pair on a 50-position connector: tip n + 25, ring n. TIA-1096-A (RJ21X), from a secondary
/// source. `None` unless the pair is 1 to 25.
pub fn connector_pins(pair: u32) -> Option<(u32, u32)> {
    (1..=ROW).contains(&pair).then_some((pair + ROW, pair))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use std::collections::HashSet;

    use super::*;

    /// Worked example PAIR-1, 7 CFR 1755.870.
    const PAIRS: [&str; 25] = [
        "WH-BL", "WH-OR", "WH-GN", "WH-BR", "WH-SL", "RD-BL", "RD-OR", "RD-GN", "RD-BR", "RD-SL", "BK-BL", "BK-OR",
        "BK-GN", "BK-BR", "BK-SL", "YL-BL", "YL-OR", "YL-GN", "YL-BR", "YL-SL", "VI-BL", "VI-OR", "VI-GN", "VI-BR",
        "VI-SL",
    ];

    fn short(tip: Colour, ring: Colour) -> String {
        format!("{}-{}", tip.abbreviation(), ring.abbreviation())
    }

    #[test]
    fn the_first_group() {
        for (pair, expected) in (1..).zip(PAIRS) {
            let found = pair_colours(pair).unwrap();
            assert_eq!(short(found.tip, found.ring), expected, "pair {pair}");
            assert_eq!(short(found.binder.tip, found.binder.ring), "WH-BL");
            assert_eq!((found.binder.group, found.binder.super_unit), (1, Colour::White));
        }
    }

    #[test]
    fn groups_and_super_units() {
        // 7 CFR 1755.890: the 25th combination binds no group.
        let cases = [
            (26, "WH-BL", 2, "WH-OR", Colour::White),
            (600, "VI-SL", 24, "VI-BR", Colour::White),
            (601, "WH-BL", 25, "WH-BL", Colour::Red),
            (1200, "VI-SL", 48, "VI-BR", Colour::Red),
            (3000, "VI-SL", 120, "VI-BR", Colour::Violet),
        ];
        for (pair, colours, group, binder, super_unit) in cases {
            let found = pair_colours(pair).unwrap();
            assert_eq!(short(found.tip, found.ring), colours, "pair {pair}");
            assert_eq!(short(found.binder.tip, found.binder.ring), binder, "pair {pair}");
            assert_eq!((found.binder.group, found.binder.super_unit), (group, super_unit));
        }
        for pair in [0, 3001, u32::MAX] {
            assert_eq!(pair_colours(pair), None, "pair {pair}");
        }
    }

    #[test]
    fn no_two_pairs_look_alike() {
        let looks: HashSet<_> = (1..=3000)
            .map(|pair| pair_colours(pair).unwrap())
            .map(|p| (p.tip, p.ring, p.binder.tip, p.binder.ring, p.binder.super_unit))
            .collect();
        assert_eq!(looks.len(), 3000);
    }

    #[test]
    fn every_pin_of_a_connector_is_used_once() {
        let pins: HashSet<u32> = (1..=25)
            .filter_map(connector_pins)
            .flat_map(|(tip, ring)| [tip, ring])
            .collect();
        assert_eq!(pins, (1..=50).collect());
        // Worked example PAIR-1.
        assert_eq!(connector_pins(17), Some((42, 17)));
        assert_eq!((connector_pins(0), connector_pins(26)), (None, None));
    }

    #[test]
    fn colours_read_both_ways_round() {
        let white_blue = Some((Colour::White, Colour::Blue));
        for text in ["white-blue", "WH-BL", "blue-white", "bl-wh", "White-BL"] {
            assert_eq!(parse_colours(text), white_blue, "{text}");
        }
        for text in [
            "white-red",
            "blue-orange",
            "white-white",
            "white",
            "white-",
            "-",
            "",
            "pink-blue",
            "white-blue-red",
        ] {
            assert_eq!(parse_colours(text), None, "{text}");
        }
        for pair in 1..=25 {
            let colours = pair_colours(pair).unwrap();
            let text = format!("{}-{}", colours.tip.name(), colours.ring.name());
            assert_eq!(parse_colours(&text), Some((colours.tip, colours.ring)));
        }
    }
}
