use std::io;

use drysheath_report::{Extent, KnownFile, KnownFiles, compare_knowing};
use drysheath_rules::Level;
use drysheath_sheets::comparison_page;
use drysheath_workspace::{LoweredFile, ReadFile, Snapshot};

use crate::arguments::{CompareArguments, CompareForm};
use crate::cache::Cache;
use crate::outcome::Outcome;
use crate::shell::shell_word;
use crate::standard_streams::{print_error, write};
use crate::today::today;
use crate::versions;

/// Compares two states of a repository and shows what changed.
pub(crate) fn run(arguments: &CompareArguments) -> io::Result<Outcome> {
    let opened = versions::open(&arguments.base, arguments.head.as_deref())?;
    let has_files = |version: &drysheath_report::Version| version.files.offices().next().is_some();
    let is_empty = !has_files(&opened.base) && !has_files(&opened.head);
    let today = today(arguments.today);
    let is_drawn = arguments.output.iter().any(|output| output.form == CompareForm::Html);
    let tops = opened.tops.iter().filter(|_| !arguments.no_cache);
    let cache = BothCaches(tops.filter_map(|top| Cache::open(top, today)).collect());
    let mut comparison = compare_knowing(opened.base, opened.head, today, &cache, is_drawn);
    cache.finish();
    comparison.troubles.extend(opened.troubles);
    if is_empty {
        comparison.troubles.push(format!(
            "neither {} nor {} has an office or a part",
            comparison.base.called, comparison.head.called
        ));
    }
    comparison.troubles.sort();
    comparison.left_out = opened.notes;
    let mut unwritten = Vec::new();
    for output in &arguments.output {
        // Files are for searching, so they get everything; standard output is for reading.
        let extent = if arguments.all || output.to.is_some() {
            Extent::Full
        } else {
            Extent::Brief
        };
        let rendered = match output.form {
            CompareForm::Text => comparison.text(extent),
            CompareForm::Markdown => comparison.markdown(extent),
            CompareForm::Html => {
                // No browser opens a page of a hundred megabytes, so the full page is written only on request.
                let extent = if arguments.all { Extent::Full } else { Extent::Brief };
                comparison_page(&comparison, today, extent, &full_page(arguments))
            }
            CompareForm::Json => comparison.json(),
        };
        unwritten.extend(write(output.to.as_deref(), rendered.as_bytes()));
    }
    for trouble in &comparison.troubles {
        print_error(format_args!("cannot be compared: {trouble}"));
    }
    for why in &unwritten {
        print_error(format_args!("cannot be written: {why}"));
    }
    let fails = arguments
        .fail_on
        .is_some_and(|level| comparison.fails(Level::from(level)));
    Ok(if !comparison.troubles.is_empty() || !unwritten.is_empty() {
        Outcome::Failed
    } else if fails {
        Outcome::Results
    } else {
        Outcome::Clean
    })
}

/// Caches of the repositories of both states: a file that is the same in both may be cached for either.
struct BothCaches(Vec<Cache>);

impl BothCaches {
    fn finish(self) {
        for cache in self.0 {
            // Entries of files that were not compared are kept.
            cache.finish(|_| false);
        }
    }
}

impl KnownFiles for BothCaches {
    fn find(&self, snapshot: &Snapshot, read: &ReadFile) -> Option<KnownFile> {
        self.0.iter().find_map(|cache| KnownFiles::find(cache, snapshot, read))
    }

    fn store(&self, reading: &LoweredFile, known: &KnownFile) {
        if let Some(first) = self.0.first() {
            KnownFiles::store(first, reading, known);
        }
    }
}

/// Command that writes the full page.
fn full_page(arguments: &CompareArguments) -> String {
    let states = std::iter::once(&arguments.base).chain(&arguments.head);
    let states: Vec<String> = states.map(|state| shell_word(state)).collect();
    format!("drysheath compare {} --output html=FILE --all", states.join(" "))
}
