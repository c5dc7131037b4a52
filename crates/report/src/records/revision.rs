use drysheath_office::{Networks, lower};
use drysheath_prediction::Prediction;
use drysheath_syntax::parse;

use super::record::InputRecord;
use crate::compare::Side;
use crate::{Versions, View};

/// The records of the earlier of two states, of the files whose paths are wanted; and why some could not be read.
pub fn records_before(versions: &Versions, is_wanted: impl Fn(&str) -> bool) -> (Vec<InputRecord>, Vec<String>) {
    let side = Side::base(versions);
    let (mut records, mut troubles) = (Vec::new(), Vec::new());
    for (path, file) in side.files().filter(|(path, _)| is_wanted(path)) {
        let Some(root) = side.root_of(path) else { continue };
        let content = versions.content(file);
        if let Some(problem) = content.problem {
            troubles.push(format!("{path}, as it was: {}", problem.message));
            continue;
        }
        let tree = parse(&content.text);
        let office = lower(file, root.name_of(path), content.text, &tree, root);
        if office.itself.is_none() {
            continue;
        }
        let networks = Networks::new(&office);
        let prediction = Prediction::new(&office, &networks);
        let view = View {
            office: &office,
            networks: &networks,
            prediction: &prediction,
            settings: &root.settings,
            files: versions,
        };
        records.extend(view.input_records().records);
    }
    (records, troubles)
}
