//! Fuses and ground wires: how large at least, how large at most.
//!
//! The NEC leaves out equipment that a communications utility has under its own control (90.2). What these functions say
//! is advice there; the local code governs.

use crate::measure::{ConductorArea, Current, Length};
use crate::trade_size::TradeSize::{self, Gauge, Kcmil};

/// Areas that differ by less than this are the same size.
const SAME: f64 = 1e-6;

/// Part of a continuous load that a fuse must carry, NEC 210.20(A) and 215.3.
const CONTINUOUS: f64 = 1.25;

/// Conductor and the largest protection it may have, A. NEC 240.4(D), copper.
const SMALL_CONDUCTORS: [(TradeSize, f64); 3] = [(Gauge(14), 15.0), (Gauge(12), 20.0), (Gauge(10), 30.0)];

/// Protection up to this rating, A, and its equipment ground. NEC Table 250.122, copper; above 200 A from a secondary
/// source.
const EQUIPMENT_GROUNDS: [(f64, TradeSize); 19] = [
    (15.0, Gauge(14)),
    (20.0, Gauge(12)),
    (60.0, Gauge(10)),
    (100.0, Gauge(8)),
    (200.0, Gauge(6)),
    (300.0, Gauge(4)),
    (400.0, Gauge(3)),
    (500.0, Gauge(2)),
    (600.0, Gauge(1)),
    (800.0, Gauge(0)),
    (1000.0, Gauge(-1)),
    (1200.0, Gauge(-2)),
    (1600.0, Gauge(-3)),
    (2000.0, Kcmil(250)),
    (2500.0, Kcmil(350)),
    (3000.0, Kcmil(400)),
    (4000.0, Kcmil(500)),
    (5000.0, Kcmil(700)),
    (6000.0, Kcmil(800)),
];

/// Area of a bonding conductor for each metre of its length, m²/m: 2 kcmil/ft, TIA-607.
const BONDING_AREA: f64 = 2e3 * crate::trade_size::CIRCULAR_MIL / 0.304_8;

/// Sizes a bonding conductor comes in, TIA-607; those above 3/0 from memory.
const BONDING_SIZES: [TradeSize; 14] = [
    Gauge(6),
    Gauge(4),
    Gauge(3),
    Gauge(2),
    Gauge(1),
    Gauge(0),
    Gauge(-1),
    Gauge(-2),
    Gauge(-3),
    Kcmil(250),
    Kcmil(300),
    Kcmil(350),
    Kcmil(500),
    Kcmil(600),
];

/// What is used when none of [`BONDING_SIZES`] is enough. TIA-607, number from memory.
const LARGEST_BOND: TradeSize = Kcmil(750);

/// The rating that a fuse must have at least: 1.25 × the continuous load and the rest of it, NEC 210.20(A) and 215.3.
pub fn required_rating(continuous: Current, rest: Current) -> Current {
    continuous * CONTINUOUS + rest
}

/// The largest protection that a small copper conductor may have, NEC 240.4(D): 15 A for 14 AWG, 20 A for 12, 30 A for 10.
/// A conductor between two sizes has the limit of the smaller one. `None` below 14 AWG and above 10 AWG: not covered.
pub fn wire_limit(area: ConductorArea) -> Option<Current> {
    let metal = area.square_metres();
    let (largest, _) = SMALL_CONDUCTORS.last()?;
    if metal > largest.area().square_metres() * (1.0 + SAME) {
        return None;
    }
    SMALL_CONDUCTORS
        .iter()
        .rfind(|(size, _)| metal >= size.area().square_metres() * (1.0 - SAME))
        .map(|(_, limit)| Current::from_amperes(*limit))
}

/// The smallest copper equipment ground behind protection of this rating, NEC Table 250.122. A rating between two rows takes
/// the next row up. It need never be larger than the circuit's own conductors (250.122(A)), which this function does not
/// know. `None` above 6000 A: not covered.
pub fn equipment_ground(protection: Current) -> Option<ConductorArea> {
    EQUIPMENT_GROUNDS
        .iter()
        .find(|(rating, _)| protection.amperes() <= *rating)
        .map(|(_, size)| size.area())
}

/// The smallest size of bonding conductor for its length, 2 kcmil/ft, TIA-607: never below 6 AWG, and 750 kcmil for every
/// length above 300 ft, where the standard stops. From 375 ft on that is less than 2 kcmil/ft.
pub fn bonding_by_length(length: Length) -> ConductorArea {
    let required = length.metres() * BONDING_AREA;
    BONDING_SIZES
        .iter()
        .map(|size| size.area())
        .find(|area| area.square_metres() * (1.0 + SAME) >= required)
        .unwrap_or_else(|| LARGEST_BOND.area())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trade_size::trade_size;

    #[test]
    fn a_fuse_carries_a_quarter_more_than_the_continuous_load() {
        // Worked example OCP-1, NEC 210.20(A).
        let cases = [
            (1.481_481_481_481_481_4, 1.851_851_851_851_851_6),
            (9.0, 11.25),
            (13.0, 16.25),
        ];
        for (load, need) in cases {
            let required = required_rating(Current::from_amperes(load), Current::from_amperes(0.0));
            assert!((required.amperes() - need).abs() < 1e-12, "{load} A");
        }
        let required = required_rating(Current::from_amperes(8.0), Current::from_amperes(2.5));
        assert_eq!(required, Current::from_amperes(12.5));
    }

    #[test]
    fn small_wires_have_a_limit() {
        // Worked example OCP-2, NEC 240.4(D), and the sizes around it.
        let cases = [
            (16, None),
            (15, None),
            (14, Some(15.0)),
            (13, Some(15.0)),
            (12, Some(20.0)),
            (11, Some(20.0)),
            (10, Some(30.0)),
            (9, None),
        ];
        for (size, limit) in cases {
            assert_eq!(
                wire_limit(Gauge(size).area()),
                limit.map(Current::from_amperes),
                "{size} awg"
            );
        }
    }

    #[test]
    fn equipment_grounds() {
        // Worked example OCP-2, NEC Table 250.122; 0.5, 30 and 201 A lie between rows.
        let cases = [
            (0.5, "14 awg"),
            (15.0, "14 awg"),
            (20.0, "12 awg"),
            (30.0, "10 awg"),
            (60.0, "10 awg"),
            (100.0, "8 awg"),
            (200.0, "6 awg"),
            (201.0, "4 awg"),
            (300.0, "4 awg"),
            (400.0, "3 awg"),
            (800.0, "1/0 awg"),
            (6000.0, "800 kcmil"),
        ];
        for (rating, size) in cases {
            let found = equipment_ground(Current::from_amperes(rating)).map(trade_size);
            assert_eq!(found.as_deref(), Some(size), "{rating} A");
        }
        assert_eq!(equipment_ground(Current::from_amperes(6000.1)), None);
    }

    #[test]
    fn bonds_grow_with_their_length() {
        // Worked example GND-1, TIA-607: the longest whole number of feet for each size, and one foot more.
        let longest = [
            (13, "6 awg"),
            (20, "4 awg"),
            (26, "3 awg"),
            (33, "2 awg"),
            (41, "1 awg"),
            (52, "1/0 awg"),
            (66, "2/0 awg"),
            (83, "3/0 awg"),
            (105, "4/0 awg"),
            (125, "250 kcmil"),
            (150, "300 kcmil"),
            (175, "350 kcmil"),
            (250, "500 kcmil"),
            (300, "600 kcmil"),
            (375, "750 kcmil"),
        ];
        let size = |feet: i32| trade_size(bonding_by_length(Length::from_metres(f64::from(feet) * 0.304_8)));
        for (feet, expected) in longest {
            assert_eq!(size(feet), expected, "{feet} ft");
        }
        for ((feet, _), (_, next)) in longest.iter().zip(longest.iter().skip(1)) {
            assert_eq!(size(feet + 1), *next, "{} ft", feet + 1);
        }
        assert_eq!(size(45), "1/0 awg");
        assert_eq!(size(0), "6 awg");
    }
}
