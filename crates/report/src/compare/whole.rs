//! Comparison of what concerns all files: settings, results across files, and the counts of the summary.

use std::collections::BTreeSet;
use std::path::Path;
use std::sync::Arc;

use drysheath_office::Summary;
use drysheath_rules::{Finding, ResultCount};
use drysheath_workspace::Snapshot;
use rustc_hash::FxHashMap;

use super::plan::{Outline, PathStates};
use super::record::{Comparison, ResultsRecord, SettingsRecord, SummaryRecord, What};
use super::result_comparer::ResultComparer;
use super::states::{States, folder};

/// Selects one of the two outlines of a path.
type OutlineOf = for<'l> fn(&'l PathStates<'_>) -> Option<&'l Outline>;

/// Changed settings, folder by folder, each reported at the file that sets it. Settings that a folder inherits are
/// reported at the file above.
pub(super) fn settings(states: &States) -> Vec<SettingsRecord> {
    let (base, head) = (states.base.repositories(), states.head.repositories());
    let folders: BTreeSet<&Path> = base.iter().chain(&head).map(|repository| &*repository.folder).collect();
    let mut changed: Vec<SettingsRecord> = Vec::new();
    for place in folders {
        let [base, head] = [&states.base, &states.head].map(|state| state.repository_in(place));
        let (before, after) = (base.settings.in_force(), head.settings.in_force());
        let file = |name: &str| {
            let files = [&base, &head].map(|of| format!("{}{}", folder(&of.root), of.settings.file_of(name)));
            // If a folder's own setting moved to the file above or the other way round, the folder's own file has
            // changed.
            files
                .into_iter()
                .max_by_key(|file| file.matches('/').count())
                .unwrap_or_default()
        };
        let names: BTreeSet<&str> = before.keys().chain(after.keys()).copied().collect();
        for name in names.into_iter().filter(|name| before.get(name) != after.get(name)) {
            let record = SettingsRecord {
                file: file(name),
                name: name.to_owned(),
                before: before.get(name).cloned(),
                after: after.get(name).cloned(),
            };
            if !changed.contains(&record) {
                changed.push(record);
            }
        }
    }
    changed
}

/// Compares the results of the rules across files and those on settings.
pub(super) fn across(states: &States, paths_in_both: &[PathStates<'_>]) -> ResultsRecord {
    let of = |state: &Snapshot, outline: OutlineOf| -> Vec<Finding> {
        let mut by_root: FxHashMap<Arc<Path>, Vec<Arc<Summary>>> = FxHashMap::default();
        for outline in paths_in_both.iter().filter_map(outline) {
            let root = Arc::clone(&state.repository(outline.file).root);
            by_root
                .entry(root)
                .or_default()
                .push(Arc::clone(&outline.known.summary));
        }
        let mut repositories = state.repositories();
        repositories.sort_by_cached_key(|repository| folder(&repository.folder));
        let mut findings = Vec::new();
        for repository in repositories {
            findings.extend(repository.findings.iter().cloned());
            if repository.above.is_some() {
                continue;
            }
            let mut summaries = by_root.remove(&repository.root).unwrap_or_default();
            findings.extend(state.lint_across(&repository, &mut summaries));
        }
        findings
    };
    let before = || of(&states.base, |file| file.base.as_deref());
    let after = || of(&states.head, |file| file.head.as_deref());
    let is_same = |file: &PathStates<'_>| match (&file.base, &file.head) {
        (Some(base), Some(head)) => Arc::ptr_eq(base, head),
        (None, None) => true,
        _ => false,
    };
    let (before, after) = if states.have_same_settings() && paths_in_both.iter().all(is_same) {
        let both = before();
        (both.clone(), both)
    } else {
        rayon::join(before, after)
    };
    ResultComparer {
        files: &states.texts,
        moved: None,
        is_same_thing: &|_, _| false,
        renamed: &[],
    }
    .of(&before, &after)
}

pub(super) fn summary(comparison: &Comparison, paths_in_both: &[PathStates<'_>]) -> SummaryRecord {
    let count = |outline: OutlineOf| {
        let offices = paths_in_both
            .iter()
            .filter_map(outline)
            .filter(|outline| outline.known.has_office);
        offices.count()
    };
    let mut summary = SummaryRecord {
        offices_before: count(|file| file.base.as_deref()),
        offices_after: count(|file| file.head.as_deref()),
        ..SummaryRecord::default()
    };
    for office in &comparison.offices {
        let slot = match office.what {
            What::Added => &mut summary.added,
            What::Removed => &mut summary.removed,
            What::Changed => &mut summary.changed,
            What::Reworded | What::Comments | What::Layout | What::Moved => &mut summary.same_meaning,
            What::Touched => &mut summary.touched,
            What::Mended | What::NotCompared => &mut summary.not_compared,
        };
        *slot += 1;
        summary.moved_files += usize::from(office.file_before.is_some());
        summary.worse += usize::from(office.worse);
        summary.margins_shrank += usize::from(office.margin_shrank);
    }
    let listed = summary.added + summary.changed + summary.same_meaning + summary.touched + summary.not_compared;
    summary.untouched = summary.offices_after.saturating_sub(listed);
    let mut new = ResultCount::default();
    for results in comparison.all_results() {
        for result in &results.new {
            new.add(result.level());
        }
        summary.gone += results.gone.len();
        summary.different += results.different.len();
        summary.unchanged += results.unchanged;
    }
    summary.new = new.into();
    summary
}
