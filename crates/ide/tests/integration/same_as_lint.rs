//! The results of every file in a world are those of linting the same files without one: range, rule, level, message,
//! related places and acceptance.

use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};

use drysheath_disk::{Found, read, root_above, similar, walk};
use drysheath_ide::{Disk, OnDisk, World};
use drysheath_office::{Date, Library, Lookup, PartsFile, Summary, lower};
use drysheath_rules::{Finding, Repository, Settings, is_wide, lint, lint_repository, of_problem};
use drysheath_syntax::parse;
use drysheath_text::{FileId, Place};

const TODAY: Date = Date {
    year: 2026,
    month: 11,
    day: 25,
};

fn tests() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../../tests")
        .canonicalize()
        .unwrap()
}

/// This machine's disk, as the server has it.
struct ThisDisk;

impl Disk for ThisDisk {
    fn read(&self, path: &Path) -> Result<Option<OnDisk>, String> {
        Ok(read(path).ok().map(|text| OnDisk {
            text: text.text.into(),
            problem: text.problem,
        }))
    }

    fn root_above(&self, folder: &Path) -> Option<PathBuf> {
        root_above(folder)
    }

    fn is_outside(&self, path: &Path, root: &Path) -> bool {
        path.canonicalize()
            .is_ok_and(|path| !path.starts_with(root.canonicalize().unwrap()))
    }

    fn similar(&self, root: &Path, name: &str) -> Option<String> {
        similar(root, name)
    }
}

/// The files of one repository, linted one by one.
struct Shelf<'s> {
    root: &'s Path,
    files: &'s RefCell<Vec<PathBuf>>,
}

impl Shelf<'_> {
    fn number(&self, path: &Path) -> FileId {
        let mut files = self.files.borrow_mut();
        let at = files.iter().position(|other| other == path).unwrap_or_else(|| {
            files.push(path.to_owned());
            files.len() - 1
        });
        FileId(at as u32)
    }

    fn name(&self, path: &Path) -> String {
        let inner = path.strip_prefix(self.root).unwrap().with_extension("");
        inner.to_string_lossy().into_owned()
    }
}

impl Library for Shelf<'_> {
    fn find(&self, name: &str) -> Lookup {
        let path = self.root.join(name).with_extension("office");
        match path.canonicalize() {
            Ok(real) if !real.starts_with(self.root) => return Lookup::Outside,
            Ok(_) => {}
            Err(_) => return Lookup::Missing,
        }
        let text = read(&path).unwrap();
        let mut parts = PartsFile::read(self.number(&path), name, text.text.into());
        parts.unsure |= text.problem.is_some();
        Lookup::Found(Arc::new(parts))
    }

    fn similar(&self, name: &str) -> Option<String> {
        similar(self.root, name)
    }
}

fn files_in(folder: &Path) -> BTreeSet<PathBuf> {
    let all = Mutex::new(BTreeSet::new());
    walk(
        &[folder.to_owned()],
        None,
        || (),
        |(), found| {
            if let Found::File { path, .. } = found {
                all.lock().unwrap().insert(path.to_owned());
            }
        },
        |()| {},
    );
    all.into_inner().unwrap()
}

/// A result with paths in place of file numbers.
fn shown(finding: &Finding, path_of: &dyn Fn(Place) -> PathBuf) -> String {
    let related: Vec<_> = finding
        .related
        .iter()
        .map(|related| (path_of(related.place), related.place.range, &related.message))
        .collect();
    format!(
        "{:?} {} {} {:?} {:?} {related:?} {:?}",
        finding.place.range,
        finding.rule.name(),
        finding.level.word(),
        finding.message,
        finding.help,
        finding.accepted,
    )
}

type Shown = BTreeMap<PathBuf, BTreeSet<String>>;

/// The results of all files below a folder without a world.
fn without_world(folder: &Path) -> Shown {
    let files = RefCell::default();
    let mut findings = Vec::new();
    let mut repositories: BTreeMap<PathBuf, Vec<Arc<Summary>>> = BTreeMap::new();
    let mut settings_of: BTreeMap<PathBuf, Settings> = BTreeMap::new();
    for path in files_in(folder) {
        let root = root_above(path.parent().unwrap()).unwrap();
        let shelf = Shelf {
            root: &root,
            files: &files,
        };
        let file = shelf.number(&path);
        let settings = settings_of.entry(root.clone()).or_insert_with(|| {
            let settings = root.join("drysheath.toml");
            let (read, problems) = Settings::read(&read(&settings).unwrap().text);
            findings.extend(
                problems
                    .into_iter()
                    .filter_map(|problem| of_problem(&problem, shelf.number(&settings), &read)),
            );
            read
        });
        let read = read(&path).unwrap();
        let summaries = repositories.entry(root.clone()).or_default();
        if let Some(problem) = read.problem {
            findings.extend(of_problem(&problem, file, settings));
            let unsure = Summary {
                file,
                unsure: true,
                ..Summary::default()
            };
            summaries.push(unsure.into());
            continue;
        }
        let text: Arc<str> = read.text.into();
        let office = lower(file, &shelf.name(&path), Arc::clone(&text), &parse(&text), &shelf);
        findings.extend(lint(&office, settings, TODAY));
        summaries.push(Summary::of(&office, is_wide).into());
    }
    for (root, summaries) in &repositories {
        let all = Repository {
            summaries,
            settings: settings_of.get(root).unwrap(),
            whole: true,
        };
        findings.extend(lint_repository(&all, TODAY));
    }
    let files = files.into_inner();
    let path_of = |place: Place| files.get(place.file.0 as usize).unwrap().clone();
    let mut by_path = Shown::new();
    for finding in &findings {
        let of_file = by_path.entry(path_of(finding.place)).or_default();
        assert!(of_file.insert(shown(finding, &path_of)), "twice: {finding:?}");
    }
    by_path
}

/// The results of all files of a world.
fn of_world(world: &World) -> Shown {
    let path_of = |place: Place| world.path(place.file).unwrap().to_path_buf();
    let results = world.files().map(|file| {
        let findings = world.findings(file);
        let shown: BTreeSet<String> = findings.iter().map(|finding| shown(finding, &path_of)).collect();
        assert_eq!(shown.len(), findings.len(), "something is said twice");
        (world.path(file).unwrap().to_path_buf(), shown)
    });
    results.filter(|(_, shown)| !shown.is_empty()).collect()
}

fn settled(world: &mut World) {
    while world.work().is_some() {}
}

#[test]
fn a_world_says_what_lint_says() {
    for folder in [tests().join("county"), tests().join("faults")] {
        let expected = without_world(&folder);
        let mut world = World::new(Box::new(ThisDisk), TODAY);
        world.set_folders(vec![folder.clone()]);
        world.found(&folder, files_in(&folder));
        settled(&mut world);
        assert_eq!(of_world(&world), expected, "closed");
        // Texts that an editor can have open, which others are not.
        let texts = files_in(&folder).into_iter().filter_map(|path| {
            let text = read(&path).unwrap();
            text.problem.is_none().then_some((path, text.text))
        });
        let texts: Vec<(PathBuf, String)> = texts.collect();
        for (path, text) in &texts {
            world.open(path, 1, text);
        }
        settled(&mut world);
        assert_eq!(of_world(&world), expected, "open");
        for (path, _) in &texts {
            world.open(path, 2, "office other { title \"Another\" }\n");
        }
        settled(&mut world);
        assert_ne!(of_world(&world), expected);
        for (path, _) in &texts {
            world.close(path);
        }
        settled(&mut world);
        assert_eq!(of_world(&world), expected, "closed again");
    }
}
