//! What tells two states of a repository apart: not lines but what the trade calls a change, what follows from it for the
//! predictions, and which results came and went.
//!
//! All files are opened, since the rules that look at all files together need to know a little of each. Only those are
//! analysed that can differ: by their own text, by what they use, or by their settings.

mod analysed;
mod changes;
mod fields;
mod figures;
mod headline;
mod markdown;
mod matching;
mod names;
mod parallel;
mod parts;
mod plan;
mod record;
mod text;
mod verdict;
mod version;
mod wording;

use std::collections::{BTreeMap, BTreeSet};

use drysheath_office::{Date, ThingId};
use drysheath_rules::{Finding, Level, Repository, lint_repository};
use drysheath_syntax::Problem;

use crate::Files as _;
use analysed::{Analysed, both};
use changes::{State, changes};
use figures::figures;
use matching::Matching;
use parallel::each;
use parts::PartChanges;
use plan::{Looked, Outline, Pair, look, pairs};
use record::{FORM, LevelsRecord, SettingsRecord, VersionRecord};
use verdict::Verdict;
use wording::wording;

use record::{OfficeRecord, PartsFileRecord, ResultsRecord, SummaryRecord, What};

pub use record::{Comparison, comparison_schema};
pub(crate) use version::Side;
pub use version::{Content, Version, Versions};

/// Compares two states. `today` decides which acceptances have run out, in both.
pub fn compare(versions: &Versions, today: Date) -> Comparison {
    let sides = (Side::new(versions, &versions.base), Side::new(versions, &versions.head));
    let entries = versions.entries();
    let looked = look(&sides.0, &sides.1, &entries);
    let pairs = pairs(&looked);
    let mut part_changes = part_changes(&looked, &pairs, versions);
    let comparer = Comparer {
        versions,
        base: &sides.0,
        head: &sides.1,
        looked: &looked,
        parts: &part_changes,
        today,
    };
    let told = each(&pairs, |pair| comparer.pair(*pair));
    let mut offices = Vec::new();
    let mut parts_files = Vec::new();
    let mut reached = Vec::new();
    for told in told {
        match told {
            Told::Office(office, taken) => {
                reached.push((taken, office.worse, office.margin_shrank));
                offices.push(*office);
            }
            Told::Parts(file) => parts_files.push(*file),
            Told::Nothing => {}
        }
    }
    for (taken, worse, shrank) in reached {
        part_changes.reach(&taken, worse, shrank);
    }
    let mut by_path = part_changes.by_path();
    for file in &mut parts_files {
        file.parts = by_path.remove(&file.file).unwrap_or_default();
    }
    let mut troubles: Vec<String> = looked
        .iter()
        .filter_map(|file| Some(format!("{}: {}", file.path, file.broken.1.as_ref()?)))
        .collect();
    troubles.sort();
    let mut comparison = Comparison {
        form: FORM,
        base: version_record(&versions.base),
        head: version_record(&versions.head),
        summary: SummaryRecord::default(),
        settings: settings(&sides),
        parts_files,
        offices,
        across_files: across(&sides, &looked, versions, today),
        troubles,
    };
    comparison.summary = summary(&comparison, &looked);
    comparison
}

fn version_record(version: &Version) -> VersionRecord {
    VersionRecord {
        called: version.called.clone(),
        commit: version.commit.clone(),
    }
}

/// The parts that changed, in all files of parts that differ.
fn part_changes(looked: &[Looked<'_>], pairs: &[Pair], versions: &Versions) -> PartChanges {
    let (mut before, mut after) = (Vec::new(), Vec::new());
    for pair in pairs.iter().filter(|pair| !pair.is_office) {
        let at = |at: Option<usize>| at.and_then(|at| looked.get(at));
        let (base, head) = (at(pair.base), at(pair.head));
        // Of a file that cannot be read no part is known to have changed.
        let broken =
            |file: Option<&Looked<'_>>| file.is_some_and(|file| file.broken.0.is_some() || file.broken.1.is_some());
        if broken(base) || broken(head) {
            continue;
        }
        before.extend(
            base.and_then(|file| file.base.as_ref())
                .iter()
                .flat_map(|file| file.parts.clone()),
        );
        after.extend(
            head.and_then(|file| file.head.as_ref())
                .iter()
                .flat_map(|file| file.parts.clone()),
        );
    }
    PartChanges::new(&before, &after, versions)
}

/// What is told of one pair of files.
enum Told {
    /// An office, and the numbers of the changed parts that its things are made from.
    Office(Box<OfficeRecord>, BTreeSet<usize>),
    Parts(Box<PartsFileRecord>),
    Nothing,
}

struct Comparer<'c> {
    versions: &'c Versions,
    base: &'c Side<'c>,
    head: &'c Side<'c>,
    looked: &'c [Looked<'c>],
    parts: &'c PartChanges,
    today: Date,
}

impl Comparer<'_> {
    fn pair(&self, pair: Pair) -> Told {
        let at = |at: Option<usize>| at.and_then(|at| self.looked.get(at));
        let (before, after) = (at(pair.base), at(pair.head));
        let broken_before = before.and_then(|file| file.broken.0.as_ref());
        let broken_after = after.and_then(|file| file.broken.1.as_ref());
        let outlines = (
            before.and_then(|file| file.base.as_ref()),
            after.and_then(|file| file.head.as_ref()),
        );
        let mut record = self.frame(outlines);
        if let Some(why) = broken_after.or(broken_before) {
            record.what = if broken_after.is_some() {
                What::NotCompared
            } else {
                What::Mended
            };
            record.note = Some(match broken_after {
                Some(why) => why.clone(),
                None => format!("before, {why}"),
            });
            return self.told(pair, record, BTreeSet::new());
        }
        let files = (outlines.0.map(|it| it.file), outlines.1.map(|it| it.file));
        let (base, head) = both((self.base, files.0), (self.head, files.1), self.today);
        let mut taken = BTreeSet::new();
        for state in [&base, &head].into_iter().flatten() {
            let parts = state.office.things.iter().filter_map(|thing| thing.part.as_deref());
            taken.extend(parts.filter_map(|part| self.parts.number(part)));
        }
        record.parts = taken
            .iter()
            .filter_map(|number| self.parts.all.get(*number))
            .map(|part| part.record.name.clone())
            .collect();
        match (&base, &head) {
            (Some(base), Some(head)) => self.fill(&mut record, base, head, files.0 == files.1),
            (None, Some(head)) => record.results = self.verdict(None, &[], &head.findings),
            (Some(base), None) => record.results = self.verdict(None, &base.findings, &[]),
            (None, None) => return Told::Nothing,
        }
        record.worse = record.results.worse().next().is_some();
        record.margin_shrank = record.figures.iter().any(|figure| figure.margin_shrank);
        let is_quiet = record.what == What::Touched
            && taken.is_empty()
            && record.changes.is_empty()
            && record.figures.is_empty()
            && record.results.is_quiet();
        if is_quiet {
            return Told::Nothing;
        }
        self.told(pair, record, taken)
    }

    /// The record of a pair of which nothing is known but that it is there.
    fn frame(&self, outlines: (Option<&Outline>, Option<&Outline>)) -> OfficeRecord {
        let (before, after) = outlines;
        let path = |outline: Option<&Outline>| outline.map(|outline| self.versions.path(outline.file).to_owned());
        let name = |outline: &&Outline| !outline.summary.office.is_empty();
        let shown = after.filter(name).or(before.filter(name));
        let file_before = path(before).filter(|was| path(after).is_some_and(|now| now != *was));
        OfficeRecord {
            office: shown
                .map(|outline| outline.summary.office.to_string())
                .unwrap_or_default(),
            title: shown.and_then(|outline| outline.title.clone()),
            file: path(after).or(path(before)).unwrap_or_default(),
            file_before,
            what: match (before, after) {
                (None, _) => What::Added,
                (_, None) => What::Removed,
                (Some(before), Some(after)) if before.file == after.file => What::Touched,
                _ => What::Changed,
            },
            note: None,
            worse: false,
            margin_shrank: false,
            parts: Vec::new(),
            changes: Vec::new(),
            figures: Vec::new(),
            results: ResultsRecord::default(),
        }
    }

    fn fill(&self, record: &mut OfficeRecord, base: &Analysed, head: &Analysed, is_same_text: bool) {
        let matching = Matching::new(&base.office, &head.office, self.versions);
        fn state(analysed: &Analysed) -> State<'_> {
            State {
                office: &analysed.office,
                networks: &analysed.networks,
                lines: &analysed.lines,
            }
        }
        record.changes = changes(state(base), state(head), &matching, self.versions);
        record.figures = figures(base, head, &matching);
        if !is_same_text && record.changes.is_empty() {
            record.what = wording(&base.office.text, &head.office.text);
        }
        record.results = self.verdict(Some((base, head, &matching)), &base.findings, &head.findings);
    }

    fn verdict(
        &self,
        states: Option<(&Analysed, &Analysed, &Matching)>,
        base: &[Finding],
        head: &[Finding],
    ) -> ResultsRecord {
        let mut renamed = Vec::new();
        if let Some((before, after, matching)) = states {
            renamed.extend(
                matching
                    .renamed
                    .iter()
                    .map(|(was, now)| (before.office.name(*was).to_owned(), after.office.name(*now).to_owned())),
            );
        }
        let verdict = Verdict {
            files: self.versions,
            moved: states.map(|(before, after, _)| (before.office.file, self.versions.path(after.office.file))),
            is_same_thing: &|one: ThingId, other: ThingId| {
                states.is_some_and(|(.., matching)| matching.head_of(one) == Some(other))
            },
            renamed: &renamed,
        };
        verdict.of(base, head)
    }

    fn told(&self, pair: Pair, record: OfficeRecord, taken: BTreeSet<usize>) -> Told {
        if pair.is_office {
            return Told::Office(Box::new(record), taken);
        }
        Told::Parts(Box::new(PartsFileRecord {
            file: record.file,
            what: record.what,
            note: record.note,
            parts: Vec::new(),
            results: record.results,
        }))
    }
}

/// Which of the two outlines of a path.
type OutlineOf = for<'l> fn(&'l Looked<'_>) -> Option<&'l Outline>;

/// What became of settings, folder by folder.
fn settings(sides: &(Side<'_>, Side<'_>)) -> Vec<SettingsRecord> {
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
fn across(sides: &(Side<'_>, Side<'_>), looked: &[Looked<'_>], versions: &Versions, today: Date) -> ResultsRecord {
    let of = |side: &Side<'_>, outline: OutlineOf| {
        let mut by_root: BTreeMap<&str, Vec<drysheath_office::Summary>> = BTreeMap::new();
        for file in looked {
            if let (Some(root), Some(outline)) = (side.root_of(file.path), outline(file)) {
                by_root.entry(root.folder).or_default().push(outline.summary.clone());
            }
        }
        let mut findings = Vec::new();
        for root in side.roots() {
            if let Some(file) = root.settings_file {
                findings.extend(root.problems.iter().filter_map(|problem| {
                    let mut shown = Problem::new("settings-unreadable", problem.range, problem.message.clone());
                    shown.help.clone_from(&problem.help);
                    drysheath_rules::of_problem(&shown, file, &root.settings)
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

fn summary(comparison: &Comparison, looked: &[Looked<'_>]) -> SummaryRecord {
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
    let mut new = LevelsRecord::default();
    for results in comparison.all_results() {
        for result in &results.new {
            let slot = match result.level() {
                Level::Error => &mut new.errors,
                Level::Warning => &mut new.warnings,
                Level::Note => &mut new.notes,
            };
            *slot += 1;
        }
        summary.gone += results.gone.len();
        summary.different += results.different.len();
        summary.unchanged += results.unchanged;
    }
    summary.new = new;
    summary
}
