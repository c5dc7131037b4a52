//! Runs as messages name them.

use drysheath_office::Office;
use drysheath_text::TextRange;

/// The run that a range of the file lies in: "the run from `p1` to `m1 sensor 2`".
pub(crate) fn run_around(office: &Office, range: TextRange) -> String {
    let run = office.runs.iter().find(|run| run.range.contains(range));
    let ends = run.and_then(|run| run.ends.first().zip(run.ends.last()));
    ends.map_or("another run".to_owned(), |(from, to)| {
        format!("the run from `{}` to `{}`", office.end_name(from), office.end_name(to))
    })
}
