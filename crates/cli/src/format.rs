use std::io::{self, IsTerminal};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use drysheath_disk::{Disk, Found, read, read_from, walk};
use drysheath_syntax::formatted;
use drysheath_text::safe;
use drysheath_workspace::Workspace;

use crate::arguments::FormatArguments;
use crate::changes::{self, Change};
use crate::named_files::{boundary, empty, folders};
use crate::outcome::Outcome;
use crate::standard_streams::{print, print_error};
use crate::today::today;

#[derive(Default)]
struct FormatTotals {
    changes: Vec<Change>,
    troubles: Vec<String>,
    /// Messages about attributes of changed files that could not be preserved.
    lost: Vec<String>,
}

/// Formats the files that the arguments name.
pub(crate) fn run(arguments: &FormatArguments) -> io::Result<Outcome> {
    let (streams, paths): (Vec<_>, Vec<_>) = arguments.paths.iter().cloned().partition(|path| path == Path::new("-"));
    let mut tally = FormatTotals::default();
    let mut rendered = String::new();
    if !streams.is_empty() {
        let text = read_from(io::stdin().lock(), 0)?;
        match text.problem {
            Some(problem) => tally.troubles.push(format!("standard input: {}", problem.message)),
            None if arguments.check || arguments.diff => tally.consider(Path::new("-"), &text.text),
            None => rendered = shown(formatted(&text.text)),
        }
    }
    let mut workspace = Workspace::new(Arc::new(Disk), today(None));
    workspace.set_folders(folders(paths.iter().map(PathBuf::as_path)));
    let snapshot = workspace.snapshot();
    let is_too_new = |path: &Path| snapshot.repository(snapshot.file(path)).is_too_new;
    walk(
        &paths,
        None,
        FormatTotals::default,
        |tally, found| match found {
            Found::Trouble(trouble) => tally.troubles.push(trouble),
            Found::Nothing { start } if !arguments.allow_empty => tally.troubles.push(empty(start)),
            Found::Nothing { .. } | Found::Link { .. } => {}
            // Its language version may have a layout that this program does not know.
            Found::File { path, .. } if is_too_new(path) => {}
            Found::File { path, start } => match read(path, Some(boundary(start))) {
                Err(error) => tally.troubles.push(format!("{}: {error}", path.display())),
                Ok(text) => match text.problem {
                    Some(problem) => tally.troubles.push(format!("{}: {}", path.display(), problem.message)),
                    None => tally.consider(path, &text.text),
                },
            },
        },
        |worker| {
            tally.changes.extend(worker.changes);
            tally.troubles.extend(worker.troubles);
        },
    );
    let too_new = snapshot
        .repositories()
        .into_iter()
        .filter(|repository| repository.is_too_new);
    tally
        .troubles
        .extend(too_new.filter_map(|repository| repository.unreadable.clone()));
    tally.changes.sort_by(|one, other| one.path.cmp(&other.path));
    if arguments.check || arguments.diff {
        rendered.push_str(&changes::shown(&tally.changes, arguments.diff));
    } else {
        let written = changes::written(&tally.changes);
        rendered.push_str(&written.rendered);
        tally.troubles.extend(written.troubles);
        tally.lost = written.lost;
    }
    let was_printed = print(rendered.as_bytes());
    tally.troubles.sort();
    for trouble in &tally.troubles {
        print_error(format_args!("left as it is: {trouble}"));
    }
    for lost in &tally.lost {
        print_error(lost);
    }
    was_printed?;
    Ok(if !tally.troubles.is_empty() {
        Outcome::Failed
    } else if (arguments.check || arguments.diff) && !tally.changes.is_empty() {
        Outcome::Results
    } else {
        Outcome::Clean
    })
}

/// The text, unchanged for files and pipes; for a terminal, without control characters.
fn shown(text: String) -> String {
    if io::stdout().is_terminal() {
        safe::terminal(&text).into_owned()
    } else {
        text
    }
}

impl FormatTotals {
    fn consider(&mut self, path: &Path, before: &str) {
        let after = formatted(before);
        if after != before {
            self.changes.push(Change {
                path: path.to_owned(),
                before: before.to_owned(),
                after,
            });
        }
    }
}
