use std::path::Path;
use std::sync::Arc;

use drysheath_office::Date;
use drysheath_workspace::Workspace;
use rustc_hash::FxHashMap;

use super::record::InputRecord;
use crate::{Version, View};

/// The records of the offices of a revision whose paths are wanted, and why some could not be read.
pub fn records_before(
    version: Version,
    today: Date,
    is_wanted: impl Fn(&str) -> bool,
) -> (Vec<InputRecord>, Vec<String>) {
    let files = Arc::new(version.files);
    let mut workspace = Workspace::new(files.clone(), today);
    workspace.set_folders(vec![Path::new("").to_owned()]);
    let snapshot = workspace.snapshot();
    let numbers = files.files().map(|(path, _)| snapshot.file(Path::new(path)));
    let texts = snapshot.texts(numbers, &FxHashMap::default());
    let (mut records, mut troubles) = (Vec::new(), Vec::new());
    for (path, _) in files.offices().filter(|(path, _)| is_wanted(path)) {
        let Ok(Some(reading)) = snapshot.read(snapshot.file(Path::new(path))) else {
            continue;
        };
        if let Some(problem) = reading.problem {
            troubles.push(format!("{path}, as it was: {}", problem.message));
            continue;
        }
        if reading.office.itself.is_none() {
            continue;
        }
        let analysis = reading.analyse();
        let view = View {
            office: &analysis.office,
            networks: &analysis.networks,
            prediction: &analysis.prediction,
            settings: &analysis.settings,
            files: &texts,
        };
        records.extend(view.input_records().records);
    }
    (records, troubles)
}
