//! What has to be compared: which files can differ, and which file of the head is which of the base.

use std::sync::Arc;

use drysheath_office::kinds::Key;
use drysheath_office::{Fields as _, Office, Part, Summary, Thing};
use drysheath_rules::is_wide;
use drysheath_text::FileId;
use drysheath_workspace::{LoweredFile, Snapshot, Texts};
use rayon::prelude::*;
use rustc_hash::FxHashMap;

use super::states::{Entry, States};
use super::wording::conflict;
use crate::matching::{OfficeNames, Unmatched};

/// What is kept of a file once it has been read.
#[derive(Clone, Debug)]
pub(super) struct Outline {
    pub file: FileId,
    pub summary: Arc<Summary>,
    /// The office's name as people say it.
    pub title: Option<String>,
    /// A name that the office had before.
    former_name: Option<Box<str>>,
    pub has_office: bool,
    /// Whether an office may have gone unread.
    unsure: bool,
    /// The parts of a file of parts.
    pub parts: Vec<Arc<Part>>,
    /// The parts that its things are made from, each once.
    pub taken: Vec<Arc<Part>>,
    /// The files of drawings, routes and other offices that it is made of.
    pub drawn: Vec<FileId>,
    /// What could not be understood, in words.
    problems: Vec<String>,
}

/// A path in both states.
pub(super) struct Surveyed<'v> {
    pub path: &'v str,
    pub base: Option<Outline>,
    pub head: Option<Outline>,
    /// Whether it can differ.
    pub differs: bool,
    /// Whether it belongs to the same repository under the same settings.
    same_settings: bool,
    /// Why it cannot be compared: what is wrong with it or with what it uses, in the base and in the head.
    pub broken: (Option<String>, Option<String>),
}

/// A file of the base and the file of the head that it is now.
#[derive(Clone, Copy, Debug)]
pub(super) struct Pair {
    /// Where it was: the index of its path among those surveyed.
    pub base: Option<usize>,
    /// Where it is now, by the same index.
    pub head: Option<usize>,
    /// Whether it is an office; otherwise it is a file of parts.
    pub is_office: bool,
}

/// The files within reach of a file, by the names that `use` has for them.
type Reach = Vec<(Box<str>, Option<FileId>)>;

/// Reads all files, on all cores, and finds those that can differ.
pub(super) fn survey(states: &States) -> Vec<Surveyed<'_>> {
    let numbers = |entry: &Entry| {
        [
            entry.base.map(|file| (&states.base, file)),
            entry.head.map(|file| (&states.head, file)),
        ]
    };
    let all: Vec<(&Snapshot, FileId)> = states.entries.iter().flat_map(numbers).flatten().collect();
    let wrong = |(state, file): &(&Snapshot, FileId)| Some((*file, wrong(state, *file)?));
    let wrong: FxHashMap<FileId, String> = all.par_iter().filter_map(wrong).collect();
    states
        .entries
        .par_iter()
        .map(|entry| survey_one(states, entry, &wrong))
        .collect()
}

fn survey_one<'s>(states: &'s States, entry: &'s Entry, wrong: &FxHashMap<FileId, String>) -> Surveyed<'s> {
    let read = |state: &Snapshot, file: Option<FileId>| state.read(file?).ok().flatten();
    let reach = |state: &Snapshot, reading: Option<&LoweredFile>| -> Reach {
        reading
            .map(|reading| state.files_within_reach(&reading.office))
            .unwrap_or_default()
    };
    let before = read(&states.base, entry.base);
    let used_before = reach(&states.base, before.as_ref());
    let is_same = entry.base == entry.head;
    let (head, used_after, same_settings) = match &before {
        Some(before) if is_same => {
            let used_after = reach(&states.head, Some(before));
            let same_settings = is_of_same_settings(states, before.file, before.file);
            // Where nothing else differs either, the file means what it meant.
            let means_the_same = same_settings && used_before == used_after;
            let after = (!means_the_same).then(|| states.head.read_again(before));
            (
                Some(outline(after.as_ref().unwrap_or(before))),
                used_after,
                same_settings,
            )
        }
        _ => {
            let after = read(&states.head, entry.head);
            let files = before.as_ref().zip(after.as_ref());
            let same_settings = files.is_some_and(|(was, now)| is_of_same_settings(states, was.file, now.file));
            let used_after = reach(&states.head, after.as_ref());
            (after.as_ref().map(outline), used_after, same_settings)
        }
    };
    let differs = !is_same || !same_settings || used_before != used_after;
    let broken = |file: Option<FileId>, used: &Reach| -> Option<String> {
        let own = wrong.get(&file?).cloned();
        own.or_else(|| {
            used.iter().find_map(|(name, file)| {
                let why = wrong.get(&(*file)?)?;
                Some(format!("it uses {name}, and there {why}"))
            })
        })
    };
    let broken = if differs {
        (broken(entry.base, &used_before), broken(entry.head, &used_after))
    } else {
        (None, None)
    };
    Surveyed {
        path: &entry.path,
        base: before.as_ref().map(outline),
        head,
        differs,
        same_settings,
        broken,
    }
}

/// Whether a file belongs to the same repository under the same settings in both states.
fn is_of_same_settings(states: &States, before: FileId, after: FileId) -> bool {
    let (before, after) = (states.base.repository(before), states.head.repository(after));
    before.root == after.root && before.settings_files().eq(after.settings_files())
}

fn outline(reading: &LoweredFile) -> Outline {
    let office = &reading.office;
    let mut summary = Summary::of(office, is_wide);
    let is_broken = reading.problem.is_some();
    summary.unsure |= is_broken;
    let itself = office.itself.map(|id| office.thing(id));
    Outline {
        file: reading.file,
        summary: Arc::new(summary),
        title: itself.and_then(|itself| Some(itself.text(Key::Title)?.to_owned())),
        former_name: itself.and_then(|itself| Some(itself.former_names().next()?.0.into())),
        has_office: office.itself.is_some(),
        unsure: is_broken || office.unsure.things,
        parts: if office.itself.is_none() {
            office.parts.clone()
        } else {
            Vec::new()
        },
        taken: taken(office),
        drawn: drawn(office),
        problems: office.problems.iter().map(|problem| problem.message.clone()).collect(),
    }
}

/// The files of the drawings that an office places, of the routes that it uses, and of the offices that these lead to.
fn drawn(office: &Office) -> Vec<FileId> {
    let drawn = office.placed.iter().map(|placed| placed.file);
    drawn.chain(office.neighbours.iter().map(|other| other.file)).collect()
}

fn taken(office: &Office) -> Vec<Arc<Part>> {
    let mut taken: Vec<Arc<Part>> = Vec::new();
    let elsewhere = office.neighbours.iter().flat_map(|other| &other.things);
    let things = office.things.iter().chain(elsewhere);
    let placed = office.placed.iter().map(|placed| &placed.part);
    for part in things.flat_map(Thing::parts).chain(placed) {
        if !taken.iter().any(|other| Arc::ptr_eq(other, part)) {
            taken.push(Arc::clone(part));
        }
    }
    taken
}

impl Surveyed<'_> {
    /// Whether it is the same text under the same settings, made from parts none of which `is_changed`: whatever else is
    /// other in the files that it uses does not reach it.
    pub fn is_out_of_reach(&self, is_changed: impl Fn(&Part) -> bool) -> bool {
        let (Some(before), Some(after)) = (&self.base, &self.head) else {
            return false;
        };
        let same = before.file == after.file && self.same_settings && self.broken == (None, None);
        let mut taken = before.taken.iter().chain(&after.taken);
        same && before.drawn == after.drawn && before.problems == after.problems && !taken.any(|part| is_changed(part))
    }
}

/// What keeps a file from being understood as a whole.
fn wrong(state: &Snapshot, file: FileId) -> Option<String> {
    let (_, content) = state.content(file).ok().flatten()?;
    if let Some(problem) = content.problem {
        return Some(problem.message);
    }
    let (first, last) = conflict(&content.text)?;
    Some(format!("a merge was left undone in lines {first} to {last}"))
}

/// Which file is which, in the order of the head's paths; what was removed comes last. A file of the same path is the same,
/// unless it has another office; an office that moved is known by its site, or else by its name, or else by most of its lines.
pub(super) fn pairs(surveyed: &[Surveyed<'_>], texts: &Texts) -> Vec<Pair> {
    let base = |at: usize| surveyed.get(at).and_then(|file| file.base.as_ref());
    let head = |at: usize| surveyed.get(at).and_then(|file| file.head.as_ref());
    let mut unmatched = Unmatched {
        before: (0..surveyed.len()).filter(|at| base(*at).is_some()).collect(),
        after: (0..surveyed.len()).filter(|at| head(*at).is_some()).collect(),
    };
    let stayed = |at: usize| base(at).zip(head(at)).is_some_and(stays).then_some(at);
    let mut matched = unmatched.pair_unique(stayed, stayed);
    let path = |at: usize| surveyed.get(at).map(|file| file.path);
    matched.extend(unmatched.pair_offices(
        |at| office_names(path(at)?, base(at)?),
        |at| office_names(path(at)?, head(at)?),
    ));
    let office_text = |outline: &Outline| outline.has_office.then(|| texts.text(outline.file));
    matched.extend(unmatched.pair_alike(|at| office_text(base(at)?), |at| office_text(head(at)?)));
    matched.retain(|(was, now)| was != now || surveyed.get(*now).is_some_and(|file| file.differs));
    let pair = |was: Option<usize>, now: Option<usize>| {
        let outlines = [was.and_then(base), now.and_then(head)];
        Pair {
            base: was,
            head: now,
            is_office: outlines.into_iter().flatten().any(|outline| outline.has_office),
        }
    };
    let Unmatched {
        before: gone,
        after: come,
    } = unmatched;
    let mut pairs: Vec<Pair> = matched
        .into_iter()
        .map(|(was, now)| pair(Some(was), Some(now)))
        .collect();
    pairs.extend(come.into_iter().map(|now| pair(None, Some(now))));
    pairs.sort_by_key(|pair| pair.head);
    pairs.extend(gone.into_iter().map(|was| pair(Some(was), None)));
    pairs
}

fn office_names<'s>(path: &'s str, outline: &'s Outline) -> Option<OfficeNames<'s>> {
    outline.has_office.then(|| OfficeNames {
        path,
        site: outline.summary.site.as_ref().map(|(site, _)| &**site),
        name: &outline.summary.office,
        former_name: outline.former_name.as_deref(),
    })
}

/// Whether what lies at one path is the same before and now although it is not an office in both.
fn stays((before, after): (&Outline, &Outline)) -> bool {
    match (before.has_office, after.has_office) {
        (true, true) => false,
        (false, false) => true,
        // An office that cannot be read is there all the same.
        (true, false) => after.unsure,
        (false, true) => before.unsure,
    }
}
