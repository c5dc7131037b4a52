//! Comparison of the records of two revisions.

use rustc_hash::FxHashMap;
use schemars::JsonSchema;
use serde::Serialize;

use super::columns::{COLUMNS, recorded, recorded_cell, recorded_column};
use super::record::{Changed, FieldChange, InputRecord, SinceRecord};
use super::revision::EarlierRecord;
use crate::matching::Unmatched;

/// The differences between two sets of records.
#[derive(Clone, Debug, Default)]
pub struct Difference {
    new: Vec<String>,
    changed: Vec<Changed>,
    withdrawn: Vec<InputRecord>,
    counts: Counts,
    /// The keys of new and changed records; for changed ones their index in `changed`.
    by_key: FxHashMap<String, Option<usize>>,
}

/// How many records there are of each: before + new - withdrawn = after, and new + changed + unchanged = after.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, JsonSchema, Serialize)]
pub struct Counts {
    /// The number of records in the earlier revision.
    pub before: usize,
    /// There now and not before.
    pub new: usize,
    /// There before and not now.
    pub withdrawn: usize,
    /// There both times, with something changed.
    pub changed: usize,
    /// Of those that changed, the ones whose device or site got another name.
    pub renamed: usize,
    /// There both times, the same.
    pub unchanged: usize,
    /// The number of records now.
    pub after: usize,
}

/// How one record compares with the earlier revision.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum RecordStatus<'d> {
    New,
    Changed(&'d Changed),
    Unchanged,
    Withdrawn,
}

impl RecordStatus<'_> {
    pub fn word(self) -> &'static str {
        match self {
            Self::New => "new",
            Self::Changed(_) => "changed",
            Self::Unchanged => "unchanged",
            Self::Withdrawn => "withdrawn",
        }
    }
}

impl Difference {
    /// Compares two sets of records. A record corresponds to the earlier one whose present key equals its key.
    pub fn between(before: &[EarlierRecord], after: &[InputRecord]) -> Self {
        let mut difference = Self::default();
        let mut unmatched = Unmatched {
            before: before.iter().collect(),
            after: after.iter().collect(),
        };
        for (was, now) in unmatched.pair_in_order(|was| Some(&was.key_now), |now| Some(&now.key)) {
            difference.compare(&was.record, now);
        }
        difference.new = unmatched.after.iter().map(|record| record.key.clone()).collect();
        difference.withdrawn = unmatched.before.iter().map(|earlier| earlier.record.clone()).collect();
        difference.index();
        let counts = &mut difference.counts;
        (counts.before, counts.after) = (before.len(), after.len());
        (counts.new, counts.withdrawn) = (difference.new.len(), difference.withdrawn.len());
        counts.changed = difference.changed.len();
        difference
    }

    fn compare(&mut self, was: &InputRecord, now: &InputRecord) {
        let is_renamed = was.key != now.key;
        self.counts.renamed += usize::from(is_renamed);
        let columns = COLUMNS.iter().filter(|column| column.name != "key");
        let columns = columns.map(|column| (column.name.to_owned(), (column.cell)(was), (column.cell)(now)));
        let facts = recorded([was, now]).into_iter().map(|name| {
            (
                recorded_column(name),
                recorded_cell(was, name),
                recorded_cell(now, name),
            )
        });
        let fields: Vec<FieldChange> = columns
            .chain(facts)
            .filter(|(_, old, new)| old != new)
            .map(|(field, old, new)| FieldChange { field, old, new })
            .collect();
        if fields.is_empty() {
            self.counts.unchanged += 1;
        } else {
            self.changed.push(Changed {
                key: now.key.clone(),
                was_key: is_renamed.then(|| was.key.clone()),
                fields,
            });
        }
    }

    /// Number of records in each state.
    pub fn counts(&self) -> Counts {
        self.counts
    }

    /// The difference as a record for programs.
    pub fn record(&self, revision: &str) -> SinceRecord {
        SinceRecord {
            revision: revision.to_owned(),
            counts: self.counts,
            new: self.new.clone(),
            changed: self.changed.clone(),
            withdrawn: self.withdrawn.clone(),
        }
    }

    pub(super) fn changed(&self) -> &[Changed] {
        &self.changed
    }

    pub(super) fn withdrawn(&self) -> &[InputRecord] {
        &self.withdrawn
    }

    pub(super) fn status(&self, key: &str) -> RecordStatus<'_> {
        match self.by_key.get(key) {
            None => RecordStatus::Unchanged,
            Some(None) => RecordStatus::New,
            Some(Some(at)) => self
                .changed
                .get(*at)
                .map_or(RecordStatus::Unchanged, RecordStatus::Changed),
        }
    }

    fn index(&mut self) {
        let changed = self.changed.iter().enumerate();
        self.by_key = changed.map(|(at, changed)| (changed.key.clone(), Some(at))).collect();
        self.by_key.extend(self.new.iter().map(|key| (key.clone(), None)));
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use proptest::prelude::*;

    use super::*;
    use crate::port_number::PortNumber;
    use crate::records::record::{InputKind, LimitEntry, LocationRecord};

    fn record(site: u8, device: u8, input: u32, limit: u8) -> InputRecord {
        InputRecord {
            key: format!("S{site}/p{device}/pressure"),
            office: format!("office-{site}"),
            title: None,
            site: Some(format!("S{site}")),
            monitor: "m1".to_owned(),
            input_kind: InputKind::Sensor,
            input: PortNumber(input),
            device: format!("p{device}"),
            device_title: None,
            address: None,
            kind: "pressure-sensor".to_owned(),
            signal: "pressure".to_owned(),
            part: None,
            model: None,
            recorded: BTreeMap::new(),
            order: None,
            reports: None,
            place: LocationRecord {
                text: "office".to_owned(),
                line: None,
                branch: None,
                distance: None,
                section: None,
                room: None,
                location: None,
            },
            unit: Some("psi".to_owned()),
            span: None,
            step: None,
            normal: None,
            expected: None,
            limits: vec![LimitEntry {
                level: "low".to_owned(),
                value: f64::from(limit),
                severity: None,
                deadband: None,
            }],
            healthy: None,
            block_pairs: Vec::new(),
            cable_pairs: Vec::new(),
            ohms: None,
        }
    }

    fn records() -> impl Strategy<Value = Vec<InputRecord>> {
        let one = (0..2_u8, 0..6_u8, 1..5_u32, 0..2_u8);
        prop::collection::vec(
            one.prop_map(|(site, device, input, limit)| record(site, device, input, limit)),
            0..12,
        )
    }

    /// Generates records, some of them renamed.
    fn earlier() -> impl Strategy<Value = Vec<EarlierRecord>> {
        let called_now = |before: InputRecord| {
            (Just(before), 0..2_u8, 0..6_u8).prop_map(|(record, site, device)| EarlierRecord {
                key_now: self::record(site, device, 1, 0).key,
                record,
            })
        };
        records().prop_flat_map(move |records| records.into_iter().map(called_now).collect::<Vec<_>>())
    }

    proptest! {
        /// For any two sets, even with duplicate keys.
        #[test]
        fn the_counts_balance(before in earlier(), after in records()) {
            let counts = Difference::between(&before, &after).counts();
            prop_assert_eq!((counts.before, counts.after), (before.len(), after.len()));
            prop_assert_eq!(counts.before + counts.new - counts.withdrawn, counts.after);
            prop_assert_eq!(counts.new + counts.changed + counts.unchanged, counts.after);
            prop_assert!(counts.renamed <= counts.changed);
            let as_before = after.iter().map(|record| EarlierRecord { key_now: record.key.clone(), record: record.clone() });
            let same = Difference::between(&as_before.collect::<Vec<_>>(), &after).counts();
            prop_assert_eq!((same.new, same.changed, same.withdrawn), (0, 0, 0));
        }
    }
}
