//! The changes of one office in terms of the trade.

mod circuits;
mod runs;
mod statements;

use drysheath_office::{Field, Networks, Office, Thing, ThingId};
use drysheath_text::{Encoding, LineIndex, Place, TextRange};

use super::fields::{FieldChange, FieldComparer};
use super::matching::Matching;
use super::record::{ChangeRecord, Deed, Of};
use super::wording::written;
use crate::Files;

/// One state of an office.
#[derive(Clone, Copy)]
pub(super) struct OfficeState<'s> {
    pub office: &'s Office,
    pub networks: &'s Networks,
    pub lines: &'s LineIndex,
}

impl OfficeState<'_> {
    fn line(&self, range: TextRange) -> u32 {
        // Things drawn in another file are reported at the assembly that contains them.
        let start = self.office.own_range(range).start;
        let position = self.lines.position(&self.office.text, start, Encoding::Utf32);
        position.line + 1
    }

    /// Text of a range of the office's file, joined to one line.
    fn written(&self, range: TextRange) -> String {
        written(range.of(&self.office.text))
    }
}

/// Two states of an office, and how their things match.
pub(super) struct Changes<'s> {
    pub base: OfficeState<'s>,
    pub head: OfficeState<'s>,
    pub matching: &'s Matching,
    pub files: &'s dyn Files,
    found: Vec<ChangeRecord>,
}

/// Lists the changes: renamed things first, then moved, changed, and added and removed ones.
pub(super) fn changes<'s>(
    base: OfficeState<'s>,
    head: OfficeState<'s>,
    matching: &'s Matching,
    files: &'s dyn Files,
) -> Vec<ChangeRecord> {
    let mut changes = Changes {
        base,
        head,
        matching,
        files,
        found: Vec::new(),
    };
    changes.things();
    changes.parts();
    changes.circuits();
    changes.runs();
    changes.statements();
    let mut found = changes.found;
    found.sort_by_key(|change| change.what);
    found
}

/// The thing or part that a field belongs to.
#[derive(Clone, Copy)]
pub(super) struct Subject<'s> {
    /// Name of the thing or part.
    pub name: &'s str,
    /// Title of the thing.
    pub title: Option<&'s str>,
}

/// The place where a change is reported.
enum ChangePlace {
    Base(TextRange),
    Head(TextRange),
}

impl Changes<'_> {
    fn tell(&mut self, what: Deed, of: Of, subject: String, words: (Option<String>, Option<String>), at: &ChangePlace) {
        let line = match at {
            ChangePlace::Base(range) => self.base.line(*range),
            ChangePlace::Head(range) => self.head.line(*range),
        };
        let (before, after) = words;
        self.found.push(ChangeRecord {
            what,
            of,
            subject,
            title: None,
            field: None,
            field_kind: None,
            before,
            after,
            line: Some(line),
        });
    }

    fn things(&mut self) {
        let (base, head) = (self.base.office, self.head.office);
        for (before, after) in &self.matching.renamed {
            let names = (Some(base.name(*before).to_owned()), Some(head.name(*after).to_owned()));
            let place = head.thing(*after).name;
            let kind = kind_word(head.thing(*after));
            self.tell(
                Deed::Renamed,
                Of::Thing,
                kind.to_owned(),
                names,
                &ChangePlace::Head(place),
            );
        }
        for (id, thing) in head.things() {
            let before = self.matching.base_of(id);
            match before.map(|before| (base.thing(before), base.name(before))) {
                Some((before, was)) => {
                    // The office's own name is in the heading of its changes.
                    let title = head.title(id).filter(|_| head.itself != Some(id));
                    let name = head.name(id);
                    self.thing((before, was), thing, Subject { name, title });
                }
                None => {
                    let told = named(&self.head, id, thing);
                    let way = circuits::circuits_of(&self.head, id);
                    self.tell(
                        Deed::Added,
                        Of::Thing,
                        told,
                        (None, way),
                        &ChangePlace::Head(thing.range),
                    );
                }
            }
        }
        for (id, thing) in base.things() {
            if self.matching.head_of(id).is_none() {
                let told = named(&self.base, id, thing);
                let way = circuits::circuits_of(&self.base, id);
                self.tell(
                    Deed::Removed,
                    Of::Thing,
                    told,
                    (way, None),
                    &ChangePlace::Base(thing.range),
                );
            }
        }
    }

    /// Records the changes of a thing that exists in both states.
    fn thing(&mut self, (before, was): (&Thing, &str), after: &Thing, subject: Subject<'_>) {
        let kinds = (kind_word(before), kind_word(after));
        if kinds.0 != kinds.1 {
            self.field(
                subject,
                "kind",
                (Some(kinds.0.to_owned()), Some(kinds.1.to_owned())),
                after.name,
            );
        }
        let part = |thing: &Thing| thing.part.as_ref().map(|part| part.name.to_string());
        let parts = (part(before), part(after));
        let is_same_part = parts.0 == parts.1;
        if !is_same_part {
            self.field(subject, "part", parts, after.name);
        }
        let (base_file, head_file) = (self.base.office.file, self.head.office.file);
        let own =
            |field: &Field, thing: &Thing, file| field.place.file == file && thing.range.contains(field.place.range);
        let matching = self.matching;
        let comparer = FieldComparer {
            files: self.files,
            offices: Some((self.base.office, self.head.office)),
            is_same_thing: &|one, other| matching.head_of(one) == Some(other),
            // A change in a part is reported once, at the part.
            is_told: &|one, other| is_same_part && !own(one, before, base_file) && !own(other, after, head_file),
        };
        let taken = |place: Place| {
            let (thing, file) = if place.file == head_file {
                (after, head_file)
            } else {
                (before, base_file)
            };
            is_same_part && !(place.file == file && thing.range.contains(place.range))
        };
        for change in comparer.compare(&before.fields, &after.fields) {
            // The former name is reported with the renaming.
            if change.is_former_name(was) {
                continue;
            }
            // A field that only one state has, but inherits from a part that both use, changed in the part as well.
            let one_sided = change.before.is_none() || change.after.is_none();
            if !(one_sided && taken(change.place)) {
                let line = self.line_of(&change);
                self.found.push(field_record(subject, change, line));
            }
        }
    }

    /// The line of a field, if it is in the office's own file.
    fn line_of(&self, change: &FieldChange) -> Option<u32> {
        let place = change.place;
        if change.after.is_some() && place.file == self.head.office.file {
            Some(self.head.line(place.range))
        } else if change.after.is_none() && place.file == self.base.office.file {
            Some(self.base.line(place.range))
        } else {
            None
        }
    }

    fn field(&mut self, subject: Subject<'_>, field: &str, words: (Option<String>, Option<String>), range: TextRange) {
        let line = self.head.line(range);
        self.found.push(words_record(subject, field, words, Some(line)));
    }
}

/// A change record for something that is not a field but is reported like one, such as the part that a thing uses.
pub(super) fn words_record(
    subject: Subject<'_>,
    field: &str,
    (before, after): (Option<String>, Option<String>),
    line: Option<u32>,
) -> ChangeRecord {
    ChangeRecord {
        what: deed(before.is_some(), after.is_some()),
        of: Of::Field,
        subject: subject.name.to_owned(),
        title: subject.title.map(str::to_owned),
        field: Some(field.to_owned()),
        field_kind: Some(field.to_owned()),
        before,
        after,
        line,
    }
}

/// The type of a change, by whether the item exists before and after.
fn deed(before: bool, after: bool) -> Deed {
    match (before, after) {
        (false, true) => Deed::Added,
        (true, false) => Deed::Removed,
        _ => Deed::Changed,
    }
}

/// Converts the change of a field to a record.
pub(super) fn field_record(subject: Subject<'_>, change: FieldChange, line: Option<u32>) -> ChangeRecord {
    let what = match deed(change.before.is_some(), change.after.is_some()) {
        Deed::Changed if change.is_place => Deed::Moved,
        what => what,
    };
    ChangeRecord {
        what,
        of: Of::Field,
        subject: subject.name.to_owned(),
        title: subject.title.map(str::to_owned),
        field: Some(change.label),
        field_kind: Some(change.kind),
        before: change.before,
        after: change.after,
        line,
    }
}

/// Word of a thing's kind.
fn kind_word(thing: &Thing) -> &'static str {
    thing.kind.map_or("thing", |kind| kind.word())
}

/// Describes a thing by kind, name and location.
fn named(state: &OfficeState<'_>, id: ThingId, thing: &Thing) -> String {
    let office = state.office;
    let at = thing.fields.iter().find_map(|field| {
        let is_own = field.place.file == office.file && matches!(field.value, drysheath_office::Value::At(_));
        is_own.then(|| state.written(field.place.range))
    });
    let kind = kind_word(thing);
    let name = office.name_and_title(id);
    match at {
        Some(at) => format!("{kind} {name} {at}"),
        None => format!("{kind} {name}"),
    }
}
