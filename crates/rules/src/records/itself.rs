use drysheath_office::Fields;
use drysheath_office::kinds::Key;

use crate::finding::Sink;
use crate::lint::Inspection;

/// Reports that the office does not state a field, as worded in `message`.
pub(super) fn report_missing(inspection: &Inspection<'_>, sink: &mut Sink<'_>, key: Key, message: &str, help: &str) {
    let office = inspection.office;
    let itself = office.itself.map(|id| (id, office.thing(id)));
    if let Some((id, itself)) = itself.filter(|(_, itself)| !itself.damaged && !itself.has(key)) {
        let name = office.name(id);
        sink.report(id, itself.name, format!("the office `{name}` {message}"))
            .help(help);
    }
}
