//! The outline of a file, as a tree: things and parts with their blocks and limits.

use drysheath_office::kinds::{self, FieldSpec, Key, Kind, KindId, Shape};
use drysheath_syntax::{self as syntax, Block, Field, StatementKind, TokenId, TokenSpan};
use drysheath_text::TextRange;
use drysheath_workspace::Analysis;

/// Kind of an outline item.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SymbolKind {
    /// A thing, including the office itself.
    Thing(KindId),
    /// A part for things of this kind.
    Part(KindId),
    /// A named field: a section, branch, place or contact.
    Named(Key),
    /// A group of fields.
    Group(Key),
    /// A limit of a reading.
    Limit,
}

/// An item of the outline: a thing, or something inside one.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OutlineItem {
    /// Name shown in the outline; never empty.
    pub name: String,
    /// Further text for the line.
    pub detail: String,
    /// Kind of item, for the icon.
    pub kind: SymbolKind,
    /// Range of the whole item.
    pub range: TextRange,
    /// Range of its name, within `range`.
    pub selection: TextRange,
    /// What is declared inside it: named fields, groups and limits.
    pub children: Vec<OutlineItem>,
}

/// The outline of a file, in order.
pub fn outline(analysis: &Analysis) -> Vec<OutlineItem> {
    let reader = OutlineBuilder(analysis);
    let statements = analysis.tree.statements.iter();
    let item = |statement: &syntax::Statement| match &statement.kind {
        StatementKind::Thing(thing) => reader.declaration(thing, statement.range, SymbolKind::Thing, ""),
        StatementKind::Part(part) => reader.declaration(part, statement.range, SymbolKind::Part, "part "),
        _ => None,
    };
    statements.filter_map(item).collect()
}

struct OutlineBuilder<'a>(&'a Analysis);

impl OutlineBuilder<'_> {
    fn word(&self, word: TokenId) -> &str {
        self.0.tree.range(word).of(&self.0.text)
    }

    fn declaration(
        &self,
        thing: &syntax::Thing,
        range: TextRange,
        symbol: fn(KindId) -> SymbolKind,
        before: &str,
    ) -> Option<OutlineItem> {
        let kind = Kind::find(self.word(thing.kind?))?;
        let name = thing.name?;
        let mut detail = format!("{before}{}", kind.word());
        if let Some(part) = thing.part {
            detail.push_str(" : ");
            detail.push_str(self.word(part));
        }
        let block = thing.block.as_ref();
        if let Some(title) = block.and_then(|block| self.title(block)) {
            detail.push(' ');
            detail.push_str(title);
        }
        shown(OutlineItem {
            name: self.word(name).to_owned(),
            detail,
            kind: symbol(kind.id),
            range,
            selection: self.0.tree.range(name),
            children: block.map_or_else(Vec::new, |block| self.block(block, kind.fields)),
        })
    }

    /// The title in a block, without quotes.
    fn title(&self, block: &Block) -> Option<&str> {
        let mut fields = block.fields.iter();
        let title = fields.find(|field| self.word(field.name) == Key::Title.word() && !field.damaged)?;
        Some(self.said(title.items)).filter(|title| !title.is_empty())
    }

    fn block(&self, block: &Block, specs: &'static [FieldSpec]) -> Vec<OutlineItem> {
        let fields = block.fields.iter();
        fields.filter_map(|field| self.field(field, specs)).collect()
    }

    fn field(&self, field: &Field, specs: &'static [FieldSpec]) -> Option<OutlineItem> {
        let word = self.word(field.name);
        let spec = kinds::field(specs, word)?;
        let items = self.said(field.items);
        let (kind, name, detail) = match spec.shape {
            Shape::Named(_) => (SymbolKind::Named(spec.key), items.to_owned(), self.first(field)),
            Shape::Group(_) => (SymbolKind::Group(spec.key), word.to_owned(), self.first(field)),
            Shape::Limit(_) => {
                let (level, rest) = items.split_once(char::is_whitespace).unwrap_or((items, ""));
                (SymbolKind::Limit, format!("{word} {level}"), rest.to_owned())
            }
            _ => return None,
        };
        let name_range = self.0.tree.range(field.name);
        let items_range = self.0.tree.items_range(field.items);
        let selection = match kind {
            SymbolKind::Named(_) => items_range,
            _ => name_range,
        };
        let block = field.block.as_ref();
        shown(OutlineItem {
            name,
            detail,
            kind,
            range: self.0.tree.field_range(field),
            selection,
            children: block.map_or_else(Vec::new, |block| self.block(block, spec.inner())),
        })
    }

    /// The first detail of a named field: for a section its surroundings and length, for a contact its normal state.
    fn first(&self, field: &Field) -> String {
        let first = field.block.as_ref().and_then(|block| block.fields.first());
        first.map_or_else(String::new, |first| {
            format!("{} {}", self.word(first.name), self.said(first.items))
                .trim_end()
                .to_owned()
        })
    }

    fn said(&self, items: TokenSpan) -> &str {
        self.0.tree.items_range(items).of(&self.0.text)
    }
}

/// The item, if its name is not blank.
fn shown(item: OutlineItem) -> Option<OutlineItem> {
    let range = item.range.cover(item.selection);
    (!item.name.trim().is_empty()).then_some(OutlineItem { range, ..item })
}
