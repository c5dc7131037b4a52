//! A new repository of offices.

mod contents;

use std::fs::{self, OpenOptions};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use crate::arguments::StartArguments;
use crate::outcome::Outcome;
use contents::{NewFile, contents};

/// Writes a new repository. Where that would touch anything that is there already, nothing is written at all.
pub(crate) fn run(arguments: &StartArguments) -> io::Result<Outcome> {
    let folder = &arguments.folder;
    let files = contents();
    let in_the_way = in_the_way(folder, &files);
    if !in_the_way.is_empty() {
        for path in in_the_way {
            eprintln!("drysheath: {} is there already", path.display());
        }
        eprintln!("drysheath: nothing was written; name a folder that is empty or that does not exist");
        return Ok(Outcome::Failed);
    }
    let mut written = Vec::new();
    for file in &files {
        if let Err(error) = write(folder, file, &mut written) {
            let path = folder.join(file.path);
            // What this run wrote is taken back; what cannot be removed is reported.
            for path in written.iter().rev() {
                if fs::remove_file(path).is_err() {
                    eprintln!("drysheath: {} was written and cannot be removed", path.display());
                }
            }
            return Err(io::Error::new(error.kind(), format!("{}: {error}", path.display())));
        }
    }
    let mut out = io::stdout().lock();
    for path in &written {
        writeln!(out, "{}", path.display())?;
    }
    writeln!(out, "Next: `drysheath lint {}`", folder.display())?;
    Ok(Outcome::Clean)
}

/// What is there already where a file is to be, or where one of its folders is to be and is none.
fn in_the_way(folder: &Path, files: &[NewFile]) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for file in files {
        let path = folder.join(file.path);
        let folders = path.ancestors().skip(1).filter(|above| above.starts_with(folder));
        found.extend(
            folders
                .filter(|above| is_there(above) && !above.is_dir())
                .map(Path::to_owned),
        );
        if is_there(&path) {
            found.push(path);
        }
    }
    found.sort();
    found.dedup();
    found
}

/// Whether anything is there, a link that leads nowhere among it.
fn is_there(path: &Path) -> bool {
    path.symlink_metadata().is_ok()
}

fn write(folder: &Path, file: &NewFile, written: &mut Vec<PathBuf>) -> io::Result<()> {
    let path = folder.join(file.path);
    if let Some(above) = path.parent() {
        fs::create_dir_all(above)?;
    }
    // Somebody else may have put a file there since we looked.
    let mut opened = OpenOptions::new().write(true).create_new(true).open(&path)?;
    written.push(path);
    opened.write_all(file.text.as_bytes())?;
    if file.is_program {
        make_runnable(&opened)?;
    }
    Ok(())
}

#[cfg(unix)]
fn make_runnable(file: &fs::File) -> io::Result<()> {
    use std::os::unix::fs::PermissionsExt;
    const RUN: u32 = 0o111;
    const READ: u32 = 0o444;
    let mut permissions = file.metadata()?.permissions();
    let mode = permissions.mode();
    // Whoever may read it may run it.
    permissions.set_mode(mode | ((mode & READ) >> 2 & RUN));
    file.set_permissions(permissions)
}

#[cfg(not(unix))]
fn make_runnable(_: &fs::File) -> io::Result<()> {
    Ok(())
}
