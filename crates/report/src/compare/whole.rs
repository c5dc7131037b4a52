//! What is told of all files together: settings, results across files, and the numbers of the summary.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use drysheath_office::{Date, Summary};
use drysheath_rules::{Repository, ResultCount, lint_repository, of_problem};
use drysheath_syntax::Problem;

use super::plan::{Looked, Outline};
use super::record::{Comparison, ResultsRecord, SettingsRecord, SummaryRecord, What};
use super::verdict::Verdict;
use super::version::{Side, Versions};

/// Which of the two outlines of a path.
type OutlineOf = for<'l> fn(&'l Looked<'_>) -> Option<&'l Outline>;

/// What became of settings, folder by folder.
pub(super) fn settings(sides: &(Side<'_>, Side<'_>)) -> Vec<SettingsRecord> {
    let (base, head) = sides;
    let folders: BTreeSet<&str> = base.roots().chain(head.roots()).map(|root| root.folder).collect();
    let mut changed = Vec::new();
    for folder in folders {
        let in_force = |side: &Side<'_>| {
            let root = side.root_at(folder).or_else(|| side.root_of(folder));
            root.map(|root| root.settings.in_force()).unwrap_or_default()
        };
        let (before, after) = (in_force(base), in_force(head));
        let names: BTreeSet<&str> = before.keys().chain(after.keys()).copied().collect();
        for name in names.into_iter().filter(|name| before.get(name) != after.get(name)) {
            changed.push(SettingsRecord {
                file: format!("{folder}drysheath.toml"),
                name: name.to_owned(),
                before: before.get(name).cloned(),
                after: after.get(name).cloned(),
            });
        }
    }
    changed
}

/// The results that only several files together give, and those of settings.
pub(super) fn across(
    sides: &(Side<'_>, Side<'_>),
    looked: &[Looked<'_>],
    versions: &Versions,
    today: Date,
) -> ResultsRecord {
    let of = |side: &Side<'_>, outline: OutlineOf| {
        let mut by_root: BTreeMap<&str, Vec<Arc<Summary>>> = BTreeMap::new();
        for file in looked {
            if let (Some(root), Some(outline)) = (side.root_of(file.path), outline(file)) {
                by_root
                    .entry(root.folder)
                    .or_default()
                    .push(Arc::new(outline.summary.clone()));
            }
        }
        let mut findings = Vec::new();
        for root in side.roots() {
            if let Some(file) = root.settings_file {
                findings.extend(root.problems.iter().filter_map(|problem| {
                    let mut shown = Problem::new("settings-unreadable", problem.range, problem.message.clone());
                    shown.help.clone_from(&problem.help);
                    of_problem(&shown, file, &root.settings)
                }));
            }
            let summaries = by_root.remove(root.folder).unwrap_or_default();
            let repository = Repository {
                summaries: &summaries,
                settings: &root.settings,
                whole: true,
            };
            findings.extend(lint_repository(&repository, today));
        }
        findings
    };
    let before = of(&sides.0, |file| file.base.as_ref());
    let after = of(&sides.1, |file| file.head.as_ref());
    Verdict {
        files: versions,
        moved: None,
        is_same_thing: &|_, _| false,
        renamed: &[],
    }
    .of(&before, &after)
}

pub(super) fn summary(comparison: &Comparison, looked: &[Looked<'_>]) -> SummaryRecord {
    let count = |outline: OutlineOf| {
        let offices = looked.iter().filter_map(outline).filter(|outline| outline.has_office);
        offices.count()
    };
    let mut summary = SummaryRecord {
        offices_before: count(|file| file.base.as_ref()),
        offices_after: count(|file| file.head.as_ref()),
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
    let told = summary.added + summary.changed + summary.same_meaning + summary.touched + summary.not_compared;
    summary.untouched = summary.offices_after.saturating_sub(told);
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
