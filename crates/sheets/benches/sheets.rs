//! Time to write the sheets of the example office and of the largest office of the county, from what is computed of them.
#![allow(clippy::unwrap_used, missing_docs, reason = "a benchmark fails by a panic")]

use std::sync::Arc;

use divan::{Bencher, black_box};
use drysheath_fixture::{analysis, county, example, snapshot};
use drysheath_office::Date;
use drysheath_report::OfficeView;
use drysheath_sheets::{Subject, sheets};
use drysheath_workspace::{Analysis, Texts};

fn main() {
    divan::main();
}

fn write(bencher: Bencher<'_, '_>, analysis: &Arc<Analysis>) {
    let texts = Texts::default();
    let subject = Subject {
        view: OfficeView::of(analysis, &texts),
        whole: &analysis.office,
        findings: analysis.findings(),
        date: Date {
            year: 2026,
            month: 11,
            day: 29,
        },
        revision: None,
        since: None,
    };
    bencher.bench_local(|| sheets(black_box(&subject)));
}

#[divan::bench]
fn example_office(bencher: Bencher<'_, '_>) {
    write(bencher, &example(""));
}

#[divan::bench]
fn largest_of_the_county(bencher: Bencher<'_, '_>) {
    write(bencher, &analysis(&snapshot(&county()), "offices/tallow-street"));
}
