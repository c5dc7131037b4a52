//! Rewrites a quantity in another unit.

use drysheath_engineering::measure::ConductorArea;
use drysheath_engineering::trade_size::trade_size;
use drysheath_engineering::units::{Dimension, Quantity, Scale, Unit, counted, find};
use drysheath_office::{inches, quantity};
use drysheath_syntax::{Token, TokenKind};
use drysheath_text::{Edit, TextRange};
use drysheath_workspace::Analysis;

use super::Proposal;

/// Convenient figures: beyond this range another unit is more common.
const COMMON: std::ops::RangeInclusive<f64> = 0.01..=9999.0;
/// Significant digits of a converted figure.
const DIGITS: i32 = 4;

/// Numbers with a common unit.
struct Written {
    numbers: Vec<TextRange>,
    unit: &'static Unit,
    unit_range: TextRange,
    /// Whether the numbers are differences of two figures, without an offset.
    is_difference: bool,
}

/// Rewrites the quantity at an offset in each other common unit.
pub(super) fn units(analysis: &Analysis, at: u32) -> Vec<Proposal> {
    let text = &*analysis.text;
    let Some(mut written) = written(text, &analysis.tree.tokens, at) else {
        return Vec::new();
    };
    let standard = analysis.office.standard;
    written.unit = counted(written.unit, standard);
    let quantities = written
        .numbers
        .iter()
        .map(|number| quantity(number.of(text), written.unit));
    let Some(quantities) = quantities.collect::<Option<Vec<Quantity>>>() else {
        return Vec::new();
    };
    let others = written
        .unit
        .dimension
        .units()
        .map(move |unit| counted(unit, standard))
        .filter(|unit| !std::ptr::eq(*unit, written.unit) && written.unit.converts_to(unit));
    others
        .filter_map(|unit| proposal(&written, &quantities, unit))
        .collect()
}

fn proposal(written: &Written, quantities: &[Quantity], unit: &'static Unit) -> Option<Proposal> {
    let figures: Vec<String> = quantities
        .iter()
        .map(|quantity| figure(*quantity, unit, written.is_difference))
        .collect::<Option<_>>()?;
    let mut edits: Vec<Edit> = written
        .numbers
        .iter()
        .zip(&figures)
        .map(|(range, figure)| Edit {
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
    const LEEWAY: f64 = 1e-3;
    let whole = (length.value * FINEST).round();
    let is_fraction = (length.value * FINEST - whole).abs() < LEEWAY && whole > 0.0;
    if is_fraction {
        Quantity {
            value: whole / FINEST,
            ..length
        }
    } else {
        length.to_digits(DIGITS)
    }
}

/// The quantity whose number or unit is at an offset. In `0 .. 15 psi` both numbers share the unit.
fn written(text: &str, tokens: &[Token], at: u32) -> Option<Written> {
    let first = tokens.partition_point(|token| token.range.end < at);
    let touching = tokens.get(first..)?.iter().take_while(|token| token.range.start <= at);
    (first..)
        .zip(touching)
        .find_map(|(number, _)| of_token(text, tokens, number))
}

fn of_token(text: &str, tokens: &[Token], at: usize) -> Option<Written> {
    let is_solid = |token: &&Token| token.kind != TokenKind::Space;
    let ahead = || tokens.get(at..).unwrap_or_default().iter().filter(is_solid);
    let unit_of = |token: &Token| find(token.range.of(text)).filter(|_| token.kind.is_word());
    let kinds: Vec<TokenKind> = ahead().take(3).map(|token| token.kind).collect();
    let skip = match kinds.as_slice() {
        [TokenKind::Number, TokenKind::DotDot, TokenKind::Number] => 3,
        [TokenKind::Number, ..] => 1,
        [kind, ..] if kind.is_word() => 0,
        _ => return None,
    };
    let unit_token = ahead().nth(skip)?;
    let unit = unit_of(unit_token)?;
    let end = tokens.partition_point(|token| token.range.start < unit_token.range.start);
    let mut behind = tokens.get(..end)?.iter().rev().filter(is_solid);
    let last = behind.next().filter(|token| token.kind == TokenKind::Number)?;
    let mut numbers = vec![last.range];
    let dots = behind.next();
    if dots.is_some_and(|dots| dots.kind == TokenKind::DotDot)
        && let Some(other) = behind.next().filter(|other| other.kind == TokenKind::Number)
    {
        numbers.insert(0, other.range);
    }
    Some(Written {
        numbers,
        unit,
        unit_range: unit_token.range,
        is_difference: dots.is_some_and(|before| before.range.of(text) == "deadband"),
    })
}
