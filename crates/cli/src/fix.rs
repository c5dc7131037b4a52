//! Applies the fixes that are certain, in memory first: a fix is kept only if its result is gone afterwards and no new
//! one appears.

use std::collections::BTreeMap;
use std::path::PathBuf;
use std::sync::Arc;

use drysheath_disk::read;
use drysheath_report::several;
use drysheath_rules::Finding;
use drysheath_text::{Edit, FileId, apply};
use drysheath_workspace::{Content, Snapshot, Workspace};
use rustc_hash::{FxHashMap, FxHashSet};

use crate::changes::{self, Change};
use crate::lint::{LintTotals, Request};

/// Outcome of applying fixes.
#[derive(Default)]
pub(crate) struct FixOutcome {
    /// Sentence with the number of fixes.
    pub told: Option<String>,
    /// Differences, if they are only shown.
    pub difference: String,
    /// Whether there are changes that were not written.
    pub is_shown_only: bool,
    /// Messages about files that could not be written.
    pub troubles: Vec<String>,
}

/// File, replaced text and replacement of a fix, by which it is recognized after lines have moved.
type FixKey = (FileId, String, String);

/// A fix of a result.
struct Candidate {
    key: FixKey,
    edits: Vec<Edit>,
}

/// Maximum number of rounds. One fix may enable another, for example in adjacent words. Each round lints all files
/// again.
const MOST_ROUNDS: usize = 50;

/// Fixes made in memory so far.
struct FixSession<'f, 'r> {
    request: &'f Request<'r>,
    workspace: &'f mut Workspace,
    /// Results after the fixes so far.
    tally: LintTotals,
    /// Original text of each changed file.
    originals: BTreeMap<PathBuf, (FileId, Arc<str>)>,
    /// Fixes that would cause another result.
    refused: FxHashSet<FixKey>,
    /// Files whose fixes conflict, so that each fix is tried by itself.
    singly: FxHashSet<FileId>,
    made: usize,
}

/// Applies all fixes that are certain, and lints again. With `--diff` nothing is written. All rules are considered when
/// a fix is checked, including those not requested.
pub(crate) fn fixed(request: &Request<'_>, workspace: &mut Workspace, first: LintTotals) -> (FixOutcome, LintTotals) {
    let mut fixing = FixSession {
        request,
        workspace,
        tally: first,
        originals: BTreeMap::new(),
        refused: FxHashSet::default(),
        singly: FxHashSet::default(),
        made: 0,
    };
    for _ in 0..MOST_ROUNDS {
        if !fixing.round() {
            break;
        }
    }
    let snapshot = fixing.workspace.snapshot();
    let changes: Vec<Change> = fixing
        .originals
        .into_iter()
        .filter_map(|(path, (file, before))| {
            let (_, content) = snapshot.content(file).ok().flatten()?;
            Some(Change {
                path,
                before: before.to_string(),
                after: content.text.to_string(),
            })
        })
        .collect();
    (
        ended(request, fixing.made, fixing.refused.len(), &changes),
        fixing.tally,
    )
}

impl FixSession<'_, '_> {
    /// Tries all current fixes. Returns false if there are none.
    fn round(&mut self) -> bool {
        let snapshot = self.workspace.snapshot();
        let candidates = candidates(self.request, &self.tally, &snapshot, &self.refused);
        let (alone, together): (Vec<_>, Vec<_>) = candidates
            .into_iter()
            .partition(|candidate| self.singly.contains(&candidate.key.0));
        if let Some(first) = together.first() {
            if let Some(after) = self.holding(&snapshot, &together) {
                self.keep(&snapshot, &together, after);
            } else {
                // Trying the fixes of these files one by one shows which of them cause other results.
                let unsettled = self.unsettled(&snapshot, &together);
                self.singly.extend(unsettled);
                self.singly.insert(first.key.0);
            }
            return true;
        }
        let Some(first) = alone.into_iter().next() else {
            return false;
        };
        let one = [first];
        match self.holding(&snapshot, &one) {
            Some(after) => self.keep(&snapshot, &one, after),
            None => self.refused.extend(one.into_iter().map(|candidate| candidate.key)),
        }
        true
    }

    /// Results after some fixes, if the fixes are valid. The texts themselves are restored.
    fn holding(&mut self, snapshot: &Snapshot, candidates: &[Candidate]) -> Option<LintTotals> {
        let after = self.after(snapshot, candidates);
        holds(&self.tally, &after, candidates.len()).then_some(after)
    }

    fn after(&mut self, snapshot: &Snapshot, candidates: &[Candidate]) -> LintTotals {
        let before = texts(candidates, snapshot);
        self.put(snapshot, &before, candidates);
        let after = self.request.tally(&self.workspace.snapshot());
        for (file, text) in before {
            self.set(snapshot, file, text);
        }
        after
    }

    /// Files whose results after the fixes are not as expected.
    fn unsettled(&mut self, snapshot: &Snapshot, candidates: &[Candidate]) -> Vec<FileId> {
        let after = self.after(snapshot, candidates);
        let (was, now) = (count(&self.tally), count(&after));
        let all_of = |counts: &Counts, file: FileId| -> usize {
            let own = counts.iter().filter(|((other, _), _)| *other == file);
            own.map(|(_, number)| *number).sum()
        };
        let files: FxHashSet<FileId> = candidates.iter().map(|candidate| candidate.key.0).collect();
        let is_unsettled = |file: &FileId| {
            let promised = candidates.iter().filter(|candidate| candidate.key.0 == *file).count();
            let more = now
                .iter()
                .any(|(key, number)| key.0 == *file && was.get(key).is_none_or(|was| number > was));
            more || all_of(&now, *file) + promised > all_of(&was, *file)
        };
        files.into_iter().filter(is_unsettled).collect()
    }

    fn keep(&mut self, snapshot: &Snapshot, candidates: &[Candidate], after: LintTotals) {
        let before = texts(candidates, snapshot);
        self.put(snapshot, &before, candidates);
        for (file, text) in before {
            if let Some(path) = snapshot.path(file) {
                self.originals.entry(path.to_path_buf()).or_insert((file, text));
            }
        }
        self.made += candidates.len();
        self.tally = after;
    }

    /// Overlays the files on disk with their texts after some of the fixes.
    fn put(&mut self, snapshot: &Snapshot, texts: &FxHashMap<FileId, Arc<str>>, candidates: &[Candidate]) {
        let mut edits: FxHashMap<FileId, Vec<Edit>> = FxHashMap::default();
        for candidate in candidates {
            edits
                .entry(candidate.key.0)
                .or_default()
                .extend(candidate.edits.iter().cloned());
        }
        for (file, edits) in edits {
            if let Some(after) = texts.get(&file).and_then(|text| apply(text, &edits)) {
                self.set(snapshot, file, after.into());
            }
        }
    }

    fn set(&mut self, snapshot: &Snapshot, file: FileId, text: Arc<str>) {
        if let Some(path) = snapshot.path(file) {
            self.workspace.set_buffer(&path, None, Content { text, problem: None });
        }
    }
}

/// Writes or shows the changes.
fn ended(request: &Request<'_>, made: usize, refused: usize, changes: &[Change]) -> FixOutcome {
    let (results, files) = (several(made, "result"), several(changes.len(), "file"));
    let not_kept = match refused {
        0 => String::new(),
        refused => format!(
            "; {} not made, since another result would come",
            several(refused, "fix")
        ),
    };
    if request.arguments.diff {
        return FixOutcome {
            told: Some(format!(
                "{results} would be fixed in {files}{not_kept}. The results are those that would be left."
            )),
            difference: changes::shown(changes, true),
            is_shown_only: !changes.is_empty(),
            troubles: Vec::new(),
        };
    }
    // A file may have been written by somebody else while its fixes were tried.
    let is_as_read = |change: &&Change| read(&change.path, None).is_ok_and(|now| *now.text == *change.before);
    let (as_read, other): (Vec<&Change>, Vec<&Change>) = changes.iter().partition(is_as_read);
    let other = other
        .into_iter()
        .map(|change| format!("{}: it changed meanwhile", change.path.display()));
    let mut troubles: Vec<String> = other.collect();
    let as_read: Vec<Change> = as_read.into_iter().cloned().collect();
    let written = changes::written(&as_read);
    troubles.extend(written.troubles.into_iter().chain(written.lost));
    FixOutcome {
        told: Some(format!("{results} fixed in {files}{not_kept}.")),
        difference: String::new(),
        is_shown_only: false,
        troubles,
    }
}

/// Fixes of all results that are not accepted. Of overlapping fixes, only the first is taken.
fn candidates(
    request: &Request<'_>,
    tally: &LintTotals,
    snapshot: &Snapshot,
    refused: &FxHashSet<FixKey>,
) -> Vec<Candidate> {
    let mut taken: FxHashMap<FileId, Vec<(u32, u32)>> = FxHashMap::default();
    let mut candidates = Vec::new();
    let is_wanted = |finding: &&Finding| finding.accepted.is_none() && request.arguments.asks_for(finding.rule.name());
    let mut findings: Vec<&Finding> = tally.findings.iter().filter(is_wanted).collect();
    findings.sort_by_key(|finding| (finding.place.file, finding.place.range.start));
    for finding in findings {
        let Some(fix) = finding.certain_fix() else { continue };
        let file = finding.place.file;
        let Ok(Some((_, content))) = snapshot.content(file) else {
            continue;
        };
        let Some(after) = apply(&content.text, &fix.edits) else {
            continue;
        };
        // A fix that changes nothing never finishes, and files that are not valid text must not be written back.
        if *after == *content.text || content.problem.is_some() {
            continue;
        }
        let was: Vec<&str> = fix.edits.iter().map(|edit| edit.range.of(&content.text)).collect();
        let now: Vec<&str> = fix.edits.iter().map(|edit| edit.replacement.as_str()).collect();
        let key = (
            file,
            format!("{} {}", finding.rule.name(), was.join("\0")),
            now.join("\0"),
        );
        let taken = taken.entry(file).or_default();
        let is_free = |edit: &Edit| {
            taken
                .iter()
                .all(|(start, end)| edit.range.end < *start || edit.range.start > *end)
        };
        if refused.contains(&key) || !fix.edits.iter().all(is_free) {
            continue;
        }
        taken.extend(fix.edits.iter().map(|edit| (edit.range.start, edit.range.end)));
        candidates.push(Candidate {
            key,
            edits: fix.edits.clone(),
        });
    }
    candidates
}

fn texts(candidates: &[Candidate], snapshot: &Snapshot) -> FxHashMap<FileId, Arc<str>> {
    let files: FxHashSet<FileId> = candidates.iter().map(|candidate| candidate.key.0).collect();
    let text = |file: FileId| Some((file, snapshot.content(file).ok().flatten()?.1.text));
    files.into_iter().filter_map(text).collect()
}

/// Number of results that are not accepted, by file and rule.
type Counts = FxHashMap<(FileId, &'static str), usize>;

fn count(tally: &LintTotals) -> Counts {
    let mut counts = Counts::default();
    for finding in tally.findings.iter().filter(|finding| finding.accepted.is_none()) {
        *counts.entry((finding.place.file, finding.rule.name())).or_insert(0) += 1;
    }
    counts
}

/// Whether at least that many results are gone and no rule has more results in any file than before.
fn holds(before: &LintTotals, after: &LintTotals, fixes: usize) -> bool {
    let (was, now) = (count(before), count(after));
    let no_more = now
        .iter()
        .all(|(key, number)| was.get(key).is_some_and(|was| number <= was));
    let total = |counts: &Counts| counts.values().sum::<usize>();
    no_more && total(&now) + fixes <= total(&was)
}
