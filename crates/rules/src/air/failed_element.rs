use drysheath_office::ThingId;
use drysheath_prediction::{FailedElement, position_name};
use drysheath_text::TextRange;

use crate::lint::Inspection;
use crate::sections::section_range;

/// The place where a failed computation is reported.
pub(super) struct Located {
    pub on: ThingId,
    pub range: TextRange,
    /// The place in words: "at 3.2 km on `c101`", "at `r1`", "the tube from `r1` to `f1`".
    pub name: String,
}

/// The place for reporting a failed computation.
pub(super) fn locate(inspection: &Inspection<'_>, element: &FailedElement<'_>) -> Option<Located> {
    let office = inspection.office;
    match *element {
        FailedElement::Route(line, metres) => Some(Located {
            on: line.thing,
            range: match line.section_at(metres) {
                Some(reach) => section_range(office, line, reach),
                None => office.thing(line.thing).name,
            },
            name: position_name(office, line, metres),
        }),
        FailedElement::Run(number) => {
            let link = inspection.networks.air.iter().nth(number)?;
            let (from, to) = (link.from.thing, link.to.thing);
            Some(Located {
                on: to,
                range: link.with.bore.map_or(link.to.range, |bore| bore.range),
                name: format!("the tube from `{}` to `{}`", office.name(from), office.name(to)),
            })
        }
        FailedElement::Thing(thing) => Some(Located {
            on: thing,
            range: office.thing(thing).name,
            name: format!("at `{}`", office.name(thing)),
        }),
    }
}
