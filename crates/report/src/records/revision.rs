//! The records of an earlier revision, and the present key of each.

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
use crate::{Version, View};

/// A record of an earlier revision.
#[derive(Clone, Debug)]
pub struct EarlierRecord {
    /// The record as it was.
    pub record: InputRecord,
    /// Its present key, if it still exists: with the names that office and device have now.
    pub key_now: String,
}

/// An office as it is now.
pub struct OfficeNow<'o> {
    /// Where its file lies, from the top of the tree that the revision is of.
    pub path: String,
    /// The office as it is now.
    pub office: &'o Office,
    /// The records of the office.
    pub records: &'o OfficeRecords,
}

/// What there is now, to find in it what was there before.
pub struct Now<'o> {
    /// The workspace that the offices were read in.
    pub workspace: &'o Workspace,
    /// The texts of its files.
    pub texts: &'o Texts,
    /// The offices in the tree that the revision is of.
    pub offices: Vec<OfficeNow<'o>>,
}

/// An office of the earlier revision.
struct OfficeBefore<'p> {
    path: &'p str,
    office: Office,
    records: OfficeRecords,
}

/// The records of the offices of a revision whose paths are wanted, and why some could not be read. Which office and which
/// device is which is decided as where two states are compared.
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

/// An office of a revision; none where the file is one of parts.
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
    let view = View::of(&analysis, texts);
    let records = view.input_records();
    Some(Ok(OfficeBefore {
        path,
        records,
        office: analysis.office,
    }))
}

/// The office that each earlier one is now, by the index of the earlier one.
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
    /// Its records, and what each is known by in the office that it is now.
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
