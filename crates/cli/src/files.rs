use std::path::Path;
use std::sync::{Arc, Mutex, PoisonError};

use drysheath_report::Files;
use drysheath_text::FileId;

/// The files of one run: their paths as shown, and the texts of those that a result speaks of.
#[derive(Debug, Default)]
pub(crate) struct FileTable {
    entries: Mutex<Vec<Entry>>,
}

#[derive(Clone, Debug)]
struct Entry {
    path: Box<str>,
    text: Option<Arc<str>>,
}

impl FileTable {
    /// A number for a file at `path`.
    pub fn add(&self, path: &Path) -> FileId {
        let mut entries = self.entries.lock().unwrap_or_else(PoisonError::into_inner);
        entries.push(Entry {
            path: path.display().to_string().into(),
            text: None,
        });
        FileId(entries.len() as u32 - 1)
    }

    /// A file's path.
    pub fn path(&self, file: FileId) -> Box<str> {
        let entries = self.entries.lock().unwrap_or_else(PoisonError::into_inner);
        entries
            .get(file.0 as usize)
            .map(|entry| entry.path.clone())
            .unwrap_or_default()
    }

    /// Keeps a file's text for the results that speak of it.
    pub fn keep(&self, file: FileId, text: Arc<str>) {
        let mut entries = self.entries.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(entry) = entries.get_mut(file.0 as usize) {
            entry.text = Some(text);
        }
    }

    /// The files that are known so far.
    pub fn so_far(&self) -> ClosedFiles {
        let entries = self.entries.lock().unwrap_or_else(PoisonError::into_inner);
        ClosedFiles {
            entries: entries.clone(),
        }
    }

    /// The table, once nothing is added any more.
    pub fn close(self) -> ClosedFiles {
        ClosedFiles {
            entries: self.entries.into_inner().unwrap_or_else(PoisonError::into_inner),
        }
    }
}

/// The files of one run, all of them known.
#[derive(Debug)]
pub(crate) struct ClosedFiles {
    entries: Vec<Entry>,
}

impl ClosedFiles {
    /// Makes sure that a file's text is at hand, reading it again where it was let go.
    pub fn recall(&mut self, file: FileId) {
        if let Some(entry) = self.entries.get_mut(file.0 as usize)
            && entry.text.is_none()
        {
            // A file that vanished meanwhile is shown without an excerpt.
            entry.text = std::fs::read_to_string(&*entry.path).ok().map(Into::into);
        }
    }
}

impl Files for ClosedFiles {
    fn path(&self, file: FileId) -> &str {
        self.entries.get(file.0 as usize).map_or("", |entry| &entry.path)
    }

    fn text(&self, file: FileId) -> &str {
        self.entries
            .get(file.0 as usize)
            .and_then(|entry| entry.text.as_deref())
            .unwrap_or_default()
    }
}
