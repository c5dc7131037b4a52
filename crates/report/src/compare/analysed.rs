use std::sync::Arc;

use drysheath_office::{Date, Networks, Office, lower};
use drysheath_prediction::Prediction;
use drysheath_rules::{Finding, Inspection, inspect};
use drysheath_syntax::{Tree, parse};
use drysheath_text::{FileId, LineIndex};

use super::version::Side;
use crate::Files as _;

/// One state of a file, and all that follows from it.
pub(super) struct Analysed {
    pub office: Office,
    pub networks: Networks,
    pub prediction: Prediction,
    pub findings: Vec<Finding>,
    pub lines: LineIndex,
}

impl Analysed {
    pub fn new(side: &Side<'_>, file: FileId, tree: &Tree, today: Date) -> Option<Self> {
        let path = side.versions.path(file);
        let root = side.root_of(path)?;
        let text = side.versions.content(file).text;
        let lines = LineIndex::new(&text);
        let office = lower(file, root.name_of(path), text, tree, root);
        let networks = Networks::new(&office);
        let prediction = Prediction::new(&office, &networks);
        let findings = inspect(&Inspection::new(&office, &networks, &prediction, &root.settings), today);
        Some(Self {
            office,
            networks,
            prediction,
            findings,
            lines,
        })
    }
}

/// The two states of a file; one that is the same in both is read once.
pub(super) fn both(
    base: (&Side<'_>, Option<FileId>),
    head: (&Side<'_>, Option<FileId>),
    today: Date,
) -> (Option<Analysed>, Option<Analysed>) {
    let tree = |side: &Side<'_>, file: FileId| {
        let text: Arc<str> = side.versions.content(file).text;
        parse(&text)
    };
    let (Some(before), Some(after)) = (base.1, head.1) else {
        let alone = |(side, file): (&Side<'_>, Option<FileId>)| {
            let file = file?;
            Analysed::new(side, file, &tree(side, file), today)
        };
        return (alone(base), alone(head));
    };
    let old = tree(base.0, before);
    if before == after {
        return (
            Analysed::new(base.0, before, &old, today),
            Analysed::new(head.0, after, &old, today),
        );
    }
    let new = tree(head.0, after);
    (
        Analysed::new(base.0, before, &old, today),
        Analysed::new(head.0, after, &new, today),
    )
}
