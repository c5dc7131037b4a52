//! Completes the start of statements, and the head of a thing.

use drysheath_office::kinds::{KINDS, Kind, KindId};
use drysheath_syntax::{Expected, IncompleteStatement, StatementKind, Thing, TokenKind};

use super::items::Items;
use super::template::Template;
use super::{CompletionKind, ends, fields, records, states};
use crate::statements::STATEMENTS;

/// Offers continuations at the caret.
pub(super) fn offer(items: &mut Items<'_>, unfinished: &IncompleteStatement) {
    let Some(first) = unfinished.before().first() else {
        return statement(items);
    };
    if first.kind == TokenKind::When {
        return states::offer(items, unfinished.before());
    }
    match unfinished.statement().map(|statement| &statement.kind) {
        Some(StatementKind::Run(run)) => ends::offer(items, unfinished, run),
        Some(StatementKind::Spare(spare)) => records::spare(items, unfinished.before_in(spare.items)),
        Some(StatementKind::Pairs(stated)) => records::stated(items, stated.state, unfinished.before_in(stated.items)),
        Some(StatementKind::Reading(reading)) => records::reading(items, unfinished.before_in(reading.items)),
        Some(StatementKind::Thing(thing) | StatementKind::Part(thing)) => {
            self::thing(items, unfinished, thing, first.kind == TokenKind::Part);
        }
        Some(StatementKind::Use(_) | StatementKind::Accept(_) | StatementKind::When(_) | StatementKind::Unreadable)
        | None => {
            for expected in unfinished.expected() {
                records::offer(items, unfinished, expected);
            }
        }
    }
}

/// Offers the first words of statements. A file has one office, so that word comes last once there is one.
fn statement(items: &mut Items<'_>) {
    if items.caret.kind.is_some_and(|kind| !kind.is_word()) {
        return;
    }
    let has_office = items.office().itself.is_some();
    for kind in KINDS.iter().filter(|kind| !says_what_file_is(kind) || !has_office) {
        let template = Template::thing(items.office(), kind, &free_name(items, kind));
        offer_kind(items, kind).snippet = Some(template.snippet);
    }
    let today = items.snapshot.today();
    let mut accept = Template::default();
    accept
        .text("accept ")
        .hole("rule")
        .text(" on ")
        .hole("thing")
        .text(" because \"")
        .hole("why it is right as it is");
    accept
        .text("\" until ")
        .hole(&today.months_later(12).to_string())
        .rest();
    for (word, doc) in STATEMENTS {
        let completion = items
            .offer(CompletionKind::Keyword, word)
            .detail("statement")
            .documentation(doc);
        completion.insert.push(' ');
    }
    if let Some(completion) = items.found.iter_mut().find(|found| found.label == "accept") {
        completion.snippet = Some(accept.snippet);
    }
    if let Some(completion) = items.found.iter_mut().find(|found| found.label == "reading") {
        completion.insert = format!("reading {today} ");
    }
}

/// Whether a thing of this kind determines the type of its file: there is only one, in the first statement.
fn says_what_file_is(kind: &Kind) -> bool {
    matches!(kind.id, KindId::Office | KindId::Route)
}

fn offer_kind<'i>(items: &'i mut Items<'_>, kind: &'static Kind) -> &'i mut super::Completion {
    let completion = items.offer(CompletionKind::Kind, kind.word());
    completion
        .detail("kind of thing")
        .documentation(kind.summary)
        .insert
        .push(' ');
    completion
}

/// Completes a thing or part after its kind.
fn thing(items: &mut Items<'_>, unfinished: &IncompleteStatement, thing: &Thing, is_part: bool) {
    let word = thing
        .kind
        .map_or("", |word| unfinished.tree.range(word).of(items.text()));
    let kind = Kind::find(word);
    if let Some((kind, block)) = kind.zip(thing.block.as_ref()) {
        let name = thing
            .name
            .map_or("", |name| unfinished.tree.range(name).of(items.text()));
        return fields::offer(items, unfinished, (kind, name), block);
    }
    for expected in unfinished.expected() {
        match (expected, kind) {
            (Expected::ThingKind, _) => {
                for kind in KINDS.iter().filter(|kind| !says_what_file_is(kind)) {
                    offer_kind(items, kind);
                }
            }
            (Expected::ThingName, Some(kind)) if !is_part => {
                let name = free_name(items, kind);
                items.offer(CompletionKind::Text, name).detail("a name that is free");
            }
            (Expected::Colon, Some(kind)) => parts(items, kind, ": ", is_part),
            (Expected::PartName, Some(kind)) => parts(items, kind, "", is_part),
            (Expected::OpenBrace, Some(kind)) => block(items, kind),
            _ => {}
        }
    }
}

fn block(items: &mut Items<'_>, kind: &Kind) {
    let mut template = Template::default();
    template.text("{\n    ").rest().text("\n}");
    let completion = items.offer(CompletionKind::Keyword, "{");
    completion.detail(format!("fields of this {}", kind.word())).snippet = Some(template.snippet);
}

/// Offers the parts of a kind within reach; as base of a part only those without a base.
fn parts(items: &mut Items<'_>, kind: &Kind, before: &str, for_part: bool) {
    let within_reach = items.snapshot.parts_within_reach(items.analysis);
    for part in &within_reach {
        if part.kind.id != kind.id || for_part && part.of.is_some() {
            continue;
        }
        let own = part.place.file == items.analysis.file;
        let from = if own {
            None
        } else {
            items.snapshot.path(part.place.file)
        };
        let detail = match from.as_deref().and_then(|path| path.file_stem()) {
            Some(file) => format!("part in {}", file.to_string_lossy()),
            None => "part in this file".to_owned(),
        };
        let words: Vec<_> = part.fields.iter().map(|field| field.spec.word()).collect();
        // A name declared in several files is offered with its file.
        let name = if within_reach.iter().filter(|other| other.name == part.name).count() > 1 {
            format!("{}/{}", items.snapshot.name(part.place.file), part.name)
        } else {
            part.name.to_string()
        };
        let completion = items.offer(CompletionKind::Part, format!("{before}{name}"));
        completion
            .detail(detail)
            .documentation(format!("says {}", words.join(", ")));
    }
}

/// A free name for a thing of a kind: the next after the last one of the kind, or the kind's letters and a number.
fn free_name(items: &Items<'_>, kind: &Kind) -> String {
    let office = items.office();
    let is_digit = |last: char| last.is_ascii_digit();
    let of_kind = office.of_kind(kind.id).map(|(id, _)| office.name(id));
    let last = of_kind.filter(|name| name.ends_with(is_digit)).last();
    let is_free = |name: &str| !office.things().any(|(id, _)| office.name(id) == name);
    if last.is_none()
        && let Some(usual) = usual_name(kind.id).filter(|usual| is_free(usual))
    {
        return usual.to_owned();
    }
    let letters = || kind.word().split('-').filter_map(|word| word.chars().next()).collect();
    let stem: String = last.map_or_else(letters, |last| last.trim_end_matches(is_digit).to_owned());
    let number = |name: &str| name.strip_prefix(&*stem)?.parse::<u32>().ok();
    let numbers = office.things().filter_map(|(id, _)| number(office.name(id)));
    format!("{stem}{}", numbers.max().unwrap_or_default().saturating_add(1))
}

/// Usual name of a thing if there is only one of its kind.
fn usual_name(kind: KindId) -> Option<&'static str> {
    match kind {
        KindId::Office => Some("office-name"),
        KindId::Battery => Some("main"),
        KindId::FusePanel => Some("pdf"),
        KindId::GroundBar => Some("ogb"),
        KindId::Filter => Some("fl1"),
        KindId::Bottle => Some("n1"),
        KindId::Tank => Some("tk1"),
        KindId::Manifold => Some("mf"),
        KindId::Block => Some("tb"),
        KindId::Cable => Some("c101"),
        _ => None,
    }
}
