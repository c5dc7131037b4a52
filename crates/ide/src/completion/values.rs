//! What can be said of a field, from what is said of it already.

use drysheath_engineering::units::Dimension;
use drysheath_office::kinds::{FieldSpec, Key, KindId, Shape};
use drysheath_office::{Fields, FittingType, Level, Severity, Sex};
use drysheath_syntax::{Token, TokenKind};
use strum::VariantArray;

use super::items::Items;
use super::template::Template;
use super::{CompletionKind, units};

/// Offers what could follow `value`, which is said of `spec` so far. Whether the value is complete as it stands.
pub(super) fn offer(items: &mut Items<'_>, spec: &'static FieldSpec, value: &[Token]) -> bool {
    let mut value = value.to_vec();
    if is_measured(spec.shape) && items.number_is_complete() {
        value.extend(items.caret.before.last());
    }
    let word = spec.word();
    match spec.shape {
        Shape::Text => text(items, &value),
        Shape::YesNo => one_of(items, &value, spec, &[("yes", ""), ("no", "")]),
        Shape::Choice(choices) => {
            let words: Vec<_> = choices.iter().map(|choice| (choice.word(), choice.doc())).collect();
            one_of(items, &value, spec, &words)
        }
        Shape::Count => !value.is_empty(),
        Shape::Numbers => numbers(items, &value),
        Shape::Quantity(dimension) => quantity(items, dimension, word, false, &value),
        Shape::Difference => quantity(items, Dimension::Pressure, word, true, &value),
        Shape::Range(dimension) => range(items, dimension, word, &value),
        Shape::Limit(dimension) => limit(items, dimension, &value),
        Shape::At => place(items, &value),
        Shape::Fitting => fitting(items, &value),
        Shape::Link => link(items, &value),
        Shape::Group(_) => {
            block(items, &value, 0);
            false
        }
        Shape::Named(_) => {
            block(items, &value, 1);
            false
        }
    }
}

fn is_measured(shape: Shape) -> bool {
    matches!(
        shape,
        Shape::Quantity(_) | Shape::Difference | Shape::Range(_) | Shape::Limit(_) | Shape::At | Shape::Fitting
    )
}

fn text(items: &mut Items<'_>, value: &[Token]) -> bool {
    if value.is_empty() {
        quoted(items, "");
    }
    !value.is_empty()
}

/// Offers a text to be filled in.
pub(super) fn quoted(items: &mut Items<'_>, filling: &str) {
    let mut template = Template::default();
    template.text("\"").hole(filling).text("\"");
    let completion = items.offer(CompletionKind::Text, "\"\"");
    completion.detail("text in quotes").snippet = Some(template.snippet);
}

fn one_of(items: &mut Items<'_>, value: &[Token], spec: &FieldSpec, words: &[(&str, &str)]) -> bool {
    if !value.is_empty() {
        return true;
    }
    for (word, doc) in words {
        let is_default = spec.default == Some(word);
        let detail = if is_default {
            "holds where nothing is said"
        } else {
            spec.word()
        };
        items
            .offer(CompletionKind::Choice, *word)
            .detail(detail)
            .documentation(*doc);
    }
    false
}

fn numbers(items: &mut Items<'_>, value: &[Token]) -> bool {
    match value.iter().map(|token| token.kind).collect::<Vec<_>>().as_slice() {
        [] => {
            items.offer(CompletionKind::Value, "1 .. 10").detail("an example");
            false
        }
        [TokenKind::Number] => {
            items.offer(CompletionKind::Keyword, "..").detail("up to");
            true
        }
        [.., last] => *last == TokenKind::Number,
    }
}

/// A number and its unit.
pub(super) fn quantity(
    items: &mut Items<'_>,
    dimension: Dimension,
    field: &str,
    is_difference: bool,
    value: &[Token],
) -> bool {
    if let [number] = value
        && number.kind == TokenKind::Number
    {
        units::offer(items, &[dimension], field, is_difference);
    }
    value.len() > 1
}

/// Two quantities with `..` between. The first may do without a unit.
pub(super) fn range(items: &mut Items<'_>, dimension: Dimension, field: &str, value: &[Token]) -> bool {
    let dots = value.iter().position(|token| token.kind == TokenKind::DotDot);
    let Some(dots) = dots else {
        if !value.is_empty() {
            items.offer(CompletionKind::Keyword, "..").detail("up to");
        }
        quantity(items, dimension, field, false, value);
        return false;
    };
    quantity(
        items,
        dimension,
        field,
        false,
        value.get(dots + 1..).unwrap_or_default(),
    )
}

fn limit(items: &mut Items<'_>, dimension: Dimension, value: &[Token]) -> bool {
    let Some((_, rest)) = value.split_first() else {
        for level in Level::VARIANTS {
            items
                .offer(CompletionKind::Choice, level.word())
                .detail("which limit")
                .insert
                .push(' ');
        }
        return false;
    };
    let text = items.text();
    let deadband = rest.iter().position(|token| token.range.of(text) == "deadband");
    if let Some(deadband) = deadband {
        let value = rest.get(deadband + 1..).unwrap_or_default();
        return quantity(items, dimension, "deadband", dimension == Dimension::Pressure, value);
    }
    if rest.len() < 2 {
        quantity(items, dimension, "limit", false, rest);
        return false;
    }
    if rest.len() == 2 {
        for severity in Severity::VARIANTS {
            let word: &str = (*severity).into();
            items
                .offer(CompletionKind::Choice, word)
                .detail("severity of the alarm (ITU-T X.733)");
        }
    }
    items
        .offer(CompletionKind::Keyword, "deadband")
        .detail("how far the reading must come back before the alarm clears");
    true
}

fn place(items: &mut Items<'_>, value: &[Token]) -> bool {
    let (office, text) = (items.office(), items.text());
    let Some((host, rest)) = value.split_first() else {
        for (id, thing) in office.things() {
            if let Some(kind) = thing
                .kind
                .filter(|kind| matches!(kind.id, KindId::Cable | KindId::AirPipe))
            {
                let completion = items.offer(CompletionKind::Thing, office.name(id));
                completion
                    .detail(kind.word())
                    .documentation("and how far along it, such as `1.2 km`");
            }
        }
        return false;
    };
    let host = items.named(host.range.of(text)).map(|(_, thing)| thing);
    let mut names = |key: Key| {
        for (name, ..) in host.into_iter().flat_map(|host| host.named(key)) {
            items.offer(CompletionKind::Value, name).detail(key.word());
        }
    };
    let words: Vec<&str> = rest.iter().map(|token| token.range.of(text)).collect();
    let on_branch = words.first() == Some(&"branch");
    let along = if on_branch { rest.get(2..) } else { Some(rest) };
    match (words.as_slice(), along) {
        (["branch"], _) => names(Key::Branch),
        ([.., "place"], _) => names(Key::Place),
        ([.., "place", _], _) => return true,
        (_, Some([])) => {
            let has = |key: Key| host.is_some_and(|host| host.has(key));
            let (branch, place) = (has(Key::Branch) && !on_branch, has(Key::Place));
            if place {
                items
                    .offer(CompletionKind::Keyword, "place")
                    .detail("a named place along it")
                    .insert
                    .push(' ');
            }
            if branch {
                items
                    .offer(CompletionKind::Keyword, "branch")
                    .detail("a branch of it")
                    .insert
                    .push(' ');
            }
        }
        (_, Some(along)) => return quantity(items, Dimension::Length, "at", false, along),
        _ => {}
    }
    false
}

/// Size, type and, of a thread, which half.
pub(super) fn fitting(items: &mut Items<'_>, value: &[Token]) -> bool {
    let text = items.text();
    match value {
        [] => false,
        [_] => quantity(items, Dimension::Length, "inlet", false, value),
        [_, _] => {
            for kind in FittingType::VARIANTS {
                let word: &str = (*kind).into();
                items
                    .offer(CompletionKind::Choice, word)
                    .detail("how the joint is made");
            }
            false
        }
        [_, _, kind] if kind.range.of(text) == "thread" => {
            for sex in Sex::VARIANTS {
                let word: &str = (*sex).into();
                items
                    .offer(CompletionKind::Choice, word)
                    .detail("which half of the thread");
            }
            false
        }
        _ => true,
    }
}

fn link(items: &mut Items<'_>, value: &[Token]) -> bool {
    match value.len() {
        0 => {
            for (word, what) in [("lan", "an address"), ("dialled", "a line")] {
                let mut template = Template::default();
                template.text(word).text(" \"").hole("").text("\"");
                let completion = items.offer(CompletionKind::Choice, word);
                completion.detail(format!("and {what} in quotes")).snippet = Some(template.snippet);
                completion.insert.push(' ');
            }
            false
        }
        1 => {
            quoted(items, "");
            false
        }
        _ => true,
    }
}

fn block(items: &mut Items<'_>, value: &[Token], names: usize) {
    if value.len() == names {
        let mut template = Template::default();
        template.text("{ ").rest().text(" }");
        let completion = items.offer(CompletionKind::Keyword, "{");
        completion.detail("its own fields").snippet = Some(template.snippet);
    }
}
