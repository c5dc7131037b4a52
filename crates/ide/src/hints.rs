//! Inlay hints: colours and pins of pairs, expected readings, fields of parts. Each can be disabled in the settings.

use drysheath_office::kinds::Role;
use drysheath_office::{Field, Fields, Meaning, SemanticToken, Thing, ThingId, UnitPreferences, Value};
use drysheath_rules::EditorKey;
use drysheath_syntax::{Statement, StatementKind};
use drysheath_text::{Edit, TextRange};
use drysheath_workspace::Analysis;

use crate::explainer::explainer;
use crate::hover::expected;
use crate::line_edits::end_of_line;
use crate::notation;
use crate::pair_identity::PairIdentity;

/// An inlay hint, shown in the line but not part of the text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Hint {
    /// The offset after which it is shown.
    pub at: u32,
    /// Text shown in the line.
    pub label: String,
    /// Full text, for the tooltip.
    pub more: String,
    /// The setting that enables it.
    pub key: EditorKey,
    /// The edit that inserts it into the text, if possible.
    pub edit: Option<Edit>,
}

/// The hints of the statements in a range.
pub fn hints(analysis: &Analysis, range: TextRange) -> Vec<Hint> {
    let shows = |key| analysis.settings.shows(key);
    let statements = &analysis.tree.statements;
    let start = statements.partition_point(|statement| statement.range.end < range.start);
    let touched = statements
        .iter()
        .skip(start)
        .take_while(|statement| statement.range.start <= range.end);
    let tokens = |statement| analysis.office.semantic_tokens(&analysis.tree, statement);
    let units = UnitPreferences::of(&analysis.office);
    let mut hints = Vec::new();
    for statement in touched {
        match statement.kind {
            StatementKind::Thing(_) => {
                if let Some((id, thing)) = declared(analysis, statement) {
                    if shows(EditorKey::HintsParts) {
                        hints.extend(of_part(analysis, thing, &tokens(statement)));
                    }
                    if shows(EditorKey::HintsPredictions) {
                        predictions(analysis, &units, id, thing, &mut hints);
                    }
                }
            }
            StatementKind::Run(_) | StatementKind::Spare(_) | StatementKind::Pairs(_)
                if shows(EditorKey::HintsColours) =>
            {
                let may_write = matches!(statement.kind, StatementKind::Run(_));
                colours(analysis, &tokens(statement), may_write, &mut hints);
            }
            _ => {}
        }
    }
    hints
}

/// The thing that a statement declares.
fn declared<'a>(analysis: &'a Analysis, statement: &Statement) -> Option<(ThingId, &'a Thing)> {
    let id = analysis.office.declared_at(statement.range)?;
    Some((id, analysis.office.thing(id)))
}

/// Adds colours and pins after the numbers of pairs.
fn colours(analysis: &Analysis, tokens: &[SemanticToken], may_write: bool, hints: &mut Vec<Hint>) {
    let pair = |token: &SemanticToken| match token.meaning {
        Meaning::Numbered { thing, port, number } if port.role == Role::Pair => {
            PairIdentity::of(&analysis.office, thing, number)
        }
        _ => None,
    };
    let mut rest = tokens;
    while let [first, after @ ..] = rest {
        rest = after;
        let Some(identity) = pair(first) else { continue };
        let hint = match rest {
            [dots, last, after @ ..] if matches!(dots.meaning, Meaning::Operator) && pair(last).is_some() => {
                rest = after;
                pair(last).map(|until| Hint {
                    at: last.range.end,
                    label: format!("{} .. {}", identity.short(true), until.short(true)),
                    more: format!("{} to {}", identity.written(), until.written()),
                    key: EditorKey::HintsColours,
                    edit: None,
                })
            }
            _ => {
                let stated = rest
                    .first()
                    .filter(|next| matches!(next.meaning, Meaning::Colours { .. }));
                let at = stated.unwrap_or(first).range.end;
                Some(Hint {
                    at,
                    label: identity.short(stated.is_none()),
                    more: identity.sentences().join("; "),
                    key: EditorKey::HintsColours,
                    edit: (may_write && stated.is_none()).then(|| Edit {
                        range: TextRange::empty(at),
                        replacement: format!(" {}", identity.written()),
                    }),
                })
            }
        };
        hints.extend(hint.filter(|hint| !hint.label.is_empty()));
    }
}

/// Adds the expected reading after the span, or after the sensor's name if a part declares the span.
fn predictions(analysis: &Analysis, units: &UnitPreferences, id: ThingId, thing: &Thing, hints: &mut Vec<Hint>) {
    for reading in explainer(analysis).readings(id) {
        let Some(expected) = expected(&reading, units) else {
            continue;
        };
        let own = reading
            .span
            .map(|(.., place)| place)
            .filter(|place| is_own(analysis, thing, *place));
        let name = thing.name.of(&analysis.text);
        let word = reading.word().map(|word| format!("{word} "));
        let shown_word = word.as_ref().filter(|_| own.is_none());
        hints.push(Hint {
            at: own.map_or(thing.name.end, |place| place.range.end),
            label: format!("reads {}{expected}", shown_word.map_or("", String::as_str)),
            more: format!(
                "`{name}` should read {}{expected} of its span",
                word.as_deref().unwrap_or_default()
            ),
            key: EditorKey::HintsPredictions,
            edit: None,
        });
    }
}

fn is_own(analysis: &Analysis, thing: &Thing, place: drysheath_text::Place) -> bool {
    place.file == analysis.file && thing.range.contains(place.range)
}

/// The fields that a thing inherits from its part, at the end of the line, unless that would disturb aligned columns.
fn of_part(analysis: &Analysis, thing: &Thing, tokens: &[SemanticToken]) -> Option<Hint> {
    const WIDEST: usize = 60;
    thing.part.as_ref()?;
    let part = tokens
        .iter()
        .find(|token| matches!(token.meaning, Meaning::Part { declares: false }))?;
    let taken = taken(analysis, thing, thing.fields());
    (!taken.is_empty()).then(|| Hint {
        at: end_of_line(&analysis.text, part.range.end),
        label: shortened(
            &format!("{}: {}", part.range.of(&analysis.text), taken.join(", ")),
            WIDEST,
        ),
        more: taken.join("\n"),
        key: EditorKey::HintsParts,
        edit: None,
    })
}

/// The fields that a thing inherits from its part, also within its own groups and named fields.
fn taken(analysis: &Analysis, thing: &Thing, fields: &[Field]) -> Vec<String> {
    let of_field = |field: &Field| {
        if !is_own(analysis, thing, field.place) {
            return Some(notation::field(&analysis.office, field));
        }
        let (head, inner) = match &field.value {
            Value::Group(inner) => (field.spec.word().to_owned(), inner),
            Value::Named { name, fields, .. } => (format!("{} {name}", field.spec.word()), fields),
            _ => return None,
        };
        let inner = taken(analysis, thing, inner);
        (!inner.is_empty()).then(|| format!("{head} {{ {} }}", inner.join(", ")))
    };
    fields.iter().filter_map(of_field).collect()
}

/// Truncates a text, at a comma if possible.
fn shortened(text: &str, widest: usize) -> String {
    if text.chars().count() <= widest {
        return text.to_owned();
    }
    let cut = text.char_indices().nth(widest).map_or(text.len(), |(at, _)| at);
    let head = text.get(..cut).unwrap_or_default();
    let head = head.rsplit_once(", ").map_or(head, |(head, _)| head);
    format!("{head}, …")
}
