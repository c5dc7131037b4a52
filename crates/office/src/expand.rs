//! Writes an office with its assemblies expanded into statements of the office.

use std::fmt::Write;

use drysheath_syntax::{StatementKind, TokenKind, comments_above, formatted, lex, parse};
use drysheath_text::{Edit, TextRange, apply};

use crate::drawing::{NAME_SEPARATOR, PlacedDrawing};
use crate::kinds::{Key, KindId};
use crate::model::{Office, Thing, ThingId};
use crate::spelling::with_article;
use crate::value::{Field, Value};

/// Joins the name of an assembly and that of a thing in it.
const JOINT: &str = "-";

impl Office {
    /// The text of an equivalent office without placed assemblies: their things become its own, `b3-r` for `b3/r`, with
    /// a field for the assembly that they belong to.
    ///
    /// # Errors
    ///
    /// A message if a name that results is already taken, or if some text cannot be read.
    pub fn expanded(&self) -> Result<String, String> {
        let has_unread = self.problems.iter().any(|problem| problem.id.leaves_unread());
        let is_unread = has_unread || self.unsure.things || self.things.iter().any(|thing| thing.damaged);
        if is_unread {
            return Err(
                "it cannot be read whole, so that something would be lost: run lint, and correct that first".to_owned(),
            );
        }
        let mut known: Vec<(String, &str)> = Vec::new();
        let within = self
            .assemblies()
            .flat_map(|placed| self.things().filter(|(id, _)| placed.things.contains(id)));
        for (id, thing) in within {
            let flat = expanded_name(self.name(id));
            if let Some((_, other)) = known.iter().find(|(known, _)| *known == flat) {
                return Err(format!(
                    "`{other}` and `{}` would both be written as `{flat}`",
                    self.name(id)
                ));
            }
            known.push((flat.clone(), self.name(id)));
            if let Some(other) = self.named(&flat) {
                let kind = self.thing(other).kind.map_or("thing", |kind| kind.word());
                let kind = with_article(kind);
                let name = thing.name.of(&self.text);
                return Err(format!(
                    "`{name}` cannot be written as `{flat}`: there is {kind} of that name"
                ));
            }
        }
        let own = self.own_text();
        let mut edits: Vec<Edit> = Vec::new();
        for placed in self.assemblies() {
            edits.extend(placed.thing.map(|assembly| Edit {
                range: self.thing(assembly).range,
                replacement: self.written_out(placed, assembly),
            }));
        }
        edits.extend(self.uses_of_drawings());
        edits.sort_by_key(|edit| edit.range);
        let whole =
            apply(own, &edits).ok_or("two of its assemblies stand in one place, so that something would be lost")?;
        Ok(formatted(&self.with_flat_names(&whole)))
    }

    /// The assemblies that the office places. Routes are not expanded, since they belong to another office as well.
    fn assemblies(&self) -> impl Iterator<Item = &PlacedDrawing> {
        self.placed.iter().filter(|placed| !placed.is_route())
    }

    /// The statement of an assembly followed by its expanded things. A comment in its block is moved to the thing that
    /// it stands at.
    fn written_out(&self, placed: &PlacedDrawing, assembly: ThingId) -> String {
        let mut within = self.comments_within(assembly);
        let mut statements: Vec<(TextRange, String)> = Vec::new();
        for (id, thing) in self.things().filter(|(id, _)| placed.things.contains(id)) {
            let mut statement = String::new();
            within.retain(|(name, comment)| {
                let is_its = placed.embedding.name_of(name) == self.name(id).into();
                if is_its {
                    let _ = writeln!(statement, "{comment}");
                }
                !is_its
            });
            statement.push_str(&self.statement(id, thing, Some(assembly)));
            statements.push((thing.range, statement));
        }
        let is_drawn = |range: &TextRange| self.placed_at(*range).is_some_and(|own| own.thing == Some(assembly));
        let runs = self.runs.iter().map(|run| run.range);
        let spares = self
            .spares
            .iter()
            .filter(|spare| !spare.is_field)
            .map(|spare| spare.range);
        let stated = self.stated.iter().chain(&self.wired).map(|stated| stated.range);
        let others = runs.chain(spares).chain(stated).filter(is_drawn);
        statements.extend(others.map(|range| (range, range.of(&self.text).to_owned())));
        statements.sort();
        let mut out = String::new();
        for (_, comment) in within {
            let _ = writeln!(out, "{comment}");
        }
        out.push_str(&self.statement(assembly, self.thing(assembly), None));
        for (range, statement) in statements {
            out.push('\n');
            if let Some(comments) = comments_above(&self.text, range.start) {
                let _ = writeln!(out, "{}", comments.of(&self.text).trim_end());
            }
            out.push_str(&statement);
        }
        out
    }

    /// The comments in the block of an assembly, each with the field that it stands above, in or behind.
    fn comments_within(&self, assembly: ThingId) -> Vec<(&str, &str)> {
        let text = self.own_text();
        let range = self.thing(assembly).range;
        let tree = parse(text);
        let statement = tree.statements.iter().find(|statement| statement.range == range);
        let block = statement.and_then(|statement| match &statement.kind {
            StatementKind::Thing(thing) => thing.block.as_ref(),
            _ => None,
        });
        let fields: Vec<TextRange> = block
            .iter()
            .flat_map(|block| &block.fields)
            .map(|field| tree.range(field.name))
            .collect();
        let comments = lex(text)
            .into_iter()
            .filter(|token| token.kind == TokenKind::Comment && range.contains(token.range));
        comments
            .map(|comment| {
                let after = fields.partition_point(|name| name.start < comment.range.start);
                let (before, next) = (after.checked_sub(1).and_then(|at| fields.get(at)), fields.get(after));
                let is_own_line = comments_above(text, comment.range.end + 1).is_some();
                let is_inside = before.is_some_and(|name| is_within_block(text, *name, comment.range.start));
                let at = if is_own_line && !is_inside {
                    next.or(before)
                } else {
                    before.or(next)
                };
                let name = at.map_or("", |name| name.of(text));
                (name, comment.range.of(text).trim_end())
            })
            .collect()
    }

    /// Name of a thing after expansion: `b3-r` for `b3/r`.
    pub fn expanded_name(&self, id: ThingId) -> String {
        expanded_name(self.name(id))
    }

    /// The declaration of a thing with all fields that the office or the drawing states. Fields of its part are left to
    /// the part.
    fn statement(&self, id: ThingId, thing: &Thing, assembly: Option<ThingId>) -> String {
        let mut out = format!("{} {}", thing.kind.map_or("", |kind| kind.word()), self.name(id));
        if let Some(part) = thing.part.as_ref().filter(|_| !thing.is(KindId::Assembly)) {
            let head = thing.range.of(&self.text).split('{').next().unwrap_or_default();
            let part = head.split_once(':').map_or(&*part.name, |(_, written)| written.trim());
            let _ = write!(out, " : {part}");
        }
        let mut fields = String::new();
        for field in &thing.fields {
            self.field(field, &mut fields);
        }
        let takes_assembly = thing
            .kind
            .is_some_and(|kind| kind.field(Key::Assembly.word()).is_some());
        if let Some(assembly) = assembly.filter(|_| takes_assembly) {
            let _ = writeln!(fields, "{} {}", Key::Assembly.word(), self.name(assembly));
        }
        if !fields.is_empty() {
            let _ = write!(out, " {{\n{fields}}}");
        }
        out
    }

    /// Writes a field on its own line, unless a part states it.
    fn field(&self, field: &Field, out: &mut String) {
        let is_here = |field: &Field| field.place.file == self.file || self.is_of_drawing(field);
        let mut inner = String::new();
        match &field.value {
            Value::Group(fields) | Value::Named { fields, .. } => {
                for field in fields {
                    self.field(field, &mut inner);
                }
                if inner.is_empty() {
                    return;
                }
                let name = match &field.value {
                    Value::Named { name, .. } => format!("{} {name}", field.spec.word()),
                    _ => field.spec.word().to_owned(),
                };
                let _ = writeln!(out, "{name} {{\n{inner}}}");
            }
            Value::FormerName(name) if is_here(field) => {
                let _ = writeln!(out, "{} {}", field.spec.word(), expanded_name(name));
            }
            _ if is_here(field) => {
                let text = self
                    .drawn_text(field)
                    .unwrap_or_else(|| field.place.range.of(&self.text));
                let _ = writeln!(out, "{text}");
            }
            _ => {}
        }
    }

    /// Whether a field belongs to an assembly as a whole, from the head of its drawing.
    fn is_of_drawing(&self, field: &Field) -> bool {
        self.assemblies().any(|placed| placed.file == field.place.file)
    }

    /// The text of such a field.
    fn drawn_text(&self, field: &Field) -> Option<&str> {
        let placed = self.assemblies().find(|placed| placed.file == field.place.file)?;
        Some(placed.embedding.placed(field.place.range).of(&self.text))
    }

    /// Edits that replace the `use` of drawings by the files that these use.
    fn uses_of_drawings(&self) -> Vec<Edit> {
        let mut known: Vec<&str> = self.uses.iter().map(|used| &*used.value).collect();
        let mut drawings: Vec<&PlacedDrawing> = Vec::new();
        for placed in self.assemblies() {
            if !drawings.iter().any(|drawing| drawing.path == placed.path) {
                drawings.push(placed);
            }
        }
        let mut edits = Vec::new();
        for placed in drawings {
            let mut new = Vec::new();
            for used in &placed.uses {
                if !known.contains(&&**used) {
                    known.push(used);
                    new.push(&**used);
                }
            }
            let is_of_it = |thing: &Thing| thing.parts().any(|part| part.place.file == placed.file);
            let needs_it = self
                .things
                .iter()
                .any(|thing| !thing.is(KindId::Assembly) && is_of_it(thing));
            if needs_it {
                new.insert(0, &*placed.path);
            }
            // A second `use` of the same drawing is removed.
            let uses = self.uses.iter().filter(|used| used.value == placed.path);
            for (at, used) in uses.enumerate() {
                let edit = match new.split_first().filter(|_| at == 0) {
                    Some((first, others)) => Edit {
                        range: used.range,
                        replacement: others
                            .iter()
                            .fold((*first).to_owned(), |all, other| format!("{all}\nuse {other}")),
                    },
                    None => Edit {
                        range: self.line_of(used.range),
                        replacement: String::new(),
                    },
                };
                edits.push(edit);
            }
        }
        edits
    }

    /// The line that contains a range, including its line end.
    fn line_of(&self, range: TextRange) -> TextRange {
        let text = self.own_text();
        let before = text.get(..range.start as usize).unwrap_or_default();
        let after = text.get(range.end as usize..).unwrap_or_default();
        let start = before.rfind('\n').map_or(0, |at| at + 1);
        let end = after.find('\n').map_or(text.len(), |at| range.end as usize + at + 1);
        TextRange::new(start as u32, end as u32)
    }

    /// Replaces names of things in assemblies by their flat names.
    fn with_flat_names(&self, text: &str) -> String {
        let is_within = |name: &str| {
            let thing = name.contains(NAME_SEPARATOR).then(|| self.named(name)).flatten();
            thing.is_some_and(|id| !self.is_own(self.thing(id).range))
        };
        let mut out = String::with_capacity(text.len());
        for token in lex(text) {
            let written = token.range.of(text);
            if is_within(written) {
                out.push_str(&expanded_name(written));
            } else {
                out.push_str(written);
            }
        }
        out
    }
}

/// Whether a position after the name of a field is still within the block of that field.
fn is_within_block(text: &str, name: TextRange, at: u32) -> bool {
    let between = text.get(name.end as usize..at as usize).unwrap_or_default();
    let depth = lex(between).into_iter().fold(0_i32, |depth, token| match token.kind {
        TokenKind::OpenBrace => depth + 1,
        TokenKind::CloseBrace => depth - 1,
        _ => depth,
    });
    depth > 0
}

fn expanded_name(name: &str) -> String {
    name.replace(NAME_SEPARATOR, JOINT)
}
