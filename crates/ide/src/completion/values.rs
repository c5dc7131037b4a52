//! Completes the value of a field, given the tokens so far.

use drysheath_engineering::units::Unit;
use drysheath_office::kinds::{FieldSpec, Key, KindId, Shape};
use drysheath_office::line::{sections, shown_length, surroundings};
use drysheath_office::{Candidate, Fields, FittingType, LimitLevel, Severity, Sex, ThingId};
use drysheath_syntax::Token;
use strum::VariantArray;

use super::items::Items;
use super::template::Template;
use super::{CompletionKind, address, units};

/// Offers continuations of `value`, the value of `spec` so far. Returns whether the value is complete.
pub(super) fn offer(items: &mut Items<'_>, spec: &'static FieldSpec, value: &[Token]) -> bool {
    let mut value = value.to_vec();
    if is_measured(spec.shape) && items.number_is_complete() {
        value.extend(items.caret.before.last());
    }
    let names = match spec.shape {
        Shape::Group(_) => Some(0),
        Shape::Named(_) => Some(1),
        _ => None,
    };
    if let Some(names) = names {
        if value.len() == names {
            block(items);
        }
        return false;
    }
    let (candidates, is_whole) = items.office().candidates_in_value(spec, &value);
    for candidate in &candidates {
        match candidate {
            Candidate::YesNo => one_of(items, spec, &[("yes", ""), ("no", "")]),
            Candidate::Choice(choices) => {
                let words: Vec<_> = choices.iter().map(|choice| (choice.word(), choice.doc())).collect();
                one_of(items, spec, &words);
            }
            _ => {}
        }
    }
    if let (Key::Address, Shape::Count(most), true) = (spec.key, spec.shape, value.is_empty()) {
        address::offer(items, most);
    }
    all(items, spec.word(), &candidates);
    is_whole
}

fn is_measured(shape: Shape) -> bool {
    matches!(
        shape,
        Shape::Quantity(_)
            | Shape::Difference
            | Shape::DewPoint
            | Shape::Range(_)
            | Shape::Limit(_)
            | Shape::Loss
            | Shape::At
            | Shape::Fitting
    )
}

/// Offers candidates of any kind. `field` is the field of the value, or the first word of the statement.
pub(super) fn all(items: &mut Items<'_>, field: &str, candidates: &[Candidate]) {
    for candidate in candidates {
        one(items, *candidate);
    }
    let units: Vec<&'static Unit> = candidates
        .iter()
        .filter_map(|candidate| match candidate {
            Candidate::Unit { dimension, from } => Some(dimension.units().filter(|unit| from.suits(unit))),
            _ => None,
        })
        .flatten()
        .collect();
    units::offer(items, units, field);
}

fn one(items: &mut Items<'_>, candidate: Candidate) {
    match candidate {
        Candidate::Text => quoted(items, ""),
        Candidate::Numbers => {
            items.offer(CompletionKind::Value, "1 .. 10").detail("an example");
        }
        Candidate::Lettered => {
            let completion = items.offer(CompletionKind::Value, "A1 .. A10");
            completion.detail("with the letters printed before the numbers");
        }
        Candidate::Dots => dots(items),
        Candidate::Level => words(items, LimitLevel::VARIANTS, "which limit", " "),
        Candidate::Severity => words(items, Severity::VARIANTS, "severity of the alarm (ITU-T X.733)", ""),
        Candidate::FittingType => words(items, FittingType::VARIANTS, "how the joint is made", ""),
        Candidate::Sex => words(items, Sex::VARIANTS, "which half of the thread", ""),
        Candidate::LinkKind => link(items),
        Candidate::RecordName => record_names(items),
        Candidate::OfKind(kind) => of_kind(items, kind),
        Candidate::Word(word) => keyword(items, word),
        Candidate::Host => hosts(items),
        Candidate::NameOf(thing, key) => names(items, thing, key, key.word()),
        Candidate::SectionOf(cable, branch) => branch_sections(items, cable, branch),
        Candidate::Position(line) => positions(items, line),
        _ => {}
    }
}

/// Offers a text with a placeholder.
pub(super) fn quoted(items: &mut Items<'_>, filling: &str) {
    let mut template = Template::default();
    template.text("\"").hole(filling).text("\"");
    let completion = items.offer(CompletionKind::Text, "\"\"");
    completion.detail("text in quotes").snippet = Some(template.snippet);
}

pub(super) fn dots(items: &mut Items<'_>) {
    items
        .offer(CompletionKind::Keyword, "..")
        .detail("up to")
        .insert
        .push(' ');
}

/// Offers the names of a thing's named fields.
pub(super) fn names(items: &mut Items<'_>, thing: ThingId, key: Key, detail: &str) {
    let names = items.office().thing(thing).named(key).map(|(name, ..)| name);
    for name in names.filter(|name| !name.is_empty()) {
        items.offer(CompletionKind::Value, name).detail(detail);
    }
}

/// Offers the names of the sections of a cable's branch.
fn branch_sections(items: &mut Items<'_>, cable: ThingId, branch: usize) {
    let Some((of, _, fields)) = items.office().thing(cable).named(Key::Branch).nth(branch) else {
        return;
    };
    for (name, ..) in fields.named(Key::Section).filter(|(name, ..)| !name.is_empty()) {
        items
            .offer(CompletionKind::Value, name)
            .detail(format!("section of branch {of}"));
    }
}

/// Offers the known positions along a cable or air pipe: its places, the ends of its sections or its own end, and the
/// locations of other things.
fn positions(items: &mut Items<'_>, line: ThingId) {
    /// Positions closer than this are merged, m.
    const SAME: f64 = 0.01;
    let office = items.office();
    let thing = office.thing(line);
    for (name, _, fields) in thing.named(Key::Place).filter(|(name, ..)| !name.is_empty()) {
        let at = fields.quantity(Key::At).map(|(at, _)| at.to_string());
        items
            .offer(CompletionKind::Value, format!("place {name}"))
            .detail(at.unwrap_or_default());
    }
    let mut known: Vec<(f64, String, String)> = Vec::new();
    let mut reached = 0.0;
    for (name, section) in sections(thing, None).into_iter().flatten() {
        let Some((_, metres)) = surroundings(section) else {
            break;
        };
        reached += metres;
        known.push((reached, shown_length(thing, None, reached), format!("end of {name}")));
    }
    if let Some((length, _)) = thing.quantity(Key::Length).filter(|_| thing.is(KindId::AirPipe)) {
        known.push((length.si(), length.to_string(), format!("end of {}", office.name(line))));
    }
    let written = office.thing_around(items.caret.word);
    for (id, _) in office.things().filter(|(id, _)| Some(*id) != written) {
        if let Some(at) = office
            .host(id)
            .filter(|at| at.thing == Some(line) && at.branch.is_none())
            && let Some(distance) = at.distance
        {
            let what = format!("where {} is", office.name(id));
            known.push((distance.si(), distance.to_string(), what));
        }
    }
    let mut offered: Vec<f64> = Vec::new();
    for (metres, length, what) in known {
        if offered.iter().all(|other| (other - metres).abs() > SAME) {
            items.offer(CompletionKind::Value, length).detail(what);
            offered.push(metres);
        }
    }
}

fn one_of(items: &mut Items<'_>, spec: &FieldSpec, words: &[(&str, &str)]) {
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
}

fn words<T: Copy + Into<&'static str>>(items: &mut Items<'_>, words: &[T], detail: &str, after: &str) {
    for word in words {
        let completion = items.offer(CompletionKind::Choice, Into::<&str>::into(*word));
        completion.detail(detail).insert.push_str(after);
    }
}

fn keyword(items: &mut Items<'_>, word: &'static str) {
    let detail = match word {
        "over" => "of a dew point: water or ice; of a decay test: how long it took",
        "deadband" => "how far the reading must come back before the alarm clears",
        "place" => "a named place along it",
        "branch" => "a branch of it",
        "tube" => "a tube of that outside diameter",
        "bore" => "that inside diameter",
        "loop" => "resistance of its loop",
        "dew-point" => "dew point of its air at the delivered pressure",
        "supply" => "voltage at its terminals",
        "decay" => "how fast it lost its pressure while it was closed",
        "underground" => "temperature of the air in cable in duct or manhole",
        "buried" => "temperature of the air in cable laid in earth",
        "aerial" => "temperature of the air in cable on poles",
        "for" => "all that time, from the beginning on",
        "within" => "before that time is over",
        "at" => "of a loss: its flow; of an adapter: its end; of a decay test: temperatures before and after",
        _ => "",
    };
    let is_last = matches!(word, "tube" | "bore");
    let completion = items.offer(CompletionKind::Keyword, word).detail(detail);
    completion.insert.push_str(if is_last { "" } else { " " });
}

fn hosts(items: &mut Items<'_>) {
    for (id, thing) in items.named_things() {
        let kind = thing.kind;
        if kind.is_some_and(|kind| matches!(kind.id, KindId::Cable | KindId::AirPipe)) {
            items
                .offer_thing(id)
                .documentation("and how far along it, such as `1.2 km`");
        }
    }
}

/// Offers the names listed in the settings, then those used by other things in this file.
fn record_names(items: &mut Items<'_>) {
    let listed = items.analysis.settings.record_names().unwrap_or_default();
    let here = items.office().things.iter().flat_map(Fields::recorded);
    let here = here.filter(|(recorded, _)| recorded.range != items.caret.word);
    let here = here.map(|(recorded, _)| (&*recorded.name, "recorded of other things here"));
    let mut names: Vec<(&str, &str)> = listed.iter().map(|name| (&**name, "listed in the settings")).collect();
    for (name, detail) in here {
        if !names.iter().any(|(known, _)| *known == name) {
            names.push((name, detail));
        }
    }
    for (name, detail) in names {
        let mut template = Template::default();
        template.text(name).text(" \"").hole("").text("\"");
        let completion = items.offer(CompletionKind::Value, name);
        completion.detail(detail).snippet = Some(template.snippet);
        completion.insert.push(' ');
    }
}

fn of_kind(items: &mut Items<'_>, kind: KindId) {
    for (id, _) in items.named_things().filter(|(_, thing)| thing.is(kind)) {
        items.offer_thing(id);
    }
}

fn link(items: &mut Items<'_>) {
    for (word, what) in [("lan", "an address"), ("dialled", "a line")] {
        let mut template = Template::default();
        template.text(word).text(" \"").hole("").text("\"");
        let completion = items.offer(CompletionKind::Choice, word);
        completion.detail(format!("and {what} in quotes")).snippet = Some(template.snippet);
        completion.insert.push(' ');
    }
}

fn block(items: &mut Items<'_>) {
    let mut template = Template::default();
    template.text("{ ").rest().text(" }");
    let completion = items.offer(CompletionKind::Keyword, "{");
    completion.detail("its own fields").snippet = Some(template.snippet);
}
