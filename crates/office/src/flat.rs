//! An office written flat: what is drawn of its assemblies is written out, as statements of the office.

use std::fmt::Write;

use drysheath_syntax::{comments_above, formatted, lex};
use drysheath_text::{Edit, TextRange, apply};

use crate::drawing::{Placed, WITHIN};
use crate::kinds::{Key, KindId};
use crate::model::{Office, Thing, ThingId};
use crate::value::{Field, Value};

/// Between the name of an assembly and that of a thing in it, where both are one name.
const JOINT: &str = "-";

impl Office {
    /// The text of an office that says the same without placing anything: the things of assemblies are its own, `b3-r` for `b3/r`,
    /// and say which assembly they belong to.
    ///
    /// # Errors
    ///
    /// In words, if the name of such a thing is already another one's.
    pub fn flat(&self) -> Result<String, String> {
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
            let flat = flat_name(self.name(id));
            if let Some((_, other)) = known.iter().find(|(known, _)| *known == flat) {
                return Err(format!(
                    "`{other}` and `{}` would both be written as `{flat}`",
                    self.name(id)
                ));
            }
            known.push((flat.clone(), self.name(id)));
            if let Some(other) = self.named(&flat) {
                let kind = self.thing(other).kind.map_or("thing", |kind| kind.word());
                let name = thing.name.of(&self.text);
                return Err(format!(
                    "`{name}` cannot be written as `{flat}`: there is a {kind} of that name"
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
        let whole = apply(own, &edits).unwrap_or_else(|| own.to_owned());
        Ok(formatted(&self.with_flat_names(&whole)))
    }

    /// The assemblies that the office places. A route stays a route: it belongs to another office as well.
    fn assemblies(&self) -> impl Iterator<Item = &Placed> {
        self.placed.iter().filter(|placed| !placed.is_route())
    }

    /// The statement of an assembly, and after it all that is drawn of it.
    fn written_out(&self, placed: &Placed, assembly: ThingId) -> String {
        let mut statements: Vec<(TextRange, String)> = Vec::new();
        for (id, thing) in self.things().filter(|(id, _)| placed.things.contains(id)) {
            statements.push((thing.range, self.statement(id, thing, Some(assembly))));
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
        let mut out = self.statement(assembly, self.thing(assembly), None);
        for (range, statement) in statements {
            out.push('\n');
            if let Some(comments) = comments_above(&self.text, range.start) {
                let _ = writeln!(out, "{}", comments.of(&self.text).trim_end());
            }
            out.push_str(&statement);
        }
        out
    }

    /// The declaration of a thing with all that is said of it here or in a drawing. What its part says it takes from there.
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

    /// A field on a line of its own, unless a part says it.
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
                let _ = writeln!(out, "{} {}", field.spec.word(), flat_name(name));
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

    /// Whether a field is that of an assembly as a whole, from the head of its drawing.
    fn is_of_drawing(&self, field: &Field) -> bool {
        self.assemblies().any(|placed| placed.file == field.place.file)
    }

    /// The text of such a field.
    fn drawn_text(&self, field: &Field) -> Option<&str> {
        let placed = self.assemblies().find(|placed| placed.file == field.place.file)?;
        Some(placed.placed(field.place.range).of(&self.text))
    }

    /// The edits by which the office uses what the drawings use, and the drawings no more.
    fn uses_of_drawings(&self) -> Vec<Edit> {
        let mut known: Vec<&str> = self.uses.iter().map(|used| &*used.value).collect();
        let mut edits = Vec::new();
        for placed in self.assemblies() {
            let mut new = Vec::new();
            for used in placed
                .uses
                .iter()
                .filter(|used| !known.contains(&&***used))
                .collect::<Vec<_>>()
            {
                known.push(used);
                new.push(&**used);
            }
            let Some(used) = self.uses.iter().find(|used| used.value == placed.path) else {
                continue;
            };
            let is_of_it = |thing: &Thing| thing.parts().any(|part| part.place.file == placed.file);
            let needs_it = self
                .things
                .iter()
                .any(|thing| !thing.is(KindId::Assembly) && is_of_it(thing));
            if needs_it {
                new.insert(0, &*placed.path);
            }
            let edit = match new.split_first() {
                Some((first, others)) => Edit {
                    range: used.range,
                    replacement: others
                        .iter()
                        .fold((*first).to_owned(), |all, other| format!("{all}\nuse {other}")),
                },
                None if edits.iter().any(|edit: &Edit| edit.range.contains(used.range)) => continue,
                None => Edit {
                    range: self.line_of(used.range),
                    replacement: String::new(),
                },
            };
            if !edits.contains(&edit) {
                edits.push(edit);
            }
        }
        edits
    }

    /// The whole line around a range, with its end.
    fn line_of(&self, range: TextRange) -> TextRange {
        let text = self.own_text();
        let before = text.get(..range.start as usize).unwrap_or_default();
        let after = text.get(range.end as usize..).unwrap_or_default();
        let start = before.rfind('\n').map_or(0, |at| at + 1);
        let end = after.find('\n').map_or(text.len(), |at| range.end as usize + at + 1);
        TextRange::new(start as u32, end as u32)
    }

    /// A text with the flat names of things in assemblies.
    fn with_flat_names(&self, text: &str) -> String {
        let is_within = |name: &str| {
            let thing = name.contains(WITHIN).then(|| self.named(name)).flatten();
            thing.is_some_and(|id| !self.is_own(self.thing(id).range))
        };
        let mut out = String::with_capacity(text.len());
        for token in lex(text) {
            let written = token.range.of(text);
            if is_within(written) {
                out.push_str(&flat_name(written));
            } else {
                out.push_str(written);
            }
        }
        out
    }
}

fn flat_name(name: &str) -> String {
    name.replace(WITHIN, JOINT)
}
