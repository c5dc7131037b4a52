//! The records of an earlier revision, with the present key of each.

use std::path::Path;
use std::sync::Arc;

use drysheath_office::{Office, ThingId};
use drysheath_workspace::{Snapshot, Texts, Workspace};
use rayon::prelude::*;
use rustc_hash::FxHashMap;

use super::compose::record_key;
use super::record::{InputRecord, OfficeRecords};
use crate::compare::Matching;
use crate::matching::Unmatched;
use crate::{OfficeView, Version};

/// A record of an earlier revision.
#[derive(Clone, Debug)]
pub struct EarlierRecord {
    /// The record at that revision.
    pub record: InputRecord,
    /// Present key: with the present names of office and device.
    pub key_now: String,
}

/// An office in its present state.
pub struct OfficeNow<'o> {
    /// Path of its file from the top of the revision's tree.
    pub path: String,
    /// The office in its present state.
    pub office: &'o Office,
    /// Records of the office in its present state.
    pub records: &'o OfficeRecords,
}

/// The present state, to match earlier offices and records with.
pub struct Now<'o> {
    /// The workspace of the present offices.
    pub workspace: &'o Workspace,
    /// The texts of its files.
    pub texts: &'o Texts,
    /// The present offices in the tree of the revision.
    pub offices: Vec<OfficeNow<'o>>,
}

/// An office of the earlier revision.
struct OfficeBefore<'p> {
    path: &'p str,
    office: Office,
    records: OfficeRecords,
}

/// The records of a revision's offices at some paths, and the reasons why others could not be read. Offices and devices
/// are matched as in a comparison of two states.
pub fn records_before(
    version: Version,
    now: &Now<'_>,
    is_wanted: impl Fn(&str) -> bool,
) -> (Vec<EarlierRecord>, Vec<String>) {
    let files = Arc::new(version.files);
    let mut workspace = now.workspace.beside(files.clone());
    workspace.set_folders(vec![Path::new("").to_owned()]);
    let snapshot = workspace.snapshot();
    let numbers = files.files().map(|(path, _)| snapshot.file(Path::new(path)));
    let texts = snapshot.texts(numbers, &FxHashMap::default()).and(now.texts.clone());
    let wanted: Vec<&str> = files
        .offices()
        .map(|(path, _)| path)
        .filter(|path| is_wanted(path))
        .collect();
    let read: Vec<_> = wanted
        .par_iter()
        .filter_map(|path| office_before(path, &snapshot, &texts))
        .collect();
    let (mut before, mut troubles) = (Vec::new(), Vec::new());
    for office in read {
        match office {
            Ok(office) => before.push(office),
            Err(why) => troubles.push(why),
        }
    }
    let pairs = pairs(&before, &now.offices);
    let known_now = before
        .into_par_iter()
        .enumerate()
        .flat_map_iter(|(at, office)| office.known_now(pairs.get(&at).copied(), &texts));
    (known_now.collect(), troubles)
}

/// Reads an office of a revision. `None` for a file of parts.
fn office_before<'p>(path: &'p str, snapshot: &Snapshot, texts: &Texts) -> Option<Result<OfficeBefore<'p>, String>> {
    let failed = |why: &str| Some(Err(format!("{path}, as it was: {why}")));
    let reading = match snapshot.read(snapshot.file(Path::new(path))) {
        Ok(reading) => reading?,
        Err(why) => return failed(&why),
    };
    if let Some(problem) = reading.problem {
        return failed(&problem.message);
    }
    reading.office.itself?;
    let analysis = reading.analyse();
    let view = OfficeView::of(&analysis, texts);
    let records = view.input_records();
    Some(Ok(OfficeBefore {
        path,
        records,
        office: analysis.office,
    }))
}

/// The present office for each earlier one, by the index of the earlier one.
fn pairs<'o>(before: &[OfficeBefore<'_>], now: &'o [OfficeNow<'o>]) -> FxHashMap<usize, &'o OfficeNow<'o>> {
    let mut unmatched = Unmatched {
        before: (0..before.len()).collect(),
        after: now.iter().collect(),
    };
    let pairs = unmatched.pair_offices(
        |at| before.get(at).map(|office| office.records.names(office.path)),
        |office| Some(office.records.names(&office.path)),
    );
    pairs.into_iter().collect()
}

impl OfficeBefore<'_> {
    /// Records of the office, each with its key in the present office.
    fn known_now(self, now: Option<&OfficeNow<'_>>, texts: &Texts) -> Vec<EarlierRecord> {
        let matching = now.map(|now| Matching::new(&self.office, now.office, texts));
        let renamed = now.zip(matching.as_ref()).into_iter().flat_map(|(now, matching)| {
            let names = |(was, is): &(ThingId, ThingId)| (self.office.name(*was), now.office.name(*is));
            matching.renamed.iter().map(names)
        });
        let renamed: FxHashMap<&str, &str> = renamed.collect();
        let site = now.map_or(&self.records, |now| now.records).site_or_name().to_owned();
        let known_now = |record: InputRecord| {
            let device = renamed.get(&*record.device).copied().unwrap_or(&record.device);
            EarlierRecord {
                key_now: record_key(&site, device, &record.signal),
                record,
            }
        };
        self.records.records.into_iter().map(known_now).collect()
    }
}
