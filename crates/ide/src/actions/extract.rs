//! Extracts a part from a thing's own fields, inserted above it.

use drysheath_office::kinds::{Key, Kind, KindId, field};
use drysheath_syntax::{Block, Field, Statement, StatementKind, Thing, Tree, with_comments};
use drysheath_text::{Edit, TextRange};
use drysheath_workspace::{Analysis, Snapshot};

use super::{Proposal, laid_out};
use crate::line_edits::{above, whole_line};

/// Fields that belong to a single thing and are not moved to a part.
const OWN: [Key; 20] = [
    Key::At,
    Key::Branch,
    Key::Formerly,
    Key::Label,
    Key::Length,
    Key::Limit,
    Key::Link,
    Key::Location,
    Key::Minimum,
    Key::Normal,
    Key::Note,
    Key::Order,
    Key::Place,
    Key::Record,
    Key::Room,
    Key::Reports,
    Key::Section,
    Key::Stage,
    Key::Title,
    Key::Usage,
];
/// Fewer fields are not worth a part.
const FEWEST: usize = 2;

/// Whether a field describes one thing alone.
pub(super) fn is_own_key(key: Key) -> bool {
    OWN.contains(&key)
}

/// A part made of the thing in whose head a range lies.
pub(super) fn part(snapshot: &Snapshot, analysis: &Analysis, range: TextRange) -> Option<Proposal> {
    let (text, tree) = (&*analysis.text, &analysis.tree);
    let statements = tree.statements.iter().filter(|statement| !statement.damaged);
    let (statement, thing) = statements
        .filter_map(|statement| Some((statement, declared(statement)?)))
        .find(|(statement, thing)| {
            let head = thing
                .block
                .as_ref()
                .map_or(statement.range.end, |block| tree.range(block.open).start);
            statement.range.start <= range.start && range.end <= head
        })?;
    let kind = Kind::find(tree.range(thing.kind?).of(text)).filter(|kind| kind.id != KindId::Office)?;
    let (name, block) = (tree.range(thing.name?), thing.block.as_ref()?);
    let is_own = |it: &Field| field(kind.fields, tree.range(it.name).of(text)).is_none_or(|spec| is_own_key(spec.key));
    let moved: Vec<&Field> = block.fields.iter().filter(|field| !is_own(field)).collect();
    if thing.part.is_some() || moved.len() < FEWEST {
        return None;
    }
    let part = free_name(snapshot, analysis, name.of(text));
    let said: Vec<&str> = moved.iter().map(|field| tree.field_range(field).of(text)).collect();
    let declaration = laid_out(&format!("part {} {part} {{\n{}\n}}", kind.word(), said.join("\n")));
    let mut edits = vec![above(text, with_comments(text, statement.range).start, &declaration)];
    edits.extend(of_part(text, tree, statement, thing, &part, |field| !is_own(field)));
    Some(Proposal::new(
        format!("Make a part `{part}` of `{}`", name.of(text)),
        edits,
    ))
}

/// The edits that make a thing one of a part, in place of what it was, and take the fields out that it has from there.
pub(super) fn of_part(
    text: &str,
    tree: &Tree,
    statement: &Statement,
    thing: &Thing,
    part: &str,
    is_taken: impl Fn(&Field) -> bool,
) -> Vec<Edit> {
    let Some(name) = thing.part.or(thing.name) else {
        return Vec::new();
    };
    let name = tree.range(name);
    let after = |end| match thing.part {
        Some(_) => Edit {
            range: TextRange::new(name.start, end),
            replacement: part.to_owned(),
        },
        None => Edit {
            range: TextRange::new(name.end, end),
            replacement: format!(" : {part}"),
        },
    };
    let Some(block) = &thing.block else {
        return vec![after(name.end)];
    };
    let (taken, kept): (Vec<&Field>, Vec<&Field>) = block.fields.iter().partition(|field| is_taken(field));
    if kept.is_empty() {
        // Without fields of its own the thing needs no block.
        return vec![after(statement.range.end)];
    }
    let mut edits = vec![after(name.end)];
    if !taken.is_empty() {
        edits.extend(take_out(text, tree, block, &kept, &taken));
    }
    edits
}

/// A thing that is declared by a statement.
pub(super) fn declared(statement: &Statement) -> Option<&Thing> {
    match &statement.kind {
        StatementKind::Thing(thing) => Some(thing),
        _ => None,
    }
}

/// Edits that remove fields from a block.
fn take_out(text: &str, tree: &Tree, block: &Block, kept: &[&Field], moved: &[&Field]) -> Vec<Edit> {
    let all = tree.block_range(block);
    let remove = |range| Edit {
        range,
        replacement: String::new(),
    };
    if !all.of(text).contains('\n') {
        let said: Vec<&str> = kept.iter().map(|field| tree.field_range(field).of(text)).collect();
        return vec![Edit {
            range: all,
            replacement: format!("{{ {} }}", said.join(", ")),
        }];
    }
    let with_comma = |field: &&Field| {
        let range = tree.field_range(field);
        let rest = text.get(range.end as usize..).unwrap_or_default();
        let blanks = rest.len() - rest.trim_start_matches([' ', '\t']).len();
        let comma = rest.trim_start_matches([' ', '\t']).starts_with(',');
        let end = if comma {
            range.end + blanks as u32 + 1
        } else {
            range.end
        };
        remove(whole_line(text, TextRange::new(range.start, end)))
    };
    moved.iter().map(with_comma).collect()
}

/// A name that neither a part nor a thing has.
fn free_name(snapshot: &Snapshot, analysis: &Analysis, thing: &str) -> String {
    let parts = snapshot.parts_within_reach(analysis);
    let office = &analysis.office;
    let is_free = |name: &str| {
        !parts.iter().any(|part| *part.name == *name) && !office.things().any(|(id, _)| office.name(id) == name)
    };
    let base = format!("{thing}-like");
    let most = parts.len() + office.things.len() + 2;
    let numbered = (2..=most).map(|number| format!("{base}-{number}"));
    let mut names = std::iter::once(base.clone()).chain(numbered);
    names.find(|name| is_free(name)).unwrap_or(base)
}
