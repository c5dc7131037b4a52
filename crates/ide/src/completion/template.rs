//! Snippets: text with placeholders in the protocol's syntax.

use std::sync::LazyLock;

use drysheath_office::kinds::{FieldSpec, Key, Kind, KindId, Need, Shape};
use drysheath_office::{Field, Fields, NoParts, Office, Value, lower};
use drysheath_rules::example::OFFICE;
use drysheath_syntax::parse;
use drysheath_text::FileId;

/// A snippet under construction.
#[derive(Debug, Default)]
pub(super) struct Template {
    pub snippet: String,
    holes: u32,
}

impl Template {
    pub fn text(&mut self, text: &str) -> &mut Self {
        for character in text.chars() {
            if matches!(character, '$' | '}' | '\\') {
                self.snippet.push('\\');
            }
            self.snippet.push(character);
        }
        self
    }

    /// Adds a placeholder with its default text.
    pub fn hole(&mut self, filling: &str) -> &mut Self {
        self.holes += 1;
        self.snippet = format!("{}${{{}:", self.snippet, self.holes);
        self.text(filling);
        self.snippet.push('}');
        self
    }

    /// Marks the final position of the caret.
    pub fn rest(&mut self) -> &mut Self {
        self.snippet.push_str("$0");
        self
    }

    /// Adds a field with a value. `column` is the width of its name.
    pub fn field(&mut self, office: &Office, kind: &Kind, spec: &FieldSpec, column: usize) -> &mut Self {
        self.text(&format!("{:<column$} ", spec.word(), column = column.saturating_sub(1)));
        match spec.shape {
            Shape::Text => self.text("\"").hole("").text("\""),
            Shape::Link => self.hole("lan").text(" \"").hole("192.0.2.1").text("\""),
            Shape::Record => self.hole("serial").text(" \"").hole("").text("\""),
            // A former name of another thing is no useful sample.
            Shape::FormerName => self.hole("name"),
            Shape::Path => self.hole("offices/name"),
            Shape::Thing(kind) => {
                let known = office.of_kind(kind).next().map(|(id, _)| office.name(id));
                self.hole(known.unwrap_or("name"))
            }
            Shape::Group(inner) => self.block(office, kind, spec, inner),
            Shape::Named(inner) => {
                self.hole(name_for(spec.key)).text(" ");
                self.block(office, kind, spec, inner)
            }
            Shape::At => {
                let mut hosts = office
                    .things()
                    .filter(|(_, thing)| thing.is(KindId::Cable) || thing.is(KindId::AirPipe));
                let host = hosts.next().map_or("c101", |(id, _)| office.name(id));
                self.hole(&format!("{host} 1 km"))
            }
            _ => self.hole(&said(office, kind, &[spec.key]).unwrap_or_else(|| sample(spec).to_owned())),
        }
    }

    fn block(&mut self, office: &Office, kind: &Kind, spec: &FieldSpec, inner: &[FieldSpec]) -> &mut Self {
        self.text("{ ");
        for (at, inner) in needed(inner, office).enumerate() {
            self.text(if at > 0 { ", " } else { "" }).text(inner.word()).text(" ");
            let said = said(office, kind, &[spec.key, inner.key]);
            self.hole(&said.unwrap_or_else(|| sample(inner).to_owned()));
        }
        self.text(" }")
    }

    /// A snippet of a whole thing: all its required fields.
    pub fn thing(office: &Office, kind: &Kind, name: &str) -> Self {
        const FEW: usize = 2;
        const COLUMN: usize = 16;
        let mut template = Self::default();
        template.text(kind.word()).text(" ").hole(name);
        let fields: Vec<&FieldSpec> = match kind.id {
            KindId::Office => fields(kind, &[Key::Title, Key::Site, Key::Elevation, Key::Stage]),
            _ => needed(kind.fields, office).collect(),
        };
        if fields.len() <= FEW && !fields.iter().any(|spec| !spec.inner().is_empty()) {
            for (at, spec) in fields.iter().enumerate() {
                template
                    .text(if at == 0 { " { " } else { ", " })
                    .field(office, kind, spec, 0);
            }
            template.text(if fields.is_empty() { "" } else { " }" }).rest();
            return template;
        }
        template.text(" {\n");
        for spec in fields {
            template.text("    ").field(office, kind, spec, COLUMN).text("\n");
        }
        template.text("}").rest();
        template
    }
}

fn fields<'k>(kind: &'k Kind, keys: &[Key]) -> Vec<&'k FieldSpec> {
    keys.iter().filter_map(|key| kind.field(key.word())).collect()
}

/// The required fields at the office's stage. A section's length is given by its surroundings; a cable has sections,
/// and the usage of a section is needed for the air network.
pub(super) fn needed<'s>(specs: &'s [FieldSpec], office: &Office) -> impl Iterator<Item = &'s FieldSpec> {
    let planned = office.is_planned() && office.itself.is_some();
    let is_section = specs.iter().any(|spec| spec.key == Key::Resistance);
    let is_cable = specs.iter().any(|spec| spec.key == Key::Branch);
    specs.iter().filter(move |spec| match spec.need {
        Need::Always => true,
        Need::Installed => !planned,
        Need::Optional => {
            (is_section && matches!(spec.key, Key::Buried | Key::Usage)) || (is_cable && spec.key == Key::Section)
        }
    })
}

/// A sample value for a field that neither this office nor the example has.
fn sample(spec: &FieldSpec) -> &'static str {
    if let Some(default) = spec.default {
        return default;
    }
    match spec.key {
        Key::Bore => "3/4 in",
        Key::Depth => "2 m",
        _ => spec.shape.sample(),
    }
}

fn name_for(key: Key) -> &'static str {
    match key {
        Key::Section => "s1",
        Key::Branch => "b1",
        Key::Place => "mh-1",
        Key::Contact => "humidity",
        Key::Control => "start",
        _ => "name",
    }
}

static EXAMPLE: LazyLock<Office> = LazyLock::new(|| {
    let tree = parse(OFFICE);
    lower(FileId::default(), "example", OFFICE.into(), &tree, &NoParts)
});

/// A sample value from things of a kind: the last one in this office, or else the example office's.
fn said(office: &Office, kind: &Kind, path: &[Key]) -> Option<String> {
    [office, &*EXAMPLE].into_iter().find_map(|office| {
        let mut things = office.things.iter().rev().filter(|thing| thing.is(kind.id));
        things.find_map(|thing| said_in(office, thing.fields(), path))
    })
}

fn said_in(office: &Office, fields: &[Field], path: &[Key]) -> Option<String> {
    let (key, rest) = path.split_first()?;
    let mut of_key = fields
        .iter()
        .filter(|field| field.spec.key == *key && field.place.file == office.file);
    of_key.find_map(|field| match &field.value {
        Value::Unreadable => None,
        Value::Group(inner) | Value::Named { fields: inner, .. } => said_in(office, inner, rest),
        _ if rest.is_empty() => {
            let written = field.place.range.of(&office.text);
            Some(written.strip_prefix(key.word())?.trim().to_owned())
        }
        _ => None,
    })
}
