//! The runs of an office, and how messages name them.

use drysheath_office::{Office, Run};
use drysheath_syntax::Medium;
use drysheath_text::TextRange;

/// The undamaged runs of a medium.
pub(crate) fn whole_runs(office: &Office, medium: Medium) -> impl Iterator<Item = &Run> {
    let runs = office.runs.iter();
    runs.filter(move |run| run.medium == medium && !run.damaged)
}

/// Name of the run at a place in the file: "the run from `p1` to `m1 sensor 2`".
pub(crate) fn run_around(office: &Office, range: TextRange) -> String {
    let run = office.runs.iter().find(|run| run.range.contains(range));
    let ends = run.and_then(|run| run.ends.first().zip(run.ends.last()));
    ends.map_or("another run".to_owned(), |(from, to)| {
        format!("the run from `{}` to `{}`", office.end_name(from), office.end_name(to))
    })
}
