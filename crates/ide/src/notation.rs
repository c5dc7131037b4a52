//! Fields in the notation of the language, for hovers and hints.

use std::fmt::Write as _;

use drysheath_engineering::units::Quantity;
use drysheath_office::{Field, Office, Value, numbers_written};

/// Formats a field on one line.
pub(crate) fn field(office: &Office, field: &Field) -> String {
    let word = field.spec.word();
    let value = value(office, &field.value);
    if value.is_empty() {
        word.to_owned()
    } else {
        format!("{word} {value}")
    }
}

/// Formats several fields, separated by commas.
pub(crate) fn fields<'f>(office: &Office, fields: impl IntoIterator<Item = &'f Field>) -> String {
    let said: Vec<String> = fields.into_iter().map(|said| field(office, said)).collect();
    said.join(", ")
}

fn value(office: &Office, value: &Value) -> String {
    match value {
        Value::Unreadable => "…".to_owned(),
        Value::Text(text) => format!("\"{text}\""),
        Value::YesNo(yes) => if *yes { "yes" } else { "no" }.to_owned(),
        Value::Count(count) => count.to_string(),
        Value::PairColours(pair, (tip, ring)) => format!("{pair} {}-{}", tip.name(), ring.name()),
        Value::Numbers(from, to) => numbers_written(*from, *to),
        Value::Quantity(quantity) | Value::DewPoint(quantity, None) => quantity.to_string(),
        Value::DewPoint(quantity, Some(surface)) => format!("{quantity} over {}", surface.word()),
        Value::Range(from, to) => range(*from, *to),
        Value::Choice(choice) => choice.word().to_owned(),
        Value::Limit(limit) => {
            let mut written = format!("{} {}", limit.level.word(), limit.value);
            if let Some(severity) = limit.severity {
                let _ = write!(written, " {}", severity.word());
            }
            if let Some(deadband) = limit.deadband {
                let _ = write!(written, " deadband {deadband}");
            }
            written
        }
        Value::Loss(loss) => loss.to_string(),
        Value::At(at) => {
            let host = at.thing.map_or("", |thing| office.name(thing));
            let branch = at.branch.as_deref().map(|branch| format!(" branch {branch}"));
            let place = at.place.as_deref().map(|place| format!(" place {place}"));
            let distance = at.distance.map(|distance| format!(" {distance}"));
            [Some(host.to_owned()), branch, place, distance]
                .into_iter()
                .flatten()
                .collect()
        }
        Value::Fitting(fitting) => fitting.to_string(),
        Value::Link { over, to } => format!("{} \"{to}\"", over.word()),
        Value::Record(recorded) => format!("{} \"{}\"", recorded.name, recorded.text),
        Value::Path(path) => path.to_string(),
        Value::FormerName(name) => name.to_string(),
        Value::Thing(other) => other.name.to_string(),
        Value::Group(inner) => format!("{{ {} }}", fields(office, inner)),
        Value::Named {
            name, fields: inner, ..
        } => format!("{name} {{ {} }}", fields(office, inner)),
    }
}

/// Formats a range: `0 .. 15 psi`, or `0 psi .. 1 bar` with different units.
pub(crate) fn range(from: Quantity, to: Quantity) -> String {
    let shown = from.to_string();
    let bare = if from.unit == to.unit {
        shown.strip_suffix(from.unit.name).map(str::trim_end)
    } else {
        None
    };
    format!("{} .. {to}", bare.unwrap_or(&shown))
}
