//! Clean offices with their parts, and the lint results before and after an edit.

use std::collections::HashMap;
use std::path::Path;
use std::sync::Arc;
use std::{fs, io};

use drysheath_office::kinds::Kind;
use drysheath_office::{Date, Office, PartsFile, PartsInMemory, PartsLookup, PartsSource, Summary, lower};
use drysheath_rules::{Finding, RepositoryInspection, Settings, is_wide, lint, lint_repository};
use drysheath_syntax::{Tree, parse};
use drysheath_text::FileId;

use super::edits::{Edit, Surroundings, edits};

/// All dates are before this day, and all acceptances are valid on it.
const TODAY: Date = Date {
    year: 2026,
    month: 11,
    day: 25,
};

/// Lint results: each message of each rule, and how often it occurs.
type LintMessages = HashMap<(&'static str, String), usize>;

struct File {
    path: String,
    text: String,
    tree: Tree,
    office: Office,
    said: LintMessages,
}

/// Clean offices with their parts and settings.
pub(super) struct Collection {
    files: Vec<File>,
    library: PartsInMemory,
    settings: Settings,
    summaries: Vec<Arc<Summary>>,
    said_of_all: LintMessages,
}

impl Collection {
    /// All offices and parts files below a folder with settings.
    pub(super) fn below(folder: &Path) -> io::Result<Self> {
        let mut files = Vec::new();
        for inner in ["parts", "offices", "routes"] {
            for entry in fs::read_dir(folder.join(inner))? {
                let path = entry?.path();
                let stem = path.file_stem().unwrap_or_default().to_string_lossy();
                files.push((format!("{inner}/{stem}"), fs::read_to_string(&path)?));
            }
        }
        files.sort();
        let settings = fs::read_to_string(folder.join("drysheath.toml"))?;
        Ok(Self::new(files, &settings))
    }

    /// A single office that uses no other file.
    pub(super) fn of(path: &Path) -> io::Result<Self> {
        let stem = path.file_stem().unwrap_or_default().to_string_lossy().into_owned();
        Ok(Self::new(vec![(stem, fs::read_to_string(path)?)], ""))
    }

    fn new(texts: Vec<(String, String)>, settings: &str) -> Self {
        let (settings, _) = Settings::read(settings);
        let numbered = (0..).map(FileId).zip(&texts);
        let library = PartsInMemory::new(numbered.map(|(file, (path, text))| (file, path.as_str(), text.as_str())));
        let mut files = Vec::new();
        for (number, (path, text)) in (0..).zip(texts) {
            let tree = parse(&text);
            let office = lower(FileId(number), &path, text.as_str().into(), &tree, &library);
            let said = said(&lint(&office, &settings, TODAY));
            files.push(File {
                path,
                text,
                tree,
                office,
                said,
            });
        }
        let summaries: Vec<_> = files
            .iter()
            .map(|file| Arc::new(Summary::of(&file.office, is_wide)))
            .collect();
        let mut collection = Self {
            files,
            library,
            settings,
            summaries,
            said_of_all: LintMessages::new(),
        };
        collection.said_of_all = collection.of_all(&collection.summaries);
        collection
    }

    /// All edits of all files.
    pub(super) fn edits(&self) -> Vec<(usize, Edit)> {
        let mut parts: Vec<(&'static Kind, &str)> = Vec::new();
        for file in &self.files {
            parts.extend(file.office.parts.iter().map(|part| (part.kind, &*part.name)));
        }
        let of_parts = self.files.iter().filter(|file| !file.office.parts.is_empty());
        let paths: Vec<&str> = of_parts.map(|file| file.path.as_str()).collect();
        let of_file = |(number, file): (usize, &File)| {
            let surroundings = Surroundings {
                parts: &parts,
                paths: &paths,
            };
            let edits = edits(&file.office, &file.tree, surroundings);
            edits.into_iter().map(move |edit| (number, edit))
        };
        self.files.iter().enumerate().flat_map(of_file).collect()
    }

    /// Applies an edit. If it has no result, returns file and line, and the old and new text.
    pub(super) fn silent(&self, file: usize, edit: &Edit) -> Option<String> {
        let before = self.files.get(file)?;
        let text = edit.apply(&before.text);
        if self.speaks(file, &text) {
            return None;
        }
        let line = edit.line(&before.text);
        Some(format!("{}.office:{line}: {}", before.path, edit.shown(&before.text)))
    }

    fn speaks(&self, number: usize, text: &str) -> bool {
        let Some(before) = self.files.get(number) else {
            return false;
        };
        let tree = parse(text);
        let file = FileId(number as u32);
        let office = lower(file, &before.path, text.into(), &tree, &self.library);
        if self.is_new(before, &office) {
            return true;
        }
        let mut summaries = self.summaries.clone();
        let mut summarise = |number: usize, office: &Office| {
            if let Some(summary) = summaries.get_mut(number) {
                *summary = Arc::new(Summary::of(office, is_wide));
            }
        };
        summarise(number, &office);
        let is_joined = |user: &File| user.office.neighbours.iter().any(|other| other.file == file);
        let has_parts = !before.office.parts.is_empty() || !office.parts.is_empty();
        if has_parts || self.files.iter().any(is_joined) {
            let standard = self.settings.standard();
            let library = Edited {
                before: &self.library,
                path: &before.path,
                file: Arc::new(PartsFile::read(file, &before.path, text.into(), standard)),
            };
            let users = self.files.iter().enumerate();
            let is_affected = |user: &File| has_parts && self.reaches(user, &before.path) || is_joined(user);
            for (at, user) in users.filter(|(_, user)| is_affected(user)) {
                let again = lower(
                    FileId(at as u32),
                    &user.path,
                    user.text.as_str().into(),
                    &user.tree,
                    &library,
                );
                if self.is_new(user, &again) {
                    return true;
                }
                summarise(at, &again);
            }
        }
        is_more(&self.of_all(&summaries), &self.said_of_all)
    }

    /// Whether a file uses the one at `path`, directly or indirectly.
    fn reaches(&self, user: &File, path: &str) -> bool {
        let mut open = vec![user];
        let mut seen: Vec<&str> = vec![&user.path];
        while let Some(file) = open.pop() {
            for used in file.office.uses.iter().map(|used| &*used.value) {
                if used == path {
                    return true;
                }
                if !seen.contains(&used) {
                    seen.push(used);
                    open.extend(self.files.iter().find(|file| file.path == used));
                }
            }
        }
        false
    }

    fn is_new(&self, before: &File, office: &Office) -> bool {
        is_more(&said(&lint(office, &self.settings, TODAY)), &before.said)
    }

    fn of_all(&self, summaries: &[Arc<Summary>]) -> LintMessages {
        let repository = RepositoryInspection {
            summaries,
            settings: &self.settings,
            settings_below: &HashMap::default(),
            whole: true,
        };
        said(&lint_repository(&repository, TODAY))
    }
}

/// The parts files, one of them edited.
struct Edited<'c> {
    before: &'c PartsInMemory,
    path: &'c str,
    file: Arc<PartsFile>,
}

impl PartsSource for Edited<'_> {
    fn find(&self, path: &str) -> PartsLookup {
        if path == self.path {
            PartsLookup::Found(Arc::clone(&self.file))
        } else {
            self.before.find(path)
        }
    }

    fn names_in(&self, folder: &str) -> Vec<String> {
        self.before.names_in(folder)
    }
}

fn said(findings: &[Finding]) -> LintMessages {
    let mut said = LintMessages::new();
    for finding in findings.iter().filter(|finding| finding.accepted.is_none()) {
        *said.entry((finding.rule.name(), finding.message.clone())).or_default() += 1;
    }
    said
}

fn is_more(now: &LintMessages, before: &LintMessages) -> bool {
    now.iter()
        .any(|(result, count)| before.get(result).is_none_or(|had| had < count))
}
