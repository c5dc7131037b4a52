//! Statement starts, and what stands before a thing's block.

use drysheath_office::kinds::{KINDS, Kind, KindId};
use drysheath_syntax::{Block, Medium, StatementKind, Token, TokenKind};

use super::items::Items;
use super::template::Template;
use super::{CompletionKind, ends, fields, records};
use crate::days::months_after;

/// Offers what could be written at the caret.
pub(super) fn offer(items: &mut Items<'_>) {
    let before = items.caret.before.clone();
    let Some((first, rest)) = before.split_first() else {
        return statement(items);
    };
    match first.kind {
        TokenKind::Use if rest.is_empty() => records::files(items),
        TokenKind::Part => thing(items, rest, true),
        TokenKind::Air => ends::offer(items, Medium::Air, rest),
        TokenKind::Wire => ends::offer(items, Medium::Wire, rest),
        TokenKind::Power => ends::offer(items, Medium::Power, rest),
        TokenKind::Ground => ends::offer(items, Medium::Ground, rest),
        TokenKind::Spare => records::spare(items, rest),
        TokenKind::Accept => records::accept(items, rest),
        TokenKind::Reading => records::reading(items, rest),
        TokenKind::Word => thing(items, &before, false),
        _ => {}
    }
}

/// The start of a statement. A file has one office, so that its word comes last once it is there.
fn statement(items: &mut Items<'_>) {
    if items.caret.kind.is_some_and(|kind| !kind.is_word()) {
        return;
    }
    let has_office = items.office().itself.is_some();
    for kind in KINDS.iter().filter(|kind| kind.id != KindId::Office || !has_office) {
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
        .hole(&months_after(today, 12).to_string())
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

/// What statements there are besides things.
const STATEMENTS: [(&str, &str); 9] = [
    (
        "air",
        "A run of air along the arrows, such as `air d1 -> r1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m`.",
    ),
    (
        "wire",
        "A signal's way, such as `wire ps1 -> c101 pair 37 -> tb pair 3 -> m1 sensor 3`.",
    ),
    (
        "power",
        "A run of battery, such as `power pdf fuse 1 -> m1 with 3 A, 14 awg, 6 m`.",
    ),
    (
        "ground",
        "A ground conductor, such as `ground m1 frame -> ogb with 6 awg, 3 m`.",
    ),
    ("spare", "What nothing uses, such as `spare tb pair 5 .. 25`."),
    ("accept", "A result that is right as it is, why, and until when."),
    ("reading", "What was read on a visit, held against what is predicted."),
    ("part", "A thing described once, for many to be of."),
    (
        "use",
        "Makes the parts of another file known, such as `use parts/field-sensors`.",
    ),
];

fn offer_kind<'i>(items: &'i mut Items<'_>, kind: &'static Kind) -> &'i mut super::Completion {
    let completion = items.offer(CompletionKind::Kind, kind.word());
    completion
        .detail("kind of thing")
        .documentation(kind.summary)
        .insert
        .push(' ');
    completion
}

/// A thing or a part, from its kind on.
fn thing(items: &mut Items<'_>, before: &[Token], is_part: bool) {
    let text = items.text();
    let Some(word) = before.first() else {
        for kind in KINDS.iter().filter(|kind| kind.id != KindId::Office) {
            offer_kind(items, kind);
        }
        return;
    };
    let Some(kind) = Kind::find(word.range.of(text)) else {
        return;
    };
    if let Some(block) = block_at(items) {
        return fields::offer(items, kind, &block);
    }
    let colon = before.iter().position(|token| token.kind == TokenKind::Colon);
    match (before.len(), colon) {
        (1, _) if !is_part => {
            let name = free_name(items, kind);
            items.offer(CompletionKind::Text, name).detail("a name that is free");
        }
        (2, None) => {
            if !is_part {
                parts(items, kind, ": ");
            }
            block(items, kind);
        }
        (3, Some(2)) => parts(items, kind, ""),
        (4, Some(2)) => block(items, kind),
        _ => {}
    }
}

/// The block of the thing or part that is being written.
fn block_at(items: &Items<'_>) -> Option<Block> {
    match &items.caret.unfinished.statement()?.kind {
        StatementKind::Thing(thing) | StatementKind::Part(thing) => thing.block.clone(),
        _ => None,
    }
}

fn block(items: &mut Items<'_>, kind: &Kind) {
    let mut template = Template::default();
    template.text("{\n    ").rest().text("\n}");
    let completion = items.offer(CompletionKind::Keyword, "{");
    completion.detail(format!("fields of this {}", kind.word())).snippet = Some(template.snippet);
}

/// The parts of a kind that are within reach.
fn parts(items: &mut Items<'_>, kind: &Kind, before: &str) {
    for part in items.snapshot.parts_within_reach(items.analysis) {
        if part.kind.id != kind.id {
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
        let completion = items.offer(CompletionKind::Part, format!("{before}{}", part.name));
        completion
            .detail(detail)
            .documentation(format!("says {}", words.join(", ")));
    }
}

/// A name that is free for a thing of a kind: the next after the last of its kind, or the letters of the kind and a number.
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

/// What the only one of a kind is usually called.
fn usual_name(kind: KindId) -> Option<&'static str> {
    match kind {
        KindId::Office => Some("office-name"),
        KindId::Battery => Some("main"),
        KindId::FusePanel => Some("pdf"),
        KindId::GroundBar => Some("ogb"),
        KindId::Manifold => Some("mf"),
        KindId::Block => Some("tb"),
        KindId::Cable => Some("c101"),
        _ => None,
    }
}
