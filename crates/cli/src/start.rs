//! Creates a new repository of offices.

mod contents;

use std::fmt::Write as _;
use std::fs::{self, OpenOptions};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use drysheath_disk::{SETTINGS, require_inside, settings_above};
use drysheath_text::safe;

use crate::arguments::StartArguments;
use crate::outcome::Outcome;
use crate::shell::shell_word;
use crate::standard_streams::{print, print_error};
use contents::{NewFile, contents};

/// Writes a new repository. Writes nothing if any existing file would change.
pub(crate) fn run(arguments: &StartArguments) -> io::Result<Outcome> {
    let folder = &arguments.folder;
    let mut files = contents();
    require_inside(folder)?;
    let is_kept = |file: &NewFile| file.may_be_there && folder.join(file.path).is_file();
    let kept: Vec<&'static str> = files
        .iter()
        .filter(|file| is_kept(file))
        .map(|file| file.path)
        .collect();
    files.retain(|file| !kept.contains(&file.path));
    // A folder inside another repository would take its settings, and `use` statements would be relative to that
    // repository's root.
    let nearest = folder
        .ancestors()
        .find(|above| above.is_dir() || above.as_os_str().is_empty());
    let around = nearest.map(settings_above).unwrap_or_default();
    if let Some(root) = around
        .last()
        .filter(|root| !is_there(&folder.join(SETTINGS)) || *root != folder)
    {
        return Err(io::Error::other(format!(
            "{}: it lies in the repository of {}: write new offices there, and a {SETTINGS} in a folder of them for what is other \
             in it. Nothing was written",
            folder.display(),
            root.join(SETTINGS).display()
        )));
    }
    let in_the_way = in_the_way(folder, &files);
    if !in_the_way.is_empty() {
        for path in in_the_way {
            print_error(format_args!("{} already exists", path.display()));
        }
        print_error("nothing was written; name a folder that is empty or that does not exist");
        return Ok(Outcome::Failed);
    }
    let mut written = CreatedFiles::default();
    for file in &files {
        if let Err(error) = written.write(folder, file) {
            let path = folder.join(file.path);
            written.take_back();
            return Err(io::Error::new(error.kind(), format!("{}: {error}", path.display())));
        }
    }
    let mut rendered = String::new();
    for path in &written.files {
        let _ = writeln!(rendered, "{}", safe::line(&path.display().to_string()));
    }
    for path in &kept {
        let _ = writeln!(
            rendered,
            "{} is there already and stays as it is",
            safe::line(&folder.join(path).display().to_string())
        );
    }
    rendered.push_str(&next(folder));
    print(rendered.as_bytes())?;
    Ok(Outcome::Clean)
}

/// Next steps, as commands.
fn next(folder: &Path) -> String {
    let shown = shell_word(&safe::line(&folder.display().to_string()));
    let gate = safe::line(&folder.join(".git/hooks/pre-commit").display().to_string()).into_owned();
    let hook = if cfg!(windows) {
        "pre-commit install, in that folder".to_owned()
    } else {
        format!("ln -s ../../.ci/gate {}   (or `pre-commit install`)", shell_word(&gate))
    };
    let mut steps = Vec::new();
    if !folder.join(".git").exists() {
        steps.push(("keep the history", format!("git -C {shown} init")));
    }
    steps.extend([
        ("see that all is well", format!("drysheath lint {shown}")),
        ("check before each commit", hook),
        (
            "merge by statement",
            format!("git -C {shown} config merge.drysheath.driver \"drysheath merge-driver %O %A %B %L %P\""),
        ),
        (
            "see results while you type",
            "start `drysheath lsp` from your editor: the folder `editors` of drysheath's sources says how".to_owned(),
        ),
    ]);
    let widest = steps.iter().map(|(what, _)| what.len()).max().unwrap_or_default();
    let mut told = "\nNext:\n".to_owned();
    for (what, how) in steps {
        let _ = writeln!(told, "  {what:widest$}  {how}");
    }
    told
}

/// Files and folders created in this run.
#[derive(Default)]
struct CreatedFiles {
    folders: Vec<PathBuf>,
    files: Vec<PathBuf>,
}

impl CreatedFiles {
    fn write(&mut self, folder: &Path, file: &NewFile) -> io::Result<()> {
        // Joined component by component, so that paths on Windows have one kind of separator.
        let path: PathBuf = folder.join(file.path).components().collect();
        let above = path.parent().unwrap_or(folder);
        let mut missing: Vec<&Path> = above.ancestors().take_while(|above| !is_there(above)).collect();
        missing.retain(|above| !above.as_os_str().is_empty());
        for folder in missing.into_iter().rev() {
            fs::create_dir(folder)?;
            self.folders.push(folder.to_owned());
        }
        // A file may have been created in the meantime.
        let mut opened = OpenOptions::new().write(true).create_new(true).open(&path)?;
        self.files.push(path);
        opened.write_all(file.text.as_bytes())?;
        if file.is_program {
            make_runnable(&opened)?;
        }
        // Some file systems report a full disk only here.
        opened.sync_all()
    }

    /// Removes what was created. Failures are reported.
    fn take_back(&self) {
        let files = self.files.iter().rev().map(|path| (path, fs::remove_file(path)));
        let folders = self.folders.iter().rev().map(|path| (path, fs::remove_dir(path)));
        for (path, removed) in files.chain(folders) {
            if removed.is_err() {
                print_error(format_args!("{} was created and cannot be removed", path.display()));
            }
        }
    }
}

/// Existing paths that are in the way of the files or their folders.
fn in_the_way(folder: &Path, files: &[NewFile]) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for file in files {
        let path = folder.join(file.path);
        let folders = path.ancestors().skip(1).filter(|above| above.starts_with(folder));
        found.extend(
            folders
                // A link to a folder would redirect the files elsewhere.
                .filter(|above| is_there(above) && (!above.is_dir() || (above.is_symlink() && *above != folder)))
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

/// Whether a path exists, including dangling links.
fn is_there(path: &Path) -> bool {
    path.symlink_metadata().is_ok()
}

#[cfg(unix)]
fn make_runnable(file: &fs::File) -> io::Result<()> {
    use std::os::unix::fs::PermissionsExt;
    const RUN: u32 = 0o111;
    const READ: u32 = 0o444;
    let mut permissions = file.metadata()?.permissions();
    let mode = permissions.mode();
    // Executable for everybody who may read it.
    permissions.set_mode(mode | ((mode & READ) >> 2 & RUN));
    file.set_permissions(permissions)
}

#[cfg(not(unix))]
fn make_runnable(_: &fs::File) -> io::Result<()> {
    Ok(())
}
