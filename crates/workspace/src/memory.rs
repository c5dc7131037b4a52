use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use drysheath_office::{EXTENSION, SETTINGS};

use crate::repository::slashed;
use crate::source::{Content, FileSource};

/// Files in memory, such as those of a revision, by path with `/`.
#[derive(Clone, Debug, Default)]
pub struct Memory {
    files: BTreeMap<String, Content>,
}

impl Memory {
    /// The files sorted by path bytes.
    pub fn files(&self) -> impl Iterator<Item = (&str, &Content)> {
        self.files.iter().map(|(path, content)| (path.as_str(), content))
    }

    /// The offices and files of parts, in the same order.
    pub fn offices(&self) -> impl Iterator<Item = (&str, &Content)> {
        let is_office = |path: &str| {
            Path::new(path)
                .extension()
                .is_some_and(|extension| extension == EXTENSION)
        };
        self.files().filter(move |(path, _)| is_office(path))
    }

    /// Content of a file.
    pub fn get(&self, path: &str) -> Option<&Content> {
        self.files.get(path)
    }

    /// Adds or replaces a file.
    pub fn insert(&mut self, path: String, content: Content) {
        self.files.insert(path, content);
    }
}

impl FromIterator<(String, Content)> for Memory {
    fn from_iter<I: IntoIterator<Item = (String, Content)>>(files: I) -> Self {
        Self {
            files: files.into_iter().collect(),
        }
    }
}

impl FileSource for Memory {
    fn read(&self, path: &Path, _folder: &Path) -> Result<Option<Content>, String> {
        // On Windows the system joins paths with another separator.
        Ok(self.files.get(&slashed(path)).cloned())
    }

    fn settings_above(&self, folder: &Path) -> Vec<PathBuf> {
        let has_settings = |folder: &&Path| self.files.contains_key(&slashed(&folder.join(SETTINGS)));
        folder.ancestors().filter(has_settings).map(Path::to_owned).collect()
    }

    fn real_path(&self, path: &Path) -> Option<PathBuf> {
        Some(path.to_owned())
    }

    fn names_in(&self, root: &Path, folder: &str) -> Vec<String> {
        let names = self.files.keys().filter_map(|path| {
            let path = Path::new(path);
            let inner = path.strip_prefix(root).ok()?;
            let is_beside = inner.parent() == Some(Path::new(folder));
            let is_ours = inner.extension().is_some_and(|extension| extension == EXTENSION);
            (is_beside && is_ours).then(|| slashed(&inner.with_extension("")))
        });
        let mut names: Vec<String> = names.collect();
        names.sort_unstable();
        names
    }
}
