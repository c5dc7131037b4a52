//! Fields within braces: those that are not said yet, and what can be said of them.

use drysheath_office::kinds::{FieldSpec, Kind, Need, Shape, field};
use drysheath_syntax::{Block, Field, TokenKind, Tree, Unfinished};
use drysheath_text::Edit;
use drysheath_text::TextRange;

use super::CompletionKind;
use super::items::Items;
use super::template::Template;
use super::values;

/// The block that the caret stands in.
struct Frame<'b> {
    specs: &'static [FieldSpec],
    /// What is said in it before the caret, the field that is being written last.
    fields: &'b [Field],
    tree: &'b Tree,
}

/// Offers what could stand at the caret, in the block of a thing.
pub(super) fn offer(items: &mut Items<'_>, kind: &'static Kind, block: &Block) {
    let Unfinished { tree, caret } = items.caret.unfinished.clone();
    let text = items.text();
    let (mut block, mut specs) = (block, kind.fields);
    while let Some(last) = block.fields.last() {
        let spec = field(specs, tree.range(last.name).of(text));
        let frame = Frame {
            specs,
            fields: &block.fields,
            tree: &tree,
        };
        if let Some(inner) = &last.block {
            specs = spec.map_or(&[], FieldSpec::inner);
            block = inner;
        } else if last.name == caret {
            let before = tree.token(caret.saturating_sub(1)).kind;
            return names(items, kind, &frame, before == TokenKind::Newline);
        } else {
            let value = tree.items(&(last.items.start..caret));
            if spec.is_some_and(|spec| values::offer(items, spec, value)) {
                siblings(items, kind, &frame);
            }
            return;
        }
    }
}

/// The fields that a block does not say yet, those first that must be there.
fn unsaid(items: &Items<'_>, frame: &Frame<'_>) -> Vec<&'static FieldSpec> {
    let text = items.text();
    let before = frame.fields.iter().map(|field| frame.tree.range(field.name));
    let said: Vec<TextRange> = before.chain(said_after(items)).collect();
    let is_said = |spec: &FieldSpec| !spec.shape.repeats() && said.iter().any(|range| range.of(text) == spec.word());
    let mut open: Vec<_> = frame.specs.iter().filter(|spec| !is_said(spec)).collect();
    open.sort_by_key(|spec| spec.need == Need::Optional);
    open
}

/// The names of the fields that follow in the same block.
fn said_after(items: &Items<'_>) -> Vec<TextRange> {
    let (text, tokens) = (items.text(), &items.analysis.tree.tokens);
    let start = tokens.partition_point(|token| token.range.start < items.caret.word.end);
    let mut said = Vec::new();
    let (mut depth, mut begins) = (0, false);
    for token in tokens
        .get(start..)
        .unwrap_or_default()
        .iter()
        .filter(|token| !token.kind.is_trivia())
    {
        match token.kind {
            TokenKind::OpenBrace => depth += 1,
            TokenKind::CloseBrace if depth == 0 => break,
            TokenKind::CloseBrace => depth -= 1,
            kind if kind.is_word() && begins => {
                let line = text.get(..token.range.start as usize).unwrap_or_default();
                // The brace of this block is missing, and another statement follows.
                if line.ends_with('\n') && (kind.starts_statement() || Kind::find(token.range.of(text)).is_some()) {
                    break;
                }
                if depth == 0 {
                    said.push(token.range);
                }
            }
            _ => {}
        }
        begins = matches!(token.kind, TokenKind::Comma | TokenKind::Newline);
    }
    said
}

fn names(items: &mut Items<'_>, kind: &Kind, frame: &Frame<'_>, starts_line: bool) {
    // A field's value starts at a stop where the field starts its line.
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
        detail.push_str("; must be there");
    }
    let completion = items.offer(CompletionKind::Field, spec.word());
    completion.detail(detail).documentation(spec.doc).insert.push(' ');
    completion
}

/// After a complete value another field may follow; the comma between them is put there too.
fn siblings(items: &mut Items<'_>, kind: &Kind, frame: &Frame<'_>) {
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
