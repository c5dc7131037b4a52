//! Rewrites a quantity in another unit.

use drysheath_engineering::measure::ConductorArea;
use drysheath_engineering::trade_size::trade_size;
use drysheath_engineering::units::{Dimension, Quantity, Scale, Unit, counted};
use drysheath_office::{Figure, Meaning, inches};
use drysheath_text::{Edit, TextRange};
use drysheath_workspace::Analysis;

use super::Proposal;
use crate::words::statement_at;

/// Convenient figures: beyond this range another unit is more common.
const COMMON: std::ops::RangeInclusive<f64> = 0.01..=9999.0;
/// Significant digits of a converted figure.
const DIGITS: i32 = 4;

/// Numbers with a common unit.
struct Written {
    numbers: Vec<(TextRange, Figure)>,
    unit: &'static Unit,
    unit_range: TextRange,
    /// Whether the numbers are differences of two figures, without an offset.
    is_difference: bool,
}

/// Rewrites the quantity at an offset in each other common unit.
pub(super) fn units(analysis: &Analysis, at: u32) -> Vec<Proposal> {
    let Some(mut written) = written(analysis, at) else {
        return Vec::new();
    };
    let standard = analysis.office.standard;
    written.unit = counted(written.unit, standard);
    let others = written
        .unit
        .dimension
        .units()
        .map(move |unit| counted(unit, standard))
        .filter(|unit| !std::ptr::eq(*unit, written.unit) && written.unit.converts_to(unit));
    others.filter_map(|unit| proposal(&written, unit)).collect()
}

fn proposal(written: &Written, unit: &'static Unit) -> Option<Proposal> {
    let figures: Vec<String> = written
        .numbers
        .iter()
        .map(|(_, number)| figure(number.quantity, unit, written.is_difference))
        .collect::<Option<_>>()?;
    let mut edits: Vec<Edit> = written
        .numbers
        .iter()
        .zip(&figures)
        .map(|((range, _), figure)| Edit {
            range: *range,
            replacement: figure.clone(),
        })
        .collect();
    edits.push(Edit {
        range: written.unit_range,
        replacement: unit.name.to_owned(),
    });
    Some(Proposal::new(
        format!("Write `{} {}`", figures.join(" .. "), unit.name),
        edits,
    ))
}

/// The number of a quantity in another unit. `None` if it is inconvenient.
fn figure(quantity: Quantity, unit: &'static Unit, is_difference: bool) -> Option<String> {
    let exact = if is_difference {
        quantity.difference_in(unit)
    } else {
        quantity.in_unit(unit)
    };
    let size = exact.value.abs();
    if unit.scale == Scale::AmericanWireGauge {
        // Only existing gauges.
        let name = trade_size(ConductorArea::of(quantity)?);
        return name.strip_suffix(" awg").map(str::to_owned);
    }
    if size != 0.0 && !COMMON.contains(&size) && exact.dimension() != Dimension::Temperature {
        return None;
    }
    let shown = if unit.name == "in" {
        inches(in_64ths(exact))
    } else {
        exact.to_digits(DIGITS).to_string()
    };
    shown.strip_suffix(unit.name).map(|number| number.trim().to_owned())
}

/// Rounds to a fraction of an inch if it is close to one.
fn in_64ths(length: Quantity) -> Quantity {
    const FINEST: f64 = 64.0;
    const FRACTION_TOLERANCE: f64 = 1e-3;
    let whole = (length.value * FINEST).round();
    let is_fraction = (length.value * FINEST - whole).abs() < FRACTION_TOLERANCE && whole > 0.0;
    if is_fraction {
        Quantity {
            value: whole / FINEST,
            ..length
        }
    } else {
        length.to_digits(DIGITS)
    }
}

/// The quantity that an offset touches. In `0 .. 15 psi` both numbers have the one unit.
fn written(analysis: &Analysis, at: u32) -> Option<Written> {
    let touches = |range: TextRange| range.start <= at && at <= range.end;
    let statement = statement_at(analysis, at)?;
    let mut numbers: Vec<(TextRange, Figure)> = Vec::new();
    for token in analysis.office.semantic_tokens(&analysis.tree, statement) {
        match token.meaning {
            Meaning::Number(figure) => numbers.push((token.range, figure)),
            // The dots between two numbers.
            Meaning::Operator => {}
            Meaning::Unit(unit, _) => {
                let numbers = std::mem::take(&mut numbers);
                let Some((first, figure)) = numbers.first().copied() else {
                    continue;
                };
                if touches(first.cover(token.range)) {
                    return Some(Written {
                        is_difference: figure.is_difference,
                        numbers,
                        unit,
                        unit_range: token.range,
                    });
                }
            }
            _ => numbers.clear(),
        }
    }
    None
}
