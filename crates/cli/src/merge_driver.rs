//! Merge driver that git calls to merge three versions of a file.

use std::io::{self, Read};
use std::path::Path;
use std::process::ExitCode;

use drysheath_disk::{open, replace};
use drysheath_syntax::{Conflict, ConflictKind, merge};

use crate::arguments::MergeDriverArguments;
use crate::outcome::MERGE_FAILED;
use crate::standard_streams::print_error;

/// Merges and overwrites the version of this branch with the result.
pub(crate) fn run(arguments: &MergeDriverArguments) -> ExitCode {
    match merged(arguments) {
        Ok(true) => ExitCode::SUCCESS,
        Ok(false) => ExitCode::from(1),
        Err(error) => {
            print_error(error);
            ExitCode::from(MERGE_FAILED)
        }
    }
}

/// Merges the files and returns whether there is no conflict.
fn merged(arguments: &MergeDriverArguments) -> io::Result<bool> {
    let [base, ours, theirs] = [
        bytes(&arguments.base)?,
        bytes(&arguments.ours)?,
        bytes(&arguments.theirs)?,
    ];
    let merged = merge(&base, &ours, &theirs, arguments.marker_size.into());
    replace(&arguments.ours, &merged.text).map_err(|error| named(&arguments.ours, &error))?;
    let path = arguments.path.as_ref().unwrap_or(&arguments.ours).display();
    if merged.by_lines {
        print_error(format_args!(
            "{path}: merged by lines, since not all of it can be read as statements"
        ));
    }
    for conflict in &merged.conflicts {
        print_error(format_args!("{path}:{}: conflict: {}", conflict.line, said(conflict)));
    }
    Ok(merged.conflicts.is_empty())
}

fn bytes(path: &Path) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    open(path, None)
        .and_then(|mut file| file.read_to_end(&mut bytes))
        .map_err(|error| named(path, &error))?;
    Ok(bytes)
}

fn named(path: &Path, error: &io::Error) -> io::Error {
    io::Error::new(error.kind(), format!("{}: {error}", path.display()))
}

fn said(conflict: &Conflict) -> String {
    let what = conflict
        .statement
        .as_ref()
        .map_or_else(|| "these lines".to_owned(), |statement| format!("`{statement}`"));
    match conflict.conflict_kind {
        ConflictKind::BothChanged => format!("{what} changed on both branches"),
        ConflictKind::DeletedAndChanged => format!("{what} deleted on this branch, changed on the other"),
        ConflictKind::ChangedAndDeleted => format!("{what} changed on this branch, deleted on the other"),
        ConflictKind::BothAdded => format!("{what} added on both branches, with a different description"),
    }
}
