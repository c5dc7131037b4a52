//! Parts in files that offices share.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use drysheath_office::Part;
use drysheath_text::FileId;
use rustc_hash::FxHashMap;

use super::fields::FieldComparer;
use super::record::{ChangeRecord, Deed, PartRecord};
use crate::Files;
use crate::matching::Unmatched;

/// A part that changed.
#[derive(Debug)]
pub(super) struct PartChange {
    /// The file to list it under: the one that contains it, or contained it.
    pub path: String,
    /// Record of the changed part.
    pub record: PartRecord,
}

/// The changed parts, indexed so that an office finds those that it uses.
#[derive(Debug, Default)]
pub(super) struct PartChanges {
    pub all: Vec<PartChange>,
    by_part: FxHashMap<(FileId, Box<str>), usize>,
}

impl PartChanges {
    /// Compares the parts of all files that differ.
    pub fn new(base: &[Arc<Part>], head: &[Arc<Part>], files: &dyn Files) -> Self {
        let mut changes = Self::default();
        let path = |part: &Part| files.path(part.place.file);
        let comparer = FieldComparer {
            files,
            offices: None,
            is_same_thing: &|_, _| false,
            is_told: &|_, _| false,
        };
        let is_whole = |was: &Part, now: &Part| {
            was.kind.id == now.kind.id
                && !now.fields.is_empty()
                && was.fields.len() == now.fields.len()
                && comparer.agreeing(&was.fields, &now.fields) == now.fields.len()
        };
        let mut unmatched = Unmatched {
            before: base.iter().collect(),
            after: head.iter().collect(),
        };
        let here = |part: &Arc<Part>| Some((part.name.clone(), path(part).to_owned()));
        let elsewhere = |part: &Arc<Part>| Some((part.name.clone(), part.kind.id));
        let mut pairs = unmatched.pair_in_order(here, here);
        pairs.extend(unmatched.pair_in_order(elsewhere, elsewhere));
        for now in &unmatched.after {
            let mut left = unmatched.before.iter();
            if let Some(at) = left.position(|was| is_whole(was, now)) {
                pairs.push((unmatched.before.remove(at), now));
            }
        }
        for now in head {
            let was = pairs
                .iter()
                .find(|(_, own)| std::ptr::eq(*own, now))
                .map(|(was, _)| *was);
            let Some(was) = was else {
                changes.put(None, Some(now), Deed::Added, None, Vec::new(), path(now));
                continue;
            };
            let subject = super::changes::Subject {
                name: &now.name,
                title: None,
            };
            let mut fields: Vec<ChangeRecord> = comparer
                .compare(&was.fields, &now.fields)
                .into_iter()
                .map(|change| {
                    let file = if change.after.is_some() {
                        now.place.file
                    } else {
                        was.place.file
                    };
                    let text = files.text(file).get(..change.place.range.start as usize);
                    let line =
                        (change.place.file == file).then(|| text.unwrap_or_default().matches('\n').count() as u32 + 1);
                    super::changes::field_record(subject, change, line)
                })
                .collect();
            if was.of != now.of {
                let base = |part: &Part| part.of.as_ref().map(ToString::to_string);
                fields.insert(
                    0,
                    super::changes::words_record(subject, "part", (base(was), base(now)), None),
                );
            }
            let (what, before) = if was.name != now.name {
                (Deed::Renamed, Some(was.name.to_string()))
            } else if path(was) != path(now) {
                (Deed::Moved, Some(path(was).to_owned()))
            } else if !fields.is_empty() || was.kind.id != now.kind.id {
                (Deed::Changed, None)
            } else {
                continue;
            };
            changes.put(Some(was), Some(now), what, before, fields, path(now));
        }
        for was in unmatched.before {
            changes.put(Some(was), None, Deed::Removed, None, Vec::new(), path(was));
        }
        changes
    }

    fn put(
        &mut self,
        was: Option<&Part>,
        now: Option<&Part>,
        what: Deed,
        before: Option<String>,
        fields: Vec<ChangeRecord>,
        path: &str,
    ) {
        let Some(shown) = now.or(was) else { return };
        for part in [was, now].into_iter().flatten() {
            self.by_part
                .insert((part.place.file, part.name.clone()), self.all.len());
        }
        self.all.push(PartChange {
            path: path.to_owned(),
            record: PartRecord {
                name: shown.name.to_string(),
                kind: shown.kind.word().to_owned(),
                what,
                before,
                fields,
                offices: 0,
                worse: 0,
                margins_shrank: 0,
            },
        });
    }

    /// Index of a part among the changed ones.
    pub fn number(&self, part: &Part) -> Option<usize> {
        self.by_part.get(&(part.place.file, part.name.clone())).copied()
    }

    /// Counts an office for the changed parts that its things use.
    pub fn reach(&mut self, taken: &BTreeSet<usize>, worse: bool, margin_shrank: bool) {
        for number in taken {
            if let Some(change) = self.all.get_mut(*number) {
                change.record.offices += 1;
                change.record.worse += usize::from(worse);
                change.record.margins_shrank += usize::from(margin_shrank);
            }
        }
    }

    /// The records, grouped by the file to list them under.
    pub fn by_path(self) -> BTreeMap<String, Vec<PartRecord>> {
        let mut by_path: BTreeMap<String, Vec<PartRecord>> = BTreeMap::new();
        for change in self.all {
            by_path.entry(change.path).or_default().push(change.record);
        }
        by_path
    }
}
