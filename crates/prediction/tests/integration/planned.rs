//! Offices at the stage of planning, and what their predictions lack.

use drysheath_fixture::lowered;
use drysheath_office::Office;
use drysheath_prediction::{MissingInput, NeededFor};

/// An office that is planned, so that nothing but what a prediction needs has to be stated.
pub fn planned(statements: &str) -> Office {
    lowered(&format!("office elm-hollow {{ stage planned }}\n{statements}"))
}

/// What is missing for a prediction, as `thing | bytes | what`.
#[track_caller]
pub fn missing(office: &Office, gaps: &[MissingInput], for_what: NeededFor) -> Vec<String> {
    let shown = |gap: &MissingInput| {
        assert_eq!(gap.needed_for, for_what);
        let written = gap.range.of(&office.text);
        format!("{} | {written} | {}", office.name(gap.on), gap.what)
    };
    gaps.iter().map(shown).collect()
}
