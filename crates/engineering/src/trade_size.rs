//! Trade sizes of copper conductors.

use core::f64::consts::FRAC_PI_4;
use core::fmt;

use crate::measure::ConductorArea;
use crate::wire::{gauge, gauge_area};

/// Area of a disc of 0.001 in diameter, m².
pub(crate) const CIRCULAR_MIL: f64 = FRAC_PI_4 * 0.000_025_4 * 0.000_025_4;

/// The thickest American Wire Gauge size, 4/0.
const THICKEST: i8 = -3;
/// Relative tolerance for an area to match a gauge size: a hundredth, while adjacent sizes differ by 26 %.
const AREA_TOLERANCE: f64 = 0.01;

/// A trade size of a conductor.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum TradeSize {
    /// American Wire Gauge, with 0, −1, −2, −3 for 1/0, 2/0, 3/0, 4/0.
    Gauge(i8),
    /// Thousands of circular mils, for sizes above 4/0.
    Kcmil(u16),
    /// Square millimetres, for sizes not in gauge.
    SquareMillimetres(f64),
}

impl TradeSize {
    /// Cross-section of the metal.
    pub fn area(self) -> ConductorArea {
        match self {
            TradeSize::Gauge(size) => gauge_area(f64::from(size)),
            TradeSize::Kcmil(size) => ConductorArea::from_square_metres(f64::from(size) * 1e3 * CIRCULAR_MIL),
            TradeSize::SquareMillimetres(size) => ConductorArea::from_square_metres(size * 1e-6),
        }
    }
}

impl fmt::Display for TradeSize {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match *self {
            TradeSize::Gauge(size) if size <= 0 => write!(f, "{}/0 awg", 1 - i16::from(size)),
            TradeSize::Gauge(size) => write!(f, "{size} awg"),
            TradeSize::Kcmil(size) => write!(f, "{size} kcmil"),
            TradeSize::SquareMillimetres(size) => write!(f, "{size} mm2"),
        }
    }
}

/// Trade name of an area: "6 awg", "1/0 awg", "250 kcmil", and "2.5 mm2" for a metric size that no gauge matches within
/// 1 %.
pub fn trade_size(area: ConductorArea) -> String {
    let thickest = TradeSize::Gauge(THICKEST);
    if area.square_metres() > thickest.area().square_metres() * (1.0 + AREA_TOLERANCE) {
        return format!("{:.0} kcmil", area.square_metres() / CIRCULAR_MIL / 1e3);
    }
    // A float saturates to the nearest i8, and NaN becomes 0: an area without a gauge falls through to mm2.
    let whole = TradeSize::Gauge(gauge(area).round() as i8);
    let ratio = area.square_metres() / whole.area().square_metres();
    if (ratio - 1.0).abs() <= AREA_TOLERANCE {
        whole.to_string()
    } else {
        TradeSize::SquareMillimetres((area.square_metres() * 1e8).round() / 100.0).to_string()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_size_goes_by_its_own_name() {
        for size in -3..=40 {
            let size = TradeSize::Gauge(size);
            assert_eq!(trade_size(size.area()), size.to_string());
        }
        for size in [250, 300, 350, 400, 500, 600, 750, 1000] {
            assert_eq!(trade_size(TradeSize::Kcmil(size).area()), format!("{size} kcmil"));
        }
    }

    #[test]
    fn zeros_are_written_as_the_trade_writes_them() {
        let names = [(1, "1 awg"), (0, "1/0 awg"), (-1, "2/0 awg"), (-3, "4/0 awg")];
        for (size, name) in names {
            assert_eq!(TradeSize::Gauge(size).to_string(), name);
        }
    }

    #[test]
    fn metric_sizes_keep_their_own_measure() {
        for (square_millimetres, name) in [(2.5, "2.5 mm2"), (10.0, "10 mm2"), (0.0, "0 mm2")] {
            assert_eq!(
                trade_size(ConductorArea::from_square_metres(square_millimetres * 1e-6)),
                name
            );
        }
    }
}
