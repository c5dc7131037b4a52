use drysheath_office::kinds::Key;
use drysheath_office::{Fields, Thing};

use crate::finding::Sink;
use crate::lint::Inspection;

/// Reports a field of the office that is missing or blank, with `message`.
pub(super) fn report_missing(inspection: &Inspection<'_>, sink: &mut Sink<'_>, key: Key, message: &str, help: &str) {
    let office = inspection.office;
    let itself = office.itself.map(|id| (id, office.thing(id)));
    let is_stated = |itself: &Thing| match itself.text(key) {
        Some(text) => !text.trim().is_empty(),
        None => itself.has(key),
    };
    if let Some((id, itself)) = itself.filter(|(_, itself)| !itself.damaged && !is_stated(itself)) {
        let name = office.name(id);
        sink.report(id, itself.name, format!("the office `{name}` {message}"))
            .help(help);
    }
}
