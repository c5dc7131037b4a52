//! Decides what to compare: which files can differ, and how files of the two states correspond.

use std::path::Path;
use std::sync::Arc;

use drysheath_office::kinds::Key;
use drysheath_office::{Fields as _, Office, Part, Summary, Thing};
use drysheath_rules::is_wide;
use drysheath_text::FileId;
use drysheath_workspace::{LoweredFile, Snapshot, Texts};
use rayon::prelude::*;
use rustc_hash::{FxHashMap, FxHashSet};

use super::known::{KnownFile, KnownFiles};
use super::states::{PathFiles, States};
use super::wording::conflict;
use crate::matching::{OfficeNames, Unmatched};

/// Data that a comparison needs of a file that has been inspected.
#[derive(Clone, Debug)]
pub(super) struct Outline {
    pub file: FileId,
    pub known: KnownFile,
    /// Details of a file that can differ. `None` where the file has not been read, since it cannot differ.
    pub rest: Option<OutlineDetails>,
}

/// Details of a file that can differ.
#[derive(Clone, Debug, Default)]
pub(super) struct OutlineDetails {
    /// Title of the office, if stated.
    pub title: Option<String>,
    /// The parts of a file of parts.
    pub parts: Vec<Arc<Part>>,
    /// The parts that its things use, without duplicates.
    pub taken: Vec<Arc<Part>>,
    /// The files of drawings, routes and other offices that it depends on.
    drawn: Vec<FileId>,
    /// Messages for text that could not be understood.
    problems: Vec<String>,
}

/// A path in both states.
pub(super) struct PathStates<'v> {
    pub path: &'v str,
    /// The file in the base. If nothing can differ, also the file in the head.
    pub base: Option<Arc<Outline>>,
    /// The file in the head.
    pub head: Option<Arc<Outline>>,
    /// Whether it can differ.
    pub differs: bool,
    /// Whether it belongs to the same repository with the same settings in both states.
    same_settings: bool,
    /// Why it cannot be compared: errors in it or in files that it uses, in the base and in the head.
    pub broken: (Option<String>, Option<String>),
}

/// A file of the base and its counterpart in the head.
#[derive(Clone, Copy, Debug)]
pub(super) struct Pair {
    /// Index of its path in the base among the surveyed paths.
    pub base: Option<usize>,
    /// Index of its path in the head.
    pub head: Option<usize>,
    /// Whether it is an office; otherwise it is a file of parts.
    pub is_office: bool,
}

/// The files that use each file.
type Users = FxHashMap<FileId, Vec<FileId>>;

/// The files that a file can reach, with the names in its `use` statements.
type Reach = Vec<(Box<str>, Option<FileId>)>;

/// Number of files that a worker reads at a time.
const AT_ONCE: usize = 16;

/// Reads all files on all cores, and finds those that can differ. A file that is the same in both states, with
/// everything that it uses, is read once.
pub(super) fn survey<'s>(states: &'s States, known: &dyn KnownFiles) -> Vec<PathStates<'s>> {
    let changed = changed(states);
    let chunks = states.entries.par_chunks(AT_ONCE);
    let read = |entries| read(states, entries, &changed, known);
    let mut paths_in_both: Vec<PathStates<'_>> = chunks.flat_map_iter(read).collect();
    let reached = reaching_changes(states, &paths_in_both, &changed);
    let is_reached = |file: &PathStates<'_>| file.number().is_some_and(|number| reached.contains(&number));
    paths_in_both
        .par_iter_mut()
        .filter(|file| !file.differs && is_reached(file))
        .for_each(|file| file.read_in_both(states));
    let differing = || paths_in_both.par_iter().filter(|file| file.differs);
    let within: Vec<[Reach; 2]> = differing().map(|file| file.within_reach(states)).collect();
    let wrong = wrong_files(states, differing(), &within);
    let differing = paths_in_both.iter_mut().filter(|file| file.differs);
    for (file, [before, after]) in differing.zip(&within) {
        let why = |outline: &Option<Arc<Outline>>, used| broken(outline.as_ref()?.file, used, &wrong);
        file.broken = (why(&file.base, before), why(&file.head, after));
    }
    paths_in_both
}

/// The files that differ between the states, by their ids in the base.
fn changed(states: &States) -> FxHashSet<FileId> {
    let changed = states.entries.iter().filter(|entry| entry.in_both().is_none());
    changed.map(|entry| states.base.file(Path::new(&entry.path))).collect()
}

/// Reads a few files. For those that are the same in both states it is not yet known whether everything that they use
/// is. One that asked for a changed file while it was lowered is read in the head at once, since its tree is at hand.
fn read<'s>(
    states: &'s States,
    entries: &'s [PathFiles],
    changed: &FxHashSet<FileId>,
    known: &dyn KnownFiles,
) -> Vec<PathStates<'s>> {
    let mut unknown = Vec::new();
    let mut outlines: FxHashMap<FileId, Arc<Outline>> = FxHashMap::default();
    for file in entries.iter().filter_map(PathFiles::in_both) {
        let Ok(Some(read)) = states.base.read_bytes(file) else {
            continue;
        };
        let known = is_of_same_settings(states, file, file)
            .then(|| known.find(&states.base, &read))
            .flatten();
        match known {
            Some(known) => {
                let rest = None;
                outlines.insert(file, Arc::new(Outline { file, known, rest }));
            }
            None => unknown.push(read),
        }
    }
    let mut after = FxHashMap::default();
    for reading in states.base.lower_all(unknown) {
        let outline = outline(&reading);
        known.store(&reading, &outline.known);
        let asks_for_changed = || reading.used.iter().flatten().any(|used| changed.contains(&used.file));
        if !is_of_same_settings(states, reading.file, reading.file) || asks_for_changed() {
            after.insert(reading.file, self::outline(&states.head.read_again(&reading)));
        }
        outlines.insert(reading.file, Arc::new(outline));
    }
    let survey_one = |entry: &'s PathFiles| {
        let path = entry.path.as_str();
        let broken = (None, None);
        let Some(file) = entry.in_both() else {
            let (base, head) = (
                outline_of(&states.base, entry.base),
                outline_of(&states.head, entry.head),
            );
            let files = base.as_ref().zip(head.as_ref());
            let same_settings = files.is_some_and(|(was, now)| is_of_same_settings(states, was.file, now.file));
            return PathStates {
                path,
                base,
                head,
                differs: true,
                same_settings,
                broken,
            };
        };
        let base = outlines.remove(&file);
        let same_settings = is_of_same_settings(states, file, file);
        let after = after.remove(&file).map(Arc::new);
        PathStates {
            path,
            differs: !same_settings || after.is_some(),
            head: after.or_else(|| base.clone()),
            base,
            same_settings,
            broken,
        }
    };
    entries.iter().map(survey_one).collect()
}

/// The files that are the same in both states but use one of the `changed` ones, directly or indirectly.
///
/// A name is relative to the root of the file at the start of the chain, even where it is in a file of another root. So
/// the chains of each root are followed separately.
fn reaching_changes(
    states: &States,
    paths_in_both: &[PathStates<'_>],
    changed: &FxHashSet<FileId>,
) -> FxHashSet<FileId> {
    let mut reached = FxHashSet::default();
    if changed.is_empty() {
        return reached;
    }
    let same = paths_in_both.iter().filter(|file| file.number().is_some());
    let same: Vec<(&str, &Outline)> = same
        .filter_map(|file| Some((file.path, file.base.as_deref()?)))
        .collect();
    // For each root one of its files, to resolve names, and the users of each file.
    let mut chains: FxHashMap<Arc<Path>, (FileId, Users)> = FxHashMap::default();
    for (_, outline) in &same {
        let root = &states.base.repository(outline.file).root;
        chains
            .entry(Arc::clone(root))
            .or_insert_with(|| (outline.file, Users::default()));
    }
    for (path, outline) in &same {
        for above in Path::new(path).ancestors().skip(1) {
            let Some((of_root, users)) = chains.get_mut(above) else {
                continue;
            };
            for name in &outline.known.named {
                let used = states.base.file_named(*of_root, name);
                users.entry(used).or_default().push(outline.file);
            }
        }
    }
    for (root, (_, users)) in &chains {
        let mut open: Vec<FileId> = changed.iter().copied().collect();
        let mut seen = FxHashSet::default();
        while let Some(file) = open.pop() {
            let users = users.get(&file).into_iter().flatten();
            open.extend(users.copied().filter(|user| seen.insert(*user)));
        }
        let is_own = |file: &FileId| states.base.repository(*file).root == *root;
        reached.extend(seen.into_iter().filter(is_own));
    }
    reached
}

/// Errors of the files that differ or are reachable from one that does. A file that is the same in both states is
/// checked once.
fn wrong_files<'s>(
    states: &States,
    differing: impl ParallelIterator<Item = &'s PathStates<'s>>,
    within: &[[Reach; 2]],
) -> FxHashMap<FileId, String> {
    let number = |outline: &Option<Arc<Outline>>| outline.as_ref().map(|outline| outline.file);
    let own: Vec<[Option<FileId>; 2]> = differing.map(|file| [number(&file.base), number(&file.head)]).collect();
    let own = own
        .into_iter()
        .map(|files| files.map(|file| file.into_iter().collect()));
    let within = within.iter();
    let within = within.map(|both| {
        both.each_ref()
            .map(|reach| reach.iter().filter_map(|(_, file)| *file).collect())
    });
    let mut asked: FxHashMap<FileId, &Snapshot> = FxHashMap::default();
    for files in own.chain(within) {
        let files: [Vec<FileId>; 2] = files;
        for (state, files) in [&states.base, &states.head].into_iter().zip(files) {
            asked.extend(files.into_iter().map(|file| (file, state)));
        }
    }
    let wrong = |(file, state): (FileId, &Snapshot)| Some((file, wrong(state, file)?));
    asked.into_par_iter().filter_map(wrong).collect()
}

/// Why a file cannot be compared.
fn broken(file: FileId, used: &Reach, wrong: &FxHashMap<FileId, String>) -> Option<String> {
    let own = wrong.get(&file).cloned();
    own.or_else(|| {
        used.iter().find_map(|(name, file)| {
            let why = wrong.get(&(*file)?)?;
            Some(format!("it uses {name}, and there {why}"))
        })
    })
}

fn outline_of(state: &Snapshot, file: Option<FileId>) -> Option<Arc<Outline>> {
    let reading = state.read(file?).ok().flatten()?;
    Some(Arc::new(outline(&reading)))
}

/// Whether a file belongs to the same repository with the same settings in both states.
fn is_of_same_settings(states: &States, before: FileId, after: FileId) -> bool {
    let (before, after) = (states.base.repository(before), states.head.repository(after));
    before.root == after.root && before.settings_files().eq(after.settings_files())
}

fn outline(reading: &LoweredFile) -> Outline {
    let office = &reading.office;
    let mut summary = Summary::of(office, is_wide);
    summary.unsure |= reading.problem.is_some();
    let itself = office.itself.map(|id| office.thing(id));
    Outline {
        file: reading.file,
        known: KnownFile::of(reading, Arc::new(summary)),
        rest: Some(OutlineDetails {
            title: itself.and_then(|itself| Some(itself.text(Key::Title)?.to_owned())),
            parts: if office.itself.is_none() {
                office.parts.clone()
            } else {
                Vec::new()
            },
            taken: taken(office),
            drawn: drawn(office),
            problems: office.problems.iter().map(|problem| problem.message.clone()).collect(),
        }),
    }
}

/// The files of drawings that an office places, of routes that it uses, and of the offices at their other ends.
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

impl PathStates<'_> {
    /// Id of the file, if its text is the same in both states.
    fn number(&self) -> Option<FileId> {
        let (base, head) = (self.base.as_ref()?.file, self.head.as_ref()?.file);
        (base == head).then_some(base)
    }

    /// Reads a file that is the same in both states but uses one that is not. Both states share its tree, unless its
    /// outline in the base is known already.
    fn read_in_both(&mut self, states: &States) {
        self.differs = true;
        let number = self.number();
        if self.base.as_ref().is_some_and(|outline| outline.rest.is_some()) {
            self.head = outline_of(&states.head, number);
            return;
        }
        let reading = number.and_then(|number| states.base.read(number).ok().flatten());
        let both = reading.map(|reading| [outline(&reading), outline(&states.head.read_again(&reading))]);
        [self.base, self.head] = match both {
            Some(both) => both.map(|outline| Some(Arc::new(outline))),
            None => [None, None],
        };
    }

    /// The files that it can reach in the base and in the head.
    fn within_reach(&self, states: &States) -> [Reach; 2] {
        let reach = |state: &Snapshot, outline: &Option<Arc<Outline>>| {
            let outline = outline.as_ref();
            let reach = outline
                .map(|outline| state.files_within_reach(outline.file, outline.known.named.iter().map(|name| &**name)));
            reach.unwrap_or_default()
        };
        [reach(&states.base, &self.base), reach(&states.head, &self.head)]
    }

    /// Whether its text and settings are the same and it uses no part for which `is_changed` holds, so that other
    /// changes in the files that it uses do not affect it.
    pub fn is_out_of_reach(&self, is_changed: impl Fn(&Part) -> bool) -> bool {
        let (Some(before), Some(after)) = (&self.base, &self.head) else {
            return false;
        };
        let same = before.file == after.file && self.same_settings && self.broken == (None, None);
        let (Some(before), Some(after)) = (&before.rest, &after.rest) else {
            // No differing file is reachable from it.
            return same;
        };
        let mut taken = before.taken.iter().chain(&after.taken);
        same && before.drawn == after.drawn && before.problems == after.problems && !taken.any(|part| is_changed(part))
    }
}

/// The first error that makes a file unreadable.
fn wrong(state: &Snapshot, file: FileId) -> Option<String> {
    let (_, content) = state.content(file).ok().flatten()?;
    if let Some(problem) = content.problem {
        return Some(problem.message);
    }
    let (first, last) = conflict(&content.text)?;
    Some(format!("a merge was left undone in lines {first} to {last}"))
}

/// Matches files, in the order of the head's paths, with removed ones last. Files with the same path correspond, unless
/// the file now has another office; an office that moved is matched by its site code, then by its name, then by its
/// lines.
pub(super) fn pairs(paths_in_both: &[PathStates<'_>], texts: &Texts) -> Vec<Pair> {
    let base = |at: usize| paths_in_both.get(at).and_then(|file| file.base.as_deref());
    let head = |at: usize| paths_in_both.get(at).and_then(|file| file.head.as_deref());
    let mut unmatched = Unmatched {
        before: (0..paths_in_both.len()).filter(|at| base(*at).is_some()).collect(),
        after: (0..paths_in_both.len()).filter(|at| head(*at).is_some()).collect(),
    };
    let stayed = |at: usize| base(at).zip(head(at)).is_some_and(stays).then_some(at);
    let mut matched = unmatched.pair_unique(stayed, stayed);
    let path = |at: usize| paths_in_both.get(at).map(|file| file.path);
    matched.extend(unmatched.pair_offices(
        |at| office_names(path(at)?, base(at)?),
        |at| office_names(path(at)?, head(at)?),
    ));
    let office_text = |outline: &Outline| outline.known.has_office.then(|| texts.text(outline.file));
    matched.extend(unmatched.pair_alike(|at| office_text(base(at)?), |at| office_text(head(at)?)));
    matched.retain(|(was, now)| was != now || paths_in_both.get(*now).is_some_and(|file| file.differs));
    let pair = |was: Option<usize>, now: Option<usize>| {
        let outlines = [was.and_then(base), now.and_then(head)];
        Pair {
            base: was,
            head: now,
            is_office: outlines.into_iter().flatten().any(|outline| outline.known.has_office),
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
    outline.known.has_office.then(|| OfficeNames {
        path,
        site: outline.known.summary.site.as_ref().map(|(site, _)| &**site),
        name: &outline.known.summary.office,
        former_name: outline.known.former_name.as_deref(),
    })
}

/// Whether the file at a path is the same before and after although it is not an office in both.
fn stays((before, after): (&Outline, &Outline)) -> bool {
    match (before.known.has_office, after.known.has_office) {
        (true, true) => false,
        (false, false) => true,
        // An unreadable office may still be there.
        (true, false) => after.known.unsure,
        (false, true) => before.known.unsure,
    }
}
