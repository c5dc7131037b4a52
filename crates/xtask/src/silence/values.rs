//! Edits of single values: numbers, units, choices, names, texts and dates.

use drysheath_engineering::units::{Quantity, Scale, Unit};
use drysheath_office::kinds::{FieldSpec, Kind, Port, Shape};
use drysheath_office::{
    Fields, Figure, FittingType, LimitLevel, LinkMedium, Meaning, SemanticToken, Severity, Sex, ThingId,
};
use drysheath_text::TextRange;

use super::edits::{Editor, is_dots};

/// Number of other names tried in place of one.
const OTHERS: usize = 3;

/// A token of a statement, with its context.
pub(super) struct Token<'t> {
    pub all: &'t [SemanticToken],
    pub at: usize,
    pub path: &'t str,
    pub spec: Option<&'static FieldSpec>,
    /// Kind of the thing or part that the statement declares.
    pub kind: Option<&'static Kind>,
}

impl Token<'_> {
    fn near(&self, by: isize) -> Option<&SemanticToken> {
        self.all.get(self.at.checked_add_signed(by)?)
    }
}

/// All edits of a token.
pub(super) fn edits(editor: &mut Editor<'_>, token: &Token<'_>) {
    let Some(own) = token.near(0) else { return };
    let (range, text) = (own.range, editor.text);
    let written = range.of(text);
    let path = match token.near(-1) {
        Some(before) if before.range.of(text) == "deadband" => format!("{} deadband", token.path),
        _ => token.path.to_owned(),
    };
    let path = path.as_str();
    let mut put = |how: &str, new: String| editor.push(path, how, vec![(range, new)]);
    match own.meaning {
        Meaning::Number(figure) => {
            for (how, new) in other_numbers(figure) {
                put(how, new);
            }
            ranges(editor, token, path, |number| match number {
                Meaning::Number(figure) => Some(figure.quantity.value),
                _ => None,
            });
        }
        Meaning::Count | Meaning::Numbered { .. } => {
            let Ok(number) = written.parse::<u32>() else { return };
            put("+ 1", (number + 1).to_string());
            put("- 1", number.saturating_sub(1).to_string());
            put("x 10", (u64::from(number) * 10).to_string());
            put("x 1/10", (number / 10).to_string());
            ranges(editor, token, path, |_| None);
        }
        Meaning::Unit(unit, Some(figure)) => {
            for (how, name) in other_units(unit, figure) {
                put(how, name.to_owned());
            }
        }
        Meaning::Choice(_) => {
            for other in other_words(token.spec, written) {
                put("another word", other.to_owned());
            }
        }
        Meaning::Colours { .. } => {
            put("colours dropped", String::new());
            put("other colours", other_of(written, ["white-orange", "white-green"]));
        }
        Meaning::Text => {
            put("emptied", "\"\"".to_owned());
            put("changed", format!("{} x\"", written.trim_end_matches('"')));
        }
        Meaning::Date => {
            let Some((year, day)) = written.split_once('-') else {
                return;
            };
            let Ok(year) = year.parse::<u16>() else { return };
            put("a year later", format!("{:04}-{day}", year + 1));
            put("a year earlier", format!("{:04}-{day}", year - 1));
            put("a century later", format!("{:04}-{day}", year + 100));
            put("a century earlier", format!("{:04}-{day}", year - 100));
        }
        Meaning::Rule => put("another rule", other_of(written, ["air-missing", "load-unfed"])),
        Meaning::Path => {
            let paths: Vec<_> = editor
                .surroundings
                .paths
                .iter()
                .filter(|path| **path != written)
                .collect();
            for other in paths {
                editor.push(path, "another file", vec![(range, (*other).to_owned())]);
            }
        }
        _ => names(editor, token, own, path),
    }
}

/// Replaces a name by others: of a thing, of something in it, of a part, of a port.
fn names(editor: &mut Editor<'_>, token: &Token<'_>, own: &SemanticToken, path: &str) {
    let range = own.range;
    let written = range.of(editor.text);
    match own.meaning {
        Meaning::Thing {
            id: Some(id),
            declares: false,
        } => {
            for other in other_things(editor, id) {
                editor.push(path, "another thing of its kind", vec![(range, other)]);
            }
        }
        Meaning::Named {
            thing: Some(thing),
            key,
            declares: false,
            ..
        } => {
            let thing = editor.office.thing(thing);
            let names: Vec<_> = thing.named(key).map(|(name, ..)| name.to_owned()).collect();
            for name in names {
                editor.push(path, "another name", vec![(range, name)]);
            }
        }
        Meaning::Part { declares: false } => {
            let parts = editor.surroundings.parts.iter();
            let like: Vec<_> = parts
                .filter(|(kind, name)| token.kind.is_some_and(|own| own.id == kind.id) && *name != written)
                .take(OTHERS)
                .collect();
            for (_, name) in like {
                editor.push(path, "another part", vec![(range, (*name).to_owned())]);
            }
        }
        Meaning::Port { thing, port } => {
            for other in other_ports(editor, thing, port) {
                editor.push(path, "another port", vec![(range, other.to_owned())]);
            }
        }
        _ => {}
    }
}

fn other_of(written: &str, words: [&str; 2]) -> String {
    let [one, other] = words;
    if written == one { other } else { one }.to_owned()
}

/// Other numbers in place of a figure.
fn other_numbers(figure: Figure) -> Vec<(&'static str, String)> {
    let Quantity { value, unit } = figure.quantity;
    let mut numbers = vec![
        ("x 0", value * 0.0),
        ("x -1", -value),
        ("x 10", value * 10.0),
        ("x 1/10", value / 10.0),
        ("x 1000", value * 1000.0),
        ("x 1/1000", value / 1000.0),
    ];
    if unit.scale == Scale::AmericanWireGauge {
        numbers.extend([("two sizes smaller", value + 2.0), ("two sizes larger", value - 2.0)]);
    }
    let written = |value: f64| {
        if unit.scale == Scale::AmericanWireGauge && value <= 0.0 && value > -4.0 {
            format!("{}/0", 1.0 - value)
        } else {
            number(value)
        }
    };
    numbers.into_iter().map(|(how, value)| (how, written(value))).collect()
}

/// A number as it would be written by hand, without rounding errors.
fn number(value: f64) -> String {
    let rounded = (value * 1e9).round() / 1e9;
    if rounded == 0.0 {
        "0".to_owned()
    } else {
        rounded.to_string()
    }
}

/// Shifts both ends of a range by its width, and swaps them. `value` returns the figure of an end with a unit.
fn ranges(editor: &mut Editor<'_>, token: &Token<'_>, path: &str, value: impl Fn(Meaning) -> Option<f64>) {
    let text = editor.text;
    let dots = [1, 2].into_iter().find(|by| is_dots(token.near(*by), text));
    let (Some(own), Some(dots)) = (token.near(0), dots) else {
        return;
    };
    let Some(other) = token.near(dots + 1) else { return };
    let parsed = |token: &SemanticToken| value(token.meaning).or_else(|| token.range.of(text).parse().ok());
    let (Some(from), Some(to)) = (parsed(own), parsed(other)) else {
        return;
    };
    let moved = |by: f64| vec![(own.range, number(from + by)), (other.range, number(to + by))];
    let is_counted = value(own.meaning).is_none();
    let width = if is_counted { 1.0 } else { to - from };
    editor.push(path, "range moved up", moved(width));
    editor.push(path, "range moved down", moved(-width));
    let swapped: Vec<(TextRange, String)> = vec![
        (own.range, other.range.of(text).to_owned()),
        (other.range, own.range.of(text).to_owned()),
    ];
    editor.push(path, "range turned round", swapped);
}

/// Other units of a dimension: those that change a figure by a factor of up to four, and the others.
fn other_units(unit: &'static Unit, figure: Figure) -> Vec<(&'static str, &'static str)> {
    let si = |unit: &Unit| match unit.scale {
        Scale::Affine { factor, .. } => factor,
        _ => unit.to_si(figure.quantity.value),
    };
    let units = unit.dimension.units().filter(|other| *other != unit);
    let how = |other: &Unit| {
        let times = si(other) / si(unit);
        if other.absolute != unit.absolute {
            "absolute unit"
        } else if (0.25..=4.0).contains(&times) {
            "unit of similar size"
        } else {
            "unit of another size"
        }
    };
    units.map(|other| (how(other), other.name)).collect()
}

/// Other choices in place of one.
fn other_words(spec: Option<&'static FieldSpec>, written: &str) -> Vec<&'static str> {
    use strum::VariantArray;
    let choices = match spec.map(|spec| spec.shape) {
        Some(Shape::Choice(choices)) => choices.iter().map(|choice| choice.word()).collect(),
        _ => Vec::new(),
    };
    let sets: [Vec<&'static str>; 7] = [
        choices,
        vec!["yes", "no"],
        LimitLevel::VARIANTS.iter().map(|it| it.word()).collect(),
        Severity::VARIANTS.iter().map(|it| it.word()).collect(),
        FittingType::VARIANTS.iter().map(|it| it.word()).collect(),
        Sex::VARIANTS.iter().map(|it| it.word()).collect(),
        LinkMedium::VARIANTS.iter().map(|it| it.word()).collect(),
    ];
    let set = sets.into_iter().find(|set| set.contains(&written)).unwrap_or_default();
    set.into_iter().filter(|word| *word != written).collect()
}

/// Names of other things of the same kind, those after it in the file first.
fn other_things(editor: &Editor<'_>, id: ThingId) -> Vec<String> {
    let office = editor.office;
    let Some(kind) = office.thing(id).kind else {
        return Vec::new();
    };
    let like: Vec<ThingId> = office.of_kind(kind.id).map(|(id, _)| id).collect();
    let own = like.iter().position(|other| *other == id).unwrap_or_default();
    let others = like.iter().cycle().skip(own + 1).take(like.len().saturating_sub(1));
    others
        .take(OTHERS)
        .map(|other| office.name(*other).to_owned())
        .collect()
}

fn other_ports(editor: &Editor<'_>, thing: ThingId, port: &'static Port) -> Vec<&'static str> {
    let kind = editor.office.thing(thing).kind;
    let ports = kind.into_iter().flat_map(|kind| kind.ports_in(port.medium));
    let same_form = |other: &&Port| other.is_counted() == port.is_counted() && other.word != port.word;
    ports.filter(same_form).map(|other| other.word).collect()
}
