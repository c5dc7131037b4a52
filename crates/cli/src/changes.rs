//! Files that a command changes: shows the changes, or writes them.

use std::fmt::Write;
use std::io::{self, IsTerminal};
use std::path::PathBuf;

use drysheath_disk::replace_all;
use drysheath_text::safe;
use similar::TextDiff;

/// A file that changes.
#[derive(Clone)]
pub(crate) struct Change {
    pub path: PathBuf,
    pub before: String,
    pub after: String,
}

/// Result of writing files.
#[derive(Default)]
pub(crate) struct WriteOutcome {
    /// Names of the replaced files, for a terminal.
    pub rendered: String,
    /// Messages about files that could not be replaced.
    pub troubles: Vec<String>,
    /// Messages about attributes of replaced files that could not be preserved.
    pub lost: Vec<String>,
}

/// Lists the changed files, or shows the differences.
pub(crate) fn shown(changes: &[Change], as_difference: bool) -> String {
    let mut rendered = String::new();
    for change in changes {
        let name = safe::line(&change.path.display().to_string()).into_owned();
        if as_difference {
            let difference = TextDiff::from_lines(&change.before, &change.after);
            let difference = difference.unified_diff().header(&name, &name).to_string();
            rendered.push_str(&safe::terminal(&difference));
        } else {
            let _ = writeln!(rendered, "{name}");
        }
    }
    rendered
}

/// Replaces the files. On a terminal their names are listed.
pub(crate) fn written(changes: &[Change]) -> WriteOutcome {
    let files: Vec<_> = changes
        .iter()
        .map(|change| (change.path.as_path(), change.after.as_bytes()))
        .collect();
    let mut written = WriteOutcome::default();
    for (change, outcome) in changes.iter().zip(replace_all(&files)) {
        let path = change.path.display();
        match outcome {
            Ok(lost) => {
                written.lost.extend(lost.iter().map(|lost| format!("{path}: {lost}")));
                if io::stdout().is_terminal() {
                    let _ = writeln!(written.rendered, "{}", safe::line(&path.to_string()));
                }
            }
            Err(error) => written.troubles.push(format!("{path}: {error}")),
        }
    }
    written
}
