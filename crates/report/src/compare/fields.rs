//! The differences between the fields of two things, field by field.

use drysheath_office::kinds::Key;
use drysheath_office::{Field, Office, StatedPosition, ThingId, Value};
use drysheath_text::{FileId, Place};

use super::wording::written;
use crate::Files;

/// A field that differs.
#[derive(Clone, Debug)]
pub(super) struct FieldChange {
    /// The field as written: `span`, `limit low`, `section s1 usage`.
    pub label: String,
    /// The label without names.
    pub kind: String,
    /// Text in the base, as written.
    pub before: Option<String>,
    /// Text in the head, as written.
    pub after: Option<String>,
    /// Place in the head, or in the base if it was removed.
    pub place: Place,
    /// Whether it states the location of a thing.
    pub is_place: bool,
}

impl FieldChange {
    /// Whether it is an added statement that the thing was formerly called `was`.
    pub fn is_former_name(&self, was: &str) -> bool {
        self.label == Key::Formerly.word() && self.before.is_none() && self.after.as_deref() == Some(was)
    }
}

/// Compares fields of the base with those of the head.
pub(super) struct FieldComparer<'c> {
    pub files: &'c dyn Files,
    /// The offices of base and head, when things are compared: their texts include assemblies drawn in other files.
    pub offices: Option<(&'c Office, &'c Office)>,
    /// Whether a thing of the base corresponds to a thing of the head.
    pub is_same_thing: &'c dyn Fn(ThingId, ThingId) -> bool,
    /// Whether two fields can be skipped since their values are reported elsewhere.
    pub is_told: &'c dyn Fn(&Field, &Field) -> bool,
}

impl<'c> FieldComparer<'c> {
    /// The differences in the order of the head; removed fields come last.
    pub fn compare(&self, base: &[Field], head: &[Field]) -> Vec<FieldChange> {
        let mut changes = Vec::new();
        self.level(("", ""), base, head, &mut changes);
        changes
    }

    /// Number of fields of two lists that agree.
    pub fn agreeing(&self, base: &[Field], head: &[Field]) -> usize {
        let same = |before: &&Field| {
            head.iter()
                .any(|after| is_same_field(before, after) && self.agree(before, after))
        };
        base.iter().filter(same).count()
    }

    fn level(&self, above: (&str, &str), base: &[Field], head: &[Field], changes: &mut Vec<FieldChange>) {
        for after in head {
            let Some(before) = partner(after, head, base) else {
                changes.push(self.change(above, None, Some(after), after));
                continue;
            };
            if (self.is_told)(before, after) {
                continue;
            }
            match (&before.value, &after.value) {
                (Value::Group(before), Value::Group(inner))
                | (Value::Named { fields: before, .. }, Value::Named { fields: inner, .. }) => {
                    let named = format!("{}{} ", above.0, label(after));
                    let kind = format!("{}{} ", above.1, kind(after));
                    self.level((&named, &kind), before, inner, changes);
                }
                _ if self.agree(before, after) => {}
                _ => changes.push(self.change(above, Some(before), Some(after), after)),
            }
        }
        for before in base {
            if partner(before, base, head).is_none() {
                changes.push(self.change(above, Some(before), None, before));
            }
        }
    }

    fn change(&self, above: (&str, &str), before: Option<&Field>, after: Option<&Field>, shown: &Field) -> FieldChange {
        // A loss stated at another flow is reported with both figures.
        let is_moved = before
            .zip(after)
            .is_some_and(|(before, after)| !is_same_field(before, after));
        let own = if is_moved {
            shown.spec.word().to_owned()
        } else {
            label(shown)
        };
        FieldChange {
            before: before.map(|field| value(self.before(field), &own)),
            after: after.map(|field| value(self.after(field), &own)),
            label: format!("{}{own}", above.0),
            kind: format!("{}{}", above.1, kind(shown)),
            place: shown.place,
            is_place: shown.spec.key == Key::At && matches!(shown.value, Value::At(_)),
        }
    }

    fn text_of(&self, file: FileId, office: Option<&'c Office>) -> &'c str {
        let own = office.filter(|office| office.file == file);
        own.map_or_else(|| self.files.text(file), |office| &office.text)
    }

    /// Text of a field of the base.
    fn before(&self, field: &Field) -> String {
        let office = self.offices.map(|(base, _)| base);
        written(field.place.range.of(self.text_of(field.place.file, office)))
    }

    /// Text of a field of the head.
    fn after(&self, field: &Field) -> String {
        let office = self.offices.map(|(_, head)| head);
        written(field.place.range.of(self.text_of(field.place.file, office)))
    }

    fn agree(&self, before: &Field, after: &Field) -> bool {
        match (&before.value, &after.value) {
            (Value::Text(one), Value::Text(other))
            | (Value::FormerName(one), Value::FormerName(other))
            | (Value::Path(one), Value::Path(other)) => one == other,
            (Value::YesNo(one), Value::YesNo(other)) => one == other,
            (Value::Count(one), Value::Count(other)) => one == other,
            (Value::Numbers(from, to), Value::Numbers(other_from, other_to)) => (from, to) == (other_from, other_to),
            (Value::PairColours(one, own), Value::PairColours(other, others)) => (one, own) == (other, others),
            (Value::Quantity(one), Value::Quantity(other)) => one == other,
            (Value::DewPoint(one, over), Value::DewPoint(other, other_over)) => (one, over) == (other, other_over),
            (Value::Range(from, to), Value::Range(other_from, other_to)) => (from, to) == (other_from, other_to),
            (Value::Choice(one), Value::Choice(other)) => one == other,
            (Value::Limit(one), Value::Limit(other)) => {
                (one.level, one.value, one.severity, one.deadband)
                    == (other.level, other.value, other.severity, other.deadband)
            }
            (Value::Loss(one), Value::Loss(other)) => one == other,
            (Value::At(one), Value::At(other)) => self.is_same_place(one, other, before, after),
            (Value::Fitting(one), Value::Fitting(other)) => one == other,
            (Value::Link { over, to }, Value::Link { over: other, to: line }) => (over, to) == (other, line),
            (Value::Record(one), Value::Record(other)) => one.text == other.text,
            (Value::Thing(one), Value::Thing(other)) => match (one.thing, other.thing) {
                (Some(one), Some(other)) => (self.is_same_thing)(one, other),
                _ => one.name == other.name,
            },
            (Value::Group(one), Value::Group(other))
            | (Value::Named { fields: one, .. }, Value::Named { fields: other, .. }) => {
                one.len() == other.len() && self.agreeing(one, other) == one.len()
            }
            _ => self.before(before) == self.after(after),
        }
    }

    fn is_same_place(&self, one: &StatedPosition, other: &StatedPosition, before: &Field, after: &Field) -> bool {
        let same_host = match (one.thing, other.thing) {
            (Some(one), Some(other)) => (self.is_same_thing)(one, other),
            _ => {
                let (base, head) = self.offices.unzip();
                let (before, after) = (before.place.file, after.place.file);
                one.name.of(self.text_of(before, base)) == other.name.of(self.text_of(after, head))
            }
        };
        same_host && (&one.branch, one.distance, &one.place) == (&other.branch, other.distance, &other.place)
    }
}

/// Value of a field, without its label.
fn value(text: String, label: &str) -> String {
    let mut rest = text.as_str();
    for word in label.split(' ') {
        rest = rest.strip_prefix(word).map_or(rest, str::trim_start);
    }
    if rest.is_empty() { text } else { rest.to_owned() }
}

/// The field among `others` that corresponds to a field of `own`. Losses stated at other flows correspond in the order
/// of their flows.
fn partner<'f>(field: &Field, own: &[Field], others: &'f [Field]) -> Option<&'f Field> {
    let same = others.iter().find(|other| is_same_field(field, other));
    if same.is_some() || !matches!(field.value, Value::Loss(_)) {
        return same;
    }
    let at = moved_losses(own, others).position(|other| std::ptr::eq(other, field))?;
    moved_losses(others, own).nth(at)
}

/// The losses of `own` at flows for which `others` have none, sorted by flow.
fn moved_losses<'f>(own: &'f [Field], others: &[Field]) -> impl Iterator<Item = &'f Field> {
    let is_loss = |field: &&Field| matches!(field.value, Value::Loss(_));
    let is_moved = |field: &&Field| !others.iter().any(|other| is_same_field(field, other));
    let mut losses: Vec<&Field> = own.iter().filter(is_loss).filter(is_moved).collect();
    let flow = |field: &Field| match field.value {
        Value::Loss(loss) => loss.flow.si(),
        _ => 0.0,
    };
    losses.sort_by(|one, other| flow(one).total_cmp(&flow(other)));
    losses.into_iter()
}

/// Whether two fields correspond: for fields that may be repeated, those with the same level or name.
fn is_same_field(one: &Field, other: &Field) -> bool {
    one.spec.key == other.spec.key
        && match (&one.value, &other.value) {
            (Value::Limit(one), Value::Limit(other)) => one.level == other.level,
            (Value::Named { name, .. }, Value::Named { name: other, .. }) => name == other,
            (Value::Record(one), Value::Record(other)) => one.name == other.name,
            (Value::FormerName(one), Value::FormerName(other)) => one == other,
            (Value::PairColours(one, _), Value::PairColours(other, _)) => one == other,
            (Value::Link { over, .. }, Value::Link { over: other, .. }) => over == other,
            // Rows correspond if they share numbers.
            (Value::Numbers(from, to), Value::Numbers(other_from, other_to)) if one.spec.shape.has_rows() => {
                from <= other_to && other_from <= to
            }
            (Value::Loss(one), Value::Loss(other)) => one.flow == other.flow,
            _ => true,
        }
}

/// Label of a field without a name or number: `section`, `limit low`.
fn kind(field: &Field) -> String {
    match &field.value {
        Value::Named { .. } | Value::Record(_) | Value::Loss(_) | Value::PairColours(..) => {
            field.spec.word().to_owned()
        }
        _ => label(field),
    }
}

fn label(field: &Field) -> String {
    match &field.value {
        Value::Limit(limit) => format!("{} {}", field.spec.word(), limit.level.word()),
        Value::Named { name, .. } => format!("{} {name}", field.spec.word()),
        Value::Record(recorded) => format!("{} {}", field.spec.word(), recorded.name),
        Value::Loss(loss) => format!("{} at {}", field.spec.word(), loss.flow),
        Value::PairColours(pair, _) => format!("{} {pair}", field.spec.word()),
        Value::Link { over, .. } => format!("{} {}", field.spec.word(), over.word()),
        _ => field.spec.word().to_owned(),
    }
}
