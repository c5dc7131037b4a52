//! Rejects implausible figures, and suggests what was probably meant.

use drysheath_engineering::units::{Quantity, Scale};
use drysheath_text::TextRange;

use super::reader::{Context, Read, Reader};
use crate::kinds::Domain;
use crate::problem::{Problem, ProblemId};

impl Reader<'_> {
    /// Rejects a quantity outside of the plausible range in `context`. `range` is its place.
    pub(super) fn plausible(&self, quantity: Quantity, range: TextRange, context: Context<'_>) -> Read<()> {
        // An absolute unit for a difference has its own message.
        let Some(domain) = context
            .domain
            .filter(|_| !(context.is_difference && quantity.unit.absolute))
        else {
            return Ok(());
        };
        let is_gauge = quantity.unit.scale == Scale::AmericanWireGauge;
        let written = || range.of(self.text);
        // `-2 awg` would be read as 3/0, which is not written that way.
        let is_signed_gauge = is_gauge && written().starts_with('-');
        if !is_signed_gauge && domain.has(quantity, context.is_difference) {
            return Ok(());
        }
        let (subject, written) = (context.subject, written());
        if domain.is_absolute() && !quantity.unit.absolute {
            let message = format!(
                "`{subject}` is counted from vacuum, and `{written}` from the surrounding air, which differs from place to place"
            );
            let problem = Problem::new(ProblemId::UnitWrongDimension, range, message);
            return Err(Box::new(problem.help(
                "write it in psia, kPa-abs or bar-abs: air at sea level has 14.696 psia",
            )));
        }
        let expected = domain.in_unit(quantity.unit, context.is_difference);
        let message = format!("`{subject}` expects {expected}; found `{written}`");
        let help = match meant(domain, quantity, context.is_difference) {
            Some((meant, check)) => format!("`{meant}` is probably meant: check the {check}"),
            None if is_gauge => "wires are made in whole gauge numbers, and above those as 1/0 to 4/0".to_owned(),
            None if quantity.value == 0.0 => "zero cannot be meant: look the figure up".to_owned(),
            None => format!("there is no such {}: look the figure up", quantity.dimension().name()),
        };
        Err(Box::new(
            Problem::new(ProblemId::ValueImplausible, range, message).help(help),
        ))
    }
}

/// The probable meaning of an implausible figure, and what to check.
fn meant(domain: &Domain, written: Quantity, is_difference: bool) -> Option<(Quantity, &'static str)> {
    let fits = |quantity: &Quantity| quantity.value != 0.0 && domain.has(*quantity, is_difference);
    let times = |factor: f64| Quantity {
        value: written.value * factor,
        ..written
    };
    let digits = |quantity: Quantity| quantity.to_digits(SIGNIFICANT);
    let is_gauge = written.unit.scale == Scale::AmericanWireGauge;
    let scaled = |factor: f64| Some(digits(times(factor))).filter(|it| !is_gauge && fits(it));
    let point = "decimal point";
    Some(times(-1.0))
        .filter(fits)
        .map(|it| (it, "sign"))
        .or_else(|| scaled(0.1).or_else(|| scaled(10.0)).map(|it| (it, point)))
        .or_else(|| {
            let mut units = written.dimension().units();
            units.find_map(|unit| {
                let other = Quantity { unit, ..written };
                (is_near(written.unit.name, unit.name) && fits(&other)).then_some((other, "unit"))
            })
        })
        .or_else(|| {
            let mut factors = [0.01, 100.0, 0.001, 1000.0].into_iter();
            factors.find_map(scaled).map(|it| (it, point))
        })
}

/// Significant digits after moving the decimal point: enough for any figure in a file.
const SIGNIFICANT: i32 = 6;

/// Whether two units are easily confused: `km` and `m`, `psi` and `psia`.
fn is_near(one: &str, other: &str) -> bool {
    let (short, long) = if one.len() < other.len() {
        (one, other)
    } else {
        (other, one)
    };
    long.len() == short.len() + 1 && (long.starts_with(short) || long.ends_with(short))
}
