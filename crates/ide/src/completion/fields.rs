//! Completes fields in braces: missing fields, and their values.

use drysheath_office::kinds::{FieldSpec, Kind, KindId, Need, Shape, field};
use drysheath_office::{NAME_SEPARATOR, ThingId};
use drysheath_syntax::{Block, IncompleteStatement, StatementKind, TokenKind, Tree};
use drysheath_text::Edit;
use drysheath_text::TextRange;

use super::CompletionKind;
use super::items::Items;
use super::template::Template;
use super::values;
use crate::words::statement_at;

/// The block around the caret.
struct EnclosingBlock<'b> {
    specs: &'static [FieldSpec],
    /// The block up to the caret; the field being written comes last.
    block: &'b Block,
    /// The tree of `block`.
    tree: &'b Tree,
}

/// Offers continuations at the caret, in the block of a thing with a kind and name.
pub(super) fn offer(
    items: &mut Items<'_>,
    unfinished: &IncompleteStatement,
    (mut kind, name): (&'static Kind, &str),
    block: &Block,
) {
    let tree = &unfinished.tree;
    let (mut block, mut specs) = (block, kind.fields);
    // In an assembly's block, things inside it may be named too.
    let mut assembly = items.office().named(name).filter(|_| kind.id == KindId::Assembly);
    while let Some(last) = block.fields.last() {
        let spec = field(specs, tree.range(last.name).of(items.text()));
        let frame = EnclosingBlock { specs, block, tree };
        if let Some(inner) = &last.block {
            let within = assembly.take().filter(|_| spec.is_none());
            let within = within.and_then(|assembly| kind_within(items, assembly, tree.range(last.name)));
            kind = within.unwrap_or(kind);
            specs = within.map_or_else(|| spec.map_or(&[][..], FieldSpec::inner), |kind| kind.fields);
            block = inner;
        } else if last.name == unfinished.caret {
            let before = unfinished.before().last();
            let starts_line = before.is_some_and(|before| before.kind == TokenKind::Newline);
            names(items, kind, &frame, starts_line);
            if let Some(assembly) = assembly {
                things_within(items, assembly, &frame);
            }
            return;
        } else {
            let value = unfinished.before_in(last.items);
            if spec.is_some_and(|spec| values::offer(items, spec, value)) {
                siblings(items, kind, &frame);
            }
            return;
        }
    }
}

/// Kind of the thing that is called so in the drawing of an assembly.
fn kind_within(items: &Items<'_>, assembly: ThingId, name: TextRange) -> Option<&'static Kind> {
    let office = items.office();
    let thing = office.within(assembly, name.of(items.text()))?;
    office.thing(thing).kind
}

/// Offers the things of a placed assembly that its block does not mention yet.
fn things_within(items: &mut Items<'_>, assembly: ThingId, frame: &EnclosingBlock<'_>) {
    let office = items.office();
    let Some(placed) = office.placed_by(assembly) else {
        return;
    };
    let text = items.text();
    let before = frame.block.fields.iter().map(|field| frame.tree.range(field.name));
    let said: Vec<&str> = before
        .chain(after_caret(items, frame))
        .map(|range| range.of(text))
        .collect();
    let things = office.things().filter(|(id, _)| placed.things.contains(id));
    let things: Vec<(&str, &Kind)> = things
        .filter_map(|(id, thing)| Some((office.name(id).rsplit(NAME_SEPARATOR).next()?, thing.kind?)))
        .filter(|(name, _)| !said.contains(name))
        .collect();
    for (name, kind) in things {
        let mut template = Template::default();
        template.text(name).text(" { ").rest().text(" }");
        let completion = items.offer(CompletionKind::Thing, name);
        completion.detail(format!("the {} of this assembly", kind.word()));
        completion.insert.push_str(" { ");
        completion.snippet = Some(template.snippet);
    }
}

/// The fields that a block lacks, required ones first.
fn unsaid(items: &Items<'_>, frame: &EnclosingBlock<'_>) -> Vec<&'static FieldSpec> {
    let text = items.text();
    let before = frame.block.fields.iter().map(|field| frame.tree.range(field.name));
    let said: Vec<TextRange> = before.chain(after_caret(items, frame)).collect();
    let is_said = |spec: &FieldSpec| !spec.shape.repeats() && said.iter().any(|range| range.of(text) == spec.word());
    let mut open: Vec<_> = frame
        .specs
        .iter()
        .filter(|spec| spec.gone.is_none() && !is_said(spec))
        .collect();
    open.sort_by_key(|spec| spec.need == Need::Optional);
    open
}

/// The names of the fields after the caret in the same block, from the tree of the whole file.
fn after_caret(items: &Items<'_>, frame: &EnclosingBlock<'_>) -> Vec<TextRange> {
    let tree = &*items.analysis.tree;
    let open = frame.tree.range(frame.block.open);
    let statement = statement_at(items.analysis, open.start).map(|statement| &statement.kind);
    let Some(StatementKind::Thing(thing) | StatementKind::Part(thing)) = statement else {
        return Vec::new();
    };
    let block = thing.block.as_ref().and_then(|block| opened_at(tree, block, open));
    let names = block
        .into_iter()
        .flat_map(|block| &block.fields)
        .map(|field| tree.range(field.name));
    names.filter(|name| name.start >= items.caret.word.end).collect()
}

/// The block opened by the brace at `open`: `block` or one inside it.
fn opened_at<'b>(tree: &Tree, block: &'b Block, open: TextRange) -> Option<&'b Block> {
    if tree.range(block.open) == open {
        return Some(block);
    }
    let mut inner = block.fields.iter().filter_map(|field| field.block.as_ref());
    inner.find_map(|inner| opened_at(tree, inner, open))
}

fn names(items: &mut Items<'_>, kind: &Kind, frame: &EnclosingBlock<'_>, starts_line: bool) {
    // If a field starts its line, its value is aligned to a column.
    const COLUMN: usize = 16;
    for spec in unsaid(items, frame) {
        let mut template = Template::default();
        template.field(items.office(), kind, spec, if starts_line { COLUMN } else { 0 });
        name(items, spec).snippet = Some(template.snippet);
    }
}

fn name<'i>(items: &'i mut Items<'_>, spec: &'static FieldSpec) -> &'i mut super::Completion {
    let mut detail = match spec.shape {
        Shape::Choice(choices) => choices
            .iter()
            .map(|choice| choice.word())
            .collect::<Vec<_>>()
            .join(", "),
        shape => shape.wanted().replace('`', ""),
    };
    if let Some(default) = spec.default {
        detail = format!("{detail}; {default} where it is left out");
    }
    if spec.need != Need::Optional {
        detail.push_str("; required");
    }
    let completion = items.offer(CompletionKind::Field, spec.word());
    completion.detail(detail).documentation(spec.doc).insert.push(' ');
    completion
}

/// Offers another field after a complete value, with the comma between them.
fn siblings(items: &mut Items<'_>, kind: &Kind, frame: &EnclosingBlock<'_>) {
    let Some(last) = items.caret.before.last().map(|last| last.range.end) else {
        return;
    };
    let comma = Edit {
        range: TextRange::empty(last),
        replacement: ",".to_owned(),
    };
    if items.caret.word.start <= last {
        return;
    }
    for spec in unsaid(items, frame) {
        let mut template = Template::default();
        template.field(items.office(), kind, spec, 0);
        let completion = name(items, spec);
        completion.snippet = Some(template.snippet);
        completion.also.push(comma.clone());
    }
}
