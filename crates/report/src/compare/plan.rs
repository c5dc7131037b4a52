//! What has to be looked at: which files can differ, and which file of the head is which of the base.

use std::collections::HashSet;
use std::sync::Arc;

use drysheath_office::{Library as _, Lookup, Office, Part, Summary, lower};
use drysheath_rules::is_wide;
use drysheath_syntax::parse;
use drysheath_text::FileId;
use rustc_hash::FxHashMap;

use super::parallel::each;
use super::version::{Content, Entry, Root, Side};
use super::wording::conflict;
use crate::Files as _;
use crate::matching::Unmatched;

/// What is kept of a file once it was looked at.
#[derive(Debug)]
pub(super) struct Outline {
    pub file: FileId,
    pub summary: Summary,
    /// The office's name as people say it.
    pub title: Option<String>,
    pub has_office: bool,
    /// Whether an office may have gone unread.
    unsure: bool,
    /// The parts of a file of parts.
    pub parts: Vec<Arc<Part>>,
    /// The parts that its things are made from, each once.
    pub taken: Vec<Arc<Part>>,
    /// What could not be understood, in words.
    problems: Vec<String>,
}

/// A path in both states.
pub(super) struct Looked<'v> {
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
    /// Where it was: the number of its path among those looked at.
    pub base: Option<usize>,
    /// Where it is.
    pub head: Option<usize>,
    /// Whether it is an office; otherwise it is a file of parts.
    pub is_office: bool,
}

/// Looks at all files, and closer at those that can differ.
pub(super) fn look<'v>(base: &Side<'v>, head: &Side<'v>, entries: &[Entry<'v>]) -> Vec<Looked<'v>> {
    let all: Vec<FileId> = entries
        .iter()
        .flat_map(|entry| [entry.base, entry.head])
        .flatten()
        .collect();
    let wrong: FxHashMap<FileId, String> = each(&all, |file| Some((*file, wrong(base.versions.content(*file))?)))
        .into_iter()
        .flatten()
        .collect();
    each(entries, |entry| {
        let (before, after) = (open(base, entry.base), open(head, entry.head));
        let roots = (base.root_of(entry.path), head.root_of(entry.path));
        let same_settings = match roots {
            (Some(before), Some(after)) => (before.folder, before.settings_file) == (after.folder, after.settings_file),
            _ => false,
        };
        let uses = |office: &Option<(Office, Outline)>| -> Vec<Box<str>> {
            let office = office.as_ref().map(|(office, _)| office);
            office.map_or_else(Vec::new, |office| {
                office.uses.iter().map(|used| used.value.clone()).collect()
            })
        };
        let reach = |root: Option<&Root<'v>>, office| root.map(|root| reach(root, uses(office))).unwrap_or_default();
        let (used_before, used_after) = (reach(roots.0, &before), reach(roots.1, &after));
        let differs = entry.base != entry.head || !same_settings || used_before.files != used_after.files;
        let broken = |file: Option<FileId>, used: &Reach| -> Option<String> {
            let own = wrong.get(&file?).cloned();
            own.or_else(|| {
                used.files.iter().find_map(|(name, file)| {
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
        Looked {
            path: entry.path,
            base: before.map(|(_, outline)| outline),
            head: after.map(|(_, outline)| outline),
            differs,
            same_settings,
            broken,
        }
    })
}

fn open(side: &Side<'_>, file: Option<FileId>) -> Option<(Office, Outline)> {
    let file = file?;
    let path = side.versions.path(file);
    let root = side.root_of(path)?;
    let content = side.versions.content(file);
    let tree = parse(&content.text);
    let office = lower(file, root.name_of(path), content.text, &tree, root);
    let mut summary = Summary::of(&office, is_wide);
    let is_broken = content.problem.is_some();
    summary.unsure |= is_broken;
    let itself = office.itself.map(|id| office.thing(id));
    let outline = Outline {
        file,
        summary,
        title: itself.and_then(|itself| {
            let title = drysheath_office::Fields::text(itself, drysheath_office::kinds::Key::Title)?;
            Some(title.to_owned())
        }),
        has_office: office.itself.is_some(),
        unsure: is_broken || office.unsure.things,
        parts: if office.itself.is_none() {
            office.parts.clone()
        } else {
            Vec::new()
        },
        taken: taken(&office),
        problems: office.problems.iter().map(|problem| problem.message.clone()).collect(),
    };
    Some((office, outline))
}

fn taken(office: &Office) -> Vec<Arc<Part>> {
    let mut taken: Vec<Arc<Part>> = Vec::new();
    for part in office.things.iter().filter_map(|thing| thing.part.as_ref()) {
        if !taken.iter().any(|other| Arc::ptr_eq(other, part)) {
            taken.push(Arc::clone(part));
        }
    }
    taken
}

impl Looked<'_> {
    /// Whether it is the same text under the same settings, made from parts none of which `is_changed`: whatever else is
    /// other in the files that it uses does not reach it.
    pub fn is_out_of_reach(&self, is_changed: impl Fn(&Part) -> bool) -> bool {
        let (Some(before), Some(after)) = (&self.base, &self.head) else {
            return false;
        };
        let same = before.file == after.file && self.same_settings && self.broken == (None, None);
        let mut taken = before.taken.iter().chain(&after.taken);
        same && before.problems == after.problems && !taken.any(|part| is_changed(part))
    }
}

/// The files within reach of a file, by the names that `use` has for them.
#[derive(Default)]
struct Reach {
    files: Vec<(Box<str>, Option<FileId>)>,
}

fn reach(root: &Root<'_>, uses: Vec<Box<str>>) -> Reach {
    let mut reach = Reach::default();
    let mut seen: HashSet<Box<str>> = HashSet::new();
    let mut open = uses;
    while let Some(name) = open.pop() {
        if !seen.insert(name.clone()) {
            continue;
        }
        if let Lookup::Found(file) = root.find(&name) {
            open.extend(file.uses.iter().cloned());
        }
        let file = root.file(&name);
        reach.files.push((name, file));
    }
    reach.files.sort_unstable();
    reach
}

/// What keeps a file from being understood as a whole.
fn wrong(content: Content) -> Option<String> {
    if let Some(problem) = content.problem {
        return Some(problem.message);
    }
    let (first, last) = conflict(&content.text)?;
    Some(format!("a merge was left undone in lines {first} to {last}"))
}

/// What an office is called by.
type Called<'c> = &'c dyn Fn(&Outline) -> Option<String>;

/// Which file is which, in the order of the head's paths; what was removed comes last. A file of the same path is the same,
/// unless it has another office; an office that moved is known by its site, or else by its name.
pub(super) fn pairs(looked: &[Looked<'_>]) -> Vec<Pair> {
    let mut pairs = Vec::new();
    let mut left = Vec::new();
    for (at, file) in looked.iter().enumerate() {
        match (&file.base, &file.head) {
            (Some(before), Some(after)) if is_one(before, after) => {
                if file.differs {
                    pairs.push(Pair {
                        base: Some(at),
                        head: Some(at),
                        is_office: before.has_office || after.has_office,
                    });
                }
            }
            _ => left.push(at),
        }
    }
    let base = |at: &usize| looked.get(*at).and_then(|file| file.base.as_ref());
    let head = |at: &usize| looked.get(*at).and_then(|file| file.head.as_ref());
    let mut unmatched = Unmatched {
        before: left.iter().copied().filter(|at| base(at).is_some()).collect(),
        after: left.iter().copied().filter(|at| head(at).is_some()).collect(),
    };
    let site = |outline: &Outline| outline.summary.site.as_ref().map(|(site, _)| site.to_string());
    let name = |outline: &Outline| Some(outline.summary.office.to_string()).filter(|name| !name.is_empty());
    for called in [&site as Called<'_>, &name] {
        let moved = unmatched.pair_unique(|at| base(&at).and_then(called), |at| head(&at).and_then(called));
        pairs.extend(moved.into_iter().map(|(was, now)| Pair {
            base: Some(was),
            head: Some(now),
            is_office: true,
        }));
    }
    let Unmatched {
        before: gone,
        after: come,
    } = unmatched;
    pairs.extend(come.iter().map(|at| Pair {
        base: None,
        head: Some(*at),
        is_office: head(at).is_some_and(|outline| outline.has_office),
    }));
    pairs.sort_by_key(|pair| pair.head);
    pairs.extend(gone.iter().map(|at| Pair {
        base: Some(*at),
        head: None,
        is_office: base(at).is_some_and(|outline| outline.has_office),
    }));
    pairs
}

/// Whether what lies at one path is the same before and now.
fn is_one(before: &Outline, after: &Outline) -> bool {
    match (before.has_office, after.has_office) {
        (true, true) => {
            let sites = before.summary.site.as_ref().zip(after.summary.site.as_ref());
            before.summary.office == after.summary.office || sites.is_some_and(|((one, _), (other, _))| one == other)
        }
        (false, false) => true,
        // An office that cannot be read is there all the same.
        (true, false) => after.unsure,
        (false, true) => before.unsure,
    }
}
