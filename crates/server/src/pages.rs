//! Pages of the rules for editors to open: files in a folder of this session, each written on first request.

use std::collections::HashSet;
use std::fs;
use std::path::Path;
use std::sync::{Mutex, PoisonError};

use drysheath_report::rule_page;
use drysheath_rules::{Rule, RuleId, example};
use tempfile::TempDir;
use tower_lsp::lsp_types::Url;

use crate::uri::uri_of;

/// Folder of the pages inside the session's folder, so that their relative links to the example office work.
const FOLDER: &str = "rules";

/// Rule pages of a session.
#[derive(Debug, Default)]
pub(crate) struct Pages(Mutex<State>);

#[derive(Debug, Default)]
enum State {
    /// No page requested yet.
    #[default]
    Unasked,
    /// The folder, and the rules whose pages have been written.
    Open(TempDir, HashSet<RuleId>),
    /// The folder could not be created, or the session is over.
    Closed,
}

impl Pages {
    /// URI of a rule's page. `None` if it cannot be written.
    pub fn address(&self, rule: &'static Rule) -> Option<Url> {
        let mut state = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if let State::Unasked = *state {
            *state = open().map_or(State::Closed, |folder| State::Open(folder, HashSet::new()));
        }
        let State::Open(folder, written) = &mut *state else {
            return None;
        };
        let path = folder.path().join(FOLDER).join(rule.name()).with_extension("md");
        if !written.contains(&rule.id) {
            fs::write(&path, rule_page(rule)).ok()?;
            written.insert(rule.id);
        }
        uri_of(&path)
    }

    /// Removes the pages. No URIs are returned afterwards.
    pub fn remove(&self) {
        *self.0.lock().unwrap_or_else(PoisonError::into_inner) = State::Closed;
    }
}

fn open() -> Option<TempDir> {
    let folder = tempfile::Builder::new().prefix("drysheath-").tempdir().ok()?;
    fill(folder.path()).ok()?;
    Some(folder)
}

fn fill(folder: &Path) -> std::io::Result<()> {
    fs::create_dir(folder.join(FOLDER))?;
    fs::write(folder.join("example.office"), example::OFFICE)
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    #[test]
    fn pages_are_written_when_asked_for_and_go_with_the_session() {
        let pages = Pages::default();
        let rule = drysheath_rules::find("pair-assigned-twice").unwrap();
        let address = pages.address(rule).unwrap();
        let path = address.to_file_path().unwrap();
        assert!(fs::read_to_string(&path).unwrap().starts_with("# pair-assigned-twice"));
        assert!(path.parent().unwrap().join("../example.office").is_file());
        assert_eq!(pages.address(rule), Some(address));
        pages.remove();
        assert!(!path.exists());
        assert_eq!(pages.address(rule), None);
    }
}
