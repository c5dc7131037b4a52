//! Checks the figures of a signal against its span.

use drysheath_engineering::units::Dimension;

use crate::kinds::Key;
use crate::problem::{Problem, ProblemId};
use crate::value::{Field, Fields, Value};

/// Largest step as a fraction of the span, also the largest error of a humidity (common practice, no source).
const COARSEST: f64 = 0.25;
/// Largest error of a pressure or flow as a fraction of the span: twice that of the coarsest gauges (common practice,
/// no source).
const COARSEST_ERROR: f64 = 0.125;
/// Finest step of any sensor as a fraction of its span: 16 bits are 1 in 65,536 (common practice, no source).
const FINEST_STEP: f64 = 1.0 / 65_536.0;
/// Smallest error of any sensor as a fraction of its span (common practice, no source).
const FINEST_ERROR: f64 = 1.0 / 20_000.0;

/// The problem of a step or error that is impossible for the span. The field is made unreadable.
pub(super) fn fineness_beyond_span(fields: &mut [Field]) -> Option<Problem> {
    let (from, to, span) = fields.range(Key::Span)?;
    let width = (to.si() - from.si()).abs();
    if width == 0.0 {
        return None;
    }
    for (key, finest) in [(Key::Step, FINEST_STEP), (Key::Error, FINEST_ERROR)] {
        let Some((quantity, place)) = fields.quantity(key) else {
            continue;
        };
        let part = quantity.si() / width;
        let is_exact = key == Key::Error && matches!(quantity.dimension(), Dimension::Pressure | Dimension::Flow);
        let help = if is_exact && part > COARSEST_ERROR {
            "it takes more than an eighth of the span: check the decimal point and the unit of both"
        } else if part > COARSEST {
            "it takes more than a quarter of the span: check the decimal point and the unit of both"
        } else if part < finest {
            "no sensor is that fine over such a span: check the decimal point and the unit of both"
        } else {
            continue;
        };
        let message = format!("`{}` of {quantity} does not suit a span of {from} .. {to}", key.word());
        let field = fields.iter_mut().find(|field| field.spec.key == key)?;
        field.value = Value::Unreadable;
        let problem = Problem::new(ProblemId::ValueImplausible, place.range, message);
        return Some(problem.related(span, "the span").help(help));
    }
    None
}
