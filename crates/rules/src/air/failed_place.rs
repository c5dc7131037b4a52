use drysheath_office::ThingId;
use drysheath_prediction::{Failure, position_name};
use drysheath_text::TextRange;

use crate::lint::Inspection;
use crate::sections::section_range;

/// The place where a failed computation is reported.
pub(super) struct FailedPlace {
    pub on: ThingId,
    pub range: TextRange,
    /// Description of the place: "at 3.2 km on `c101`".
    pub name: String,
}

/// Finds the place to report a failed computation at.
pub(super) fn failed_place(inspection: &Inspection<'_>, failure: &Failure<'_>) -> Option<FailedPlace> {
    let office = inspection.office;
    let (line, metres) = failure.at?;
    Some(FailedPlace {
        on: line.thing,
        range: match line.section_at(metres) {
            Some(reach) => section_range(office, line, reach),
            None => office.thing(line.thing).name,
        },
        name: position_name(office, line, metres),
    })
}
