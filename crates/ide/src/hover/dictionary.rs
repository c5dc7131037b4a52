//! Hovers for words of the language: kinds, fields, choices, rules.

use std::fmt::Write as _;

use drysheath_office::kinds::{Bare, FieldSpec, Kind, Need, Numbering, Port, Shape};
use drysheath_office::{Field, Fields, Value, with_article};
use drysheath_rules::Rule;
use drysheath_text::TextRange;

use super::Describer;
use super::sensors::expected;
use crate::explainer::explainer;
use crate::markup::Markup;
use crate::notation;

pub(super) fn kind(kind: &'static Kind) -> Markup {
    let mut markup = Markup::new(format!("`{}`", kind.word()));
    markup.sentence(kind.summary);
    let needed = |need: Need| words(kind.fields.iter().filter(move |field| field.need == need));
    for (need, when) in [
        (Need::Always, "required"),
        (Need::Installed, "required once it is installed"),
        (Need::Optional, "may be there"),
    ] {
        let fields = needed(need);
        if !fields.is_empty() {
            markup.fact(format!("{when}: {fields}"));
        }
    }
    for port in kind.ports {
        markup.fact(format!(
            "runs of {} end on `{}`, {}{}",
            port.medium.word(),
            port_form(port),
            port.doc,
            bare(port)
        ));
    }
    markup
}

fn words<'f>(fields: impl Iterator<Item = &'f FieldSpec>) -> String {
    let words: Vec<String> = fields.map(|field| format!("`{}`", field.word())).collect();
    words.join(", ")
}

/// A port as written after the name of its thing.
pub(super) fn port_form(port: &Port) -> String {
    match port.numbering {
        Numbering::None | Numbering::Connectors => port.word.to_owned(),
        Numbering::Count(_) | Numbering::Range(_) => format!("{} N", port.word),
        Numbering::Named(_) => format!("{} NAME", port.word),
    }
}

/// A phrase on when the thing's name alone means the port.
pub(super) fn bare(port: &Port) -> &'static str {
    match port.bare {
        Bare::Never => "",
        Bare::Target => "; the name alone means it where an arrow points to it",
        Bare::Source => "; the name alone means it where an arrow leaves it",
        Bare::Always => "; the name alone means it",
    }
}

pub(super) fn choice(word: &str, doc: &str) -> Markup {
    let mut markup = Markup::new(format!("`{word}`"));
    markup.sentence(doc);
    markup
}

pub(super) fn rule(rule: &'static Rule) -> Markup {
    let mut markup = Markup::new(format!("`{}`", rule.name()));
    markup.sentence(rule.summary);
    let words: Vec<&str> = rule.explanation.split_whitespace().collect();
    markup.sentence(words.join(" "));
    let mut level = format!("its results are of level {}", rule.level.word());
    if let Some(planned) = rule.while_planned {
        let _ = write!(level, ", while the office is planned {}", planned.word());
    }
    markup.fact(level);
    for (rules, shared) in rule.gives_way() {
        let names: Vec<_> = rules.iter().map(|rule| format!("`{}`", rule.name())).collect();
        markup.fact(format!("gives way to {} {shared}", names.join(", ")));
    }
    markup.fact(format!("source: {}", rule.source));
    markup
}

impl Describer<'_> {
    /// Describes a field: its meaning, and its value here.
    pub(super) fn field(&self, name: TextRange, spec: &'static FieldSpec, kind: &'static Kind) -> Markup {
        let mut markup = Markup::new(format!("`{}` of {}", spec.word(), with_article(kind.word())));
        markup.sentence(spec.doc);
        markup.fact(format!("wants {}", spec.shape.wanted()));
        if let Some(domain) = spec.domain() {
            markup.fact(format!("from {domain}"));
        }
        match spec.need {
            Need::Always => markup.fact("required"),
            Need::Installed => markup.fact("required once the office is installed"),
            Need::Optional => {}
        }
        if let Some(default) = spec.default {
            markup.fact(format!("`{default}` where it is left out"));
        }
        if let Shape::Choice(choices) = spec.shape {
            for choice in choices {
                markup.fact(format!("`{}`: {}", choice.word(), choice.doc()));
            }
        }
        let inner = spec.inner();
        if !inner.is_empty() {
            markup.fact(format!("may say {}", words(inner.iter())));
        }
        if let Some((sensor, field)) = self.said(name) {
            self.value(&mut markup, spec, field);
            if let Some(sensor) = sensor {
                self.against_reading(&mut markup, sensor, field);
            }
        }
        markup
    }

    /// The field whose name is at a range, and its thing.
    fn said(&self, name: TextRange) -> Option<(Option<drysheath_office::ThingId>, &Field)> {
        let office = &self.analysis.office;
        if let Some(id) = office.thing_around(name) {
            return Some((Some(id), find(office.thing(id).fields(), name, office.file)?));
        }
        let mut parts = office.parts.iter();
        parts
            .find_map(|part| find(part.fields(), name, office.file))
            .map(|field| (None, field))
    }

    /// Adds the value of a field in other units.
    fn value(&self, markup: &mut Markup, spec: &FieldSpec, field: &Field) {
        let is_difference = matches!(spec.shape, Shape::Difference);
        match &field.value {
            Value::Quantity(quantity) | Value::DewPoint(quantity, _) => {
                let others = self.conversions(*quantity, is_difference);
                if !others.is_empty() {
                    markup.sentence(format!("`{quantity}` is {}", others.join(", ")));
                }
            }
            Value::Range(from, to) => {
                let others = self.range_conversions(*from, *to);
                if !others.is_empty() {
                    markup.sentence(format!("`{}` is {}", notation::range(*from, *to), others.join(", ")));
                }
            }
            Value::Loss(loss) => {
                let both = [(loss.pressure, true), (loss.flow, false)];
                for (quantity, is_difference) in both {
                    let others = self.conversions(quantity, is_difference);
                    if !others.is_empty() {
                        markup.sentence(format!("`{quantity}` is {}", others.join(", ")));
                    }
                }
            }
            Value::Limit(limit) => {
                let others = self.conversions(limit.value, false);
                if !others.is_empty() {
                    markup.sentence(format!("`{}` is {}", limit.value, others.join(", ")));
                }
            }
            _ => {}
        }
    }

    /// Adds the expected reading of a sensor for its limit, normal reading or span.
    fn against_reading(&self, markup: &mut Markup, sensor: drysheath_office::ThingId, field: &Field) {
        for reading in explainer(self.analysis).readings(sensor) {
            let fields = reading.signal.fields;
            if !fields
                .iter()
                .any(|own| own.place == field.place && own.spec.key == field.spec.key)
            {
                continue;
            }
            let Some(shown) = reading.shown(&self.units) else {
                continue;
            };
            match &field.value {
                Value::Limit(_) => {
                    let limit = reading.limits.iter().find(|own| own.place == field.place);
                    if let Some(margin) = limit.and_then(|limit| reading.shown_margin(limit, &self.units)) {
                        markup.sentence(format!("It should read {shown}: a margin of {margin} to this limit."));
                    }
                }
                Value::Range(..) => {
                    if let Some(expected) = expected(&reading, &self.units) {
                        markup.sentence(format!("It should read {expected} of the span."));
                    }
                }
                Value::Quantity(_) if field.spec.key == drysheath_office::kinds::Key::Normal => {
                    markup.sentence(format!("It should read {shown} by what is computed."));
                }
                _ => {}
            }
        }
    }
}

/// Finds the field whose name is at a range, at any depth.
fn find(fields: &[Field], name: TextRange, file: drysheath_text::FileId) -> Option<&Field> {
    fields.iter().find_map(|field| match &field.value {
        _ if field.place.file != file => None,
        _ if field.place.range.start == name.start => Some(field),
        Value::Group(inner) | Value::Named { fields: inner, .. } => find(inner, name, file),
        _ => None,
    })
}
