//! Minimum and maximum sizes of fuses and ground wires.
//!
//! The NEC leaves out equipment that a communications utility has under its own control (90.2). There, these functions
//! are advice; the local code governs.

use crate::measure::{ConductorArea, Current, Length};
use crate::trade_size::TradeSize::{self, Gauge, Kcmil, SquareMillimetres};

/// Relative tolerance for equal areas.
const SAME: f64 = 1e-6;

/// Factor for continuous loads of a fuse, NEC 210.20(A) and 215.3.
const CONTINUOUS: f64 = 1.25;

/// Limit by a table of the protection of a copper conductor.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum WireLimit {
    /// At most this current.
    AtMost(Current),
    /// Less than the limit of the thinnest conductor in the table, which is this.
    LessThan(Current),
    /// Not covered: the conductor is thicker than any in the table.
    NotCovered,
}

/// A published table of conductors, thinnest first, and their highest protection, A.
#[derive(Debug)]
pub struct WireTable {
    /// Name with the clauses of the source.
    pub name: &'static str,
    rows: &'static [(TradeSize, f64)],
}

/// American sizes with an individual limit in the code: NEC 240.4(D), copper; (D)(1) and (D)(2) for listed devices and
/// a continuous load of 0.8 times the protection, which [`required_rating`] requires anyway.
static SMALL_GAUGES: WireTable = WireTable {
    name: "NEC 240.4(D)",
    rows: &[
        (Gauge(18), 7.0),
        (Gauge(16), 10.0),
        (Gauge(14), 15.0),
        (Gauge(12), 20.0),
        (Gauge(10), 30.0),
    ],
};

/// Larger American sizes: NEC Table 310.16, copper, 75 °C, and the next standard rating above it by 240.4(B) and
/// 240.6(A).
static LARGE_GAUGES: WireTable = WireTable {
    name: "NEC Table 310.16 (75 degC) and 240.4(B)",
    rows: &[
        (Gauge(10), 30.0),
        (Gauge(8), 50.0),
        (Gauge(6), 70.0),
        (Gauge(4), 90.0),
        (Gauge(3), 100.0),
        (Gauge(2), 125.0),
        (Gauge(1), 150.0),
        (Gauge(0), 150.0),
        (Gauge(-1), 175.0),
        (Gauge(-2), 200.0),
        (Gauge(-3), 250.0),
        (Kcmil(250), 300.0),
        (Kcmil(300), 300.0),
        (Kcmil(350), 350.0),
        (Kcmil(400), 350.0),
        (Kcmil(500), 400.0),
        (Kcmil(600), 450.0),
        (Kcmil(750), 500.0),
        (Kcmil(1000), 600.0),
    ],
};

/// Metric sizes: two loaded copper conductors with PVC on a wall or tray, reference method C, IEC 60364-5-52 Table
/// B.52.2, numbers from memory; 1 mm² from the same table of BS 7671 (4D2A), from memory. A fuse may not exceed them
/// (IEC 60364-4-43, 433.1).
static METRIC: WireTable = WireTable {
    name: "IEC 60364-5-52 Table B.52.2, method C",
    rows: &[
        (SquareMillimetres(1.0), 15.0),
        (SquareMillimetres(1.5), 19.5),
        (SquareMillimetres(2.5), 27.0),
        (SquareMillimetres(4.0), 36.0),
        (SquareMillimetres(6.0), 46.0),
        (SquareMillimetres(10.0), 63.0),
        (SquareMillimetres(16.0), 85.0),
        (SquareMillimetres(25.0), 112.0),
        (SquareMillimetres(35.0), 138.0),
        (SquareMillimetres(50.0), 168.0),
        (SquareMillimetres(70.0), 213.0),
        (SquareMillimetres(95.0), 258.0),
        (SquareMillimetres(120.0), 299.0),
    ],
};

/// The sizes of copper conductors for feeds, thinnest first, each with the highest protection in its table: 14 AWG and
/// thicker by NEC 240.4(D) and Table 310.16, or the metric ones.
pub fn feed_sizes(is_metric: bool) -> impl Iterator<Item = (TradeSize, Current, &'static WireTable)> {
    let of = |table: &'static WireTable, thinner: usize| {
        let rows = table.rows.iter().skip(thinner);
        rows.map(move |(size, limit)| (*size, Current::from_amperes(*limit), table))
    };
    let (small, large) = if is_metric {
        (of(&METRIC, 0), None)
    } else {
        (of(&SMALL_GAUGES, 2), Some(of(&LARGE_GAUGES, 1)))
    };
    small.chain(large.into_iter().flatten())
}

/// Smallest conductor usual behind protection of this rating: 14 AWG and thicker by NEC 240.4(D) and Table 310.16.
pub fn smallest_feed(protection: Current) -> Option<ConductorArea> {
    let mut enough = feed_sizes(false).filter(|(_, limit, _)| protection.amperes() <= limit.amperes());
    enough.next().map(|(size, ..)| size.area())
}

/// The standard ratings of fuses, A: NEC 240.6(A), numbers from memory.
const RATINGS: [f64; 32] = [
    1.0, 3.0, 6.0, 10.0, 15.0, 20.0, 25.0, 30.0, 35.0, 40.0, 45.0, 50.0, 60.0, 70.0, 80.0, 90.0, 100.0, 110.0, 125.0,
    150.0, 175.0, 200.0, 225.0, 250.0, 300.0, 350.0, 400.0, 450.0, 500.0, 600.0, 700.0, 800.0,
];

/// The smallest standard rating of a fuse that is at least this: NEC 240.6(A), numbers from memory. `None` above 800 A.
pub fn next_rating(least: Current) -> Option<Current> {
    let mut enough = RATINGS
        .into_iter()
        .filter(|rating| *rating >= least.amperes() * (1.0 - SAME));
    enough.next().map(Current::from_amperes)
}

/// Rating of the protection, A, up to which each equipment ground applies. NEC Table 250.122, copper; above 200 A from
/// a secondary source.
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

/// Sizes of bonding conductors, TIA-607; those above 3/0 from memory.
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

/// Used if none of [`BONDING_SIZES`] is sufficient. TIA-607, number from memory.
const LARGEST_BOND: TradeSize = Kcmil(750);

/// Minimum rating of a fuse: 1.25 × the continuous load plus the rest, NEC 210.20(A) and 215.3.
pub fn required_rating(continuous: Current, rest: Current) -> Current {
    continuous * CONTINUOUS + rest
}

/// Highest protection of a copper conductor, and the table: the metric one for a conductor in square millimetres,
/// otherwise the NEC. A conductor between two sizes has the limit of the thinner one.
pub fn wire_limit(area: ConductorArea, is_metric: bool) -> (WireLimit, &'static WireTable) {
    let table = if is_metric {
        &METRIC
    } else if SMALL_GAUGES.limit(area) == WireLimit::NotCovered {
        &LARGE_GAUGES
    } else {
        &SMALL_GAUGES
    };
    (table.limit(area), table)
}

/// Ampacity of a copper conductor by the same tables, and the table: its row, or beyond the rows extrapolated from the
/// nearest one. Heating is proportional to the square of the current over the area, and cooling to the surface, so the
/// current is proportional to the power 3/4 of the area.
pub fn ampacity(area: ConductorArea, is_metric: bool) -> Option<(Current, &'static WireTable)> {
    const BY_AREA: f64 = 0.75;
    let (limit, table) = wire_limit(area, is_metric);
    let from = |row: Option<&(TradeSize, f64)>| {
        let (size, limit) = row?;
        let part = area.square_metres() / size.area().square_metres();
        Some(Current::from_amperes(limit * part.powf(BY_AREA)))
    };
    let bears = match limit {
        WireLimit::AtMost(limit) => Some(limit),
        WireLimit::LessThan(_) => from(table.rows.first()),
        WireLimit::NotCovered => from(table.rows.last()),
    };
    Some((bears?, table))
}

impl WireTable {
    /// The thinnest conductor of the table.
    pub fn thinnest(&self) -> Option<TradeSize> {
        self.rows.first().map(|(size, _)| *size)
    }

    fn limit(&self, area: ConductorArea) -> WireLimit {
        let metal = area.square_metres();
        let is_within = |size: &TradeSize| metal <= size.area().square_metres() * (1.0 + SAME);
        let reaches = |size: &TradeSize| metal >= size.area().square_metres() * (1.0 - SAME);
        let mut rows = self.rows.iter();
        match (rows.clone().rfind(|(size, _)| reaches(size)), rows.next()) {
            (Some((_, limit)), _) if self.rows.last().is_some_and(|(size, _)| is_within(size)) => {
                WireLimit::AtMost(Current::from_amperes(*limit))
            }
            (None, Some((_, limit))) => WireLimit::LessThan(Current::from_amperes(*limit)),
            _ => WireLimit::NotCovered,
        }
    }
}

/// The smallest copper equipment ground behind protection of this rating, NEC Table 250.122. For a rating between two
/// rows the next row up applies. It need not be larger than the circuit's own conductors (250.122(A)), which this
/// function does not know. `None` above 6000 A: not covered.
pub fn equipment_ground(protection: Current) -> Option<ConductorArea> {
    EQUIPMENT_GROUNDS
        .iter()
        .find(|(rating, _)| protection.amperes() <= *rating)
        .map(|(_, size)| size.area())
}

/// As [`equipment_ground`], for a feed that is thicker than its protection requires, for example because of its length:
/// it grows in proportion to the feed, NEC 250.122(B), but not beyond it (250.122(A)).
pub fn equipment_ground_behind(protection: Current, feed: ConductorArea) -> Option<ConductorArea> {
    /// A feed that is less than a whole gauge size thicker than required does not count as enlarged: sizes of two
    /// standards differ by less.
    const ENLARGED: f64 = 1.25;
    let table = equipment_ground(protection)?.square_metres();
    let ratio = smallest_feed(protection).map_or(1.0, |least| feed.square_metres() / least.square_metres());
    let grown = if ratio > ENLARGED { table * ratio } else { table };
    Some(ConductorArea::from_square_metres(grown.min(feed.square_metres())))
}

/// The smallest equipment ground for any feed: the first row of NEC Table 250.122.
pub fn least_equipment_ground() -> ConductorArea {
    Gauge(14).area()
}

/// Smallest conductor between a direct-current system and the ground: 8 AWG, NEC 250.166(B), number from memory.
pub fn least_system_ground() -> ConductorArea {
    Gauge(8).area()
}

/// The smallest size of bonding conductor for its length, 2 kcmil/ft, TIA-607: never below 6 AWG, and 750 kcmil for
/// every length above 300 ft, where the standard ends. From 375 ft on that is less than 2 kcmil/ft.
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
    fn the_next_rating_is_a_standard_one() {
        // NEC 240.6(A), numbers from memory.
        let cases = [
            (0.2, 1.0),
            (1.0, 1.0),
            (1.85, 3.0),
            (11.25, 15.0),
            (16.25, 20.0),
            (600.5, 700.0),
        ];
        for (least, rating) in cases {
            assert_eq!(
                next_rating(Current::from_amperes(least)),
                Some(Current::from_amperes(rating)),
                "{least} A"
            );
        }
        assert_eq!(next_rating(Current::from_amperes(801.0)), None);
    }

    #[test]
    fn feeds_begin_at_14_awg_and_grow() {
        for is_metric in [false, true] {
            let rows: Vec<_> = feed_sizes(is_metric).collect();
            assert!(rows.is_sorted_by(|one, other| {
                one.0.area().square_metres() < other.0.area().square_metres() && one.1.amperes() <= other.1.amperes()
            }));
        }
        assert_eq!(feed_sizes(false).next().map(|(size, ..)| size), Some(Gauge(14)));
    }

    #[test]
    fn wires_beyond_the_rows_bear_by_their_area() {
        let bears = |size: TradeSize| {
            let bears = ampacity(size.area(), matches!(size, SquareMillimetres(_)));
            bears.map_or(Current::from_amperes(0.0), |(bears, _)| bears)
        };
        assert_eq!(bears(Gauge(14)), Current::from_amperes(15.0));
        // 22 AWG has 0.396 times the area of 18 AWG: 7 A × 0.396^0.75, by hand.
        assert!((bears(Gauge(22)).amperes() - 3.49).abs() < 0.01);
        // 185 mm² has 1.542 times that of 120 mm²: 299 A × 1.542^0.75, by hand.
        assert!((bears(SquareMillimetres(185.0)).amperes() - 413.7).abs() < 0.5);
    }

    #[test]
    fn wires_have_a_limit() {
        // Worked example OCP-2, NEC 240.4(D), the sizes around it, and Table 310.16 with 240.4(B).
        let at_most = |amperes| WireLimit::AtMost(Current::from_amperes(amperes));
        let less_than = |amperes| WireLimit::LessThan(Current::from_amperes(amperes));
        let cases = [
            (Gauge(26), less_than(7.0)),
            (Gauge(19), less_than(7.0)),
            (Gauge(18), at_most(7.0)),
            (Gauge(17), at_most(7.0)),
            (Gauge(16), at_most(10.0)),
            (Gauge(15), at_most(10.0)),
            (Gauge(14), at_most(15.0)),
            (Gauge(13), at_most(15.0)),
            (Gauge(12), at_most(20.0)),
            (Gauge(11), at_most(20.0)),
            (Gauge(10), at_most(30.0)),
            (Gauge(9), at_most(30.0)),
            (Gauge(8), at_most(50.0)),
            (Gauge(6), at_most(70.0)),
            (Gauge(-3), at_most(250.0)),
            (Kcmil(750), at_most(500.0)),
            (Kcmil(1000), at_most(600.0)),
            (Kcmil(1250), WireLimit::NotCovered),
        ];
        for (size, limit) in cases {
            assert_eq!(wire_limit(size.area(), false).0, limit, "{size}");
        }
        let metric = [
            (0.75, less_than(15.0)),
            (1.0, at_most(15.0)),
            (1.5, at_most(19.5)),
            (2.0, at_most(19.5)),
            (6.0, at_most(46.0)),
            (120.0, at_most(299.0)),
            (150.0, WireLimit::NotCovered),
        ];
        for (size, limit) in metric {
            assert_eq!(wire_limit(SquareMillimetres(size).area(), true).0, limit, "{size} mm2");
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
    fn grounds_behind_enlarged_feeds() {
        let size = |rating, feed: TradeSize| {
            equipment_ground_behind(Current::from_amperes(rating), feed.area()).map(trade_size)
        };
        // 250.122(B) by circular mils: 10380 cmil x 26240/10380, where 10 AWG would do for 30 A.
        assert_eq!(size(30.0, Gauge(6)).as_deref(), Some("6 awg"));
        // 20 A: 12 AWG for both, and 4 AWG is 6.39 times that.
        assert_eq!(size(20.0, Gauge(4)).as_deref(), Some("4 awg"));
        // 60 A: 10 AWG behind 6 AWG, so 7 AWG behind 3 AWG, which is twice 6 AWG.
        assert_eq!(size(60.0, Gauge(6)).as_deref(), Some("10 awg"));
        assert_eq!(size(60.0, Gauge(3)).as_deref(), Some("7 awg"));
        assert_eq!(size(30.0, Gauge(10)).as_deref(), Some("10 awg"));
        // Never beyond the feed, and the next metric size does not count as enlarged.
        assert_eq!(size(3.0, Gauge(18)).as_deref(), Some("18 awg"));
        assert_eq!(size(30.0, SquareMillimetres(6.0)).as_deref(), Some("10 awg"));
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
