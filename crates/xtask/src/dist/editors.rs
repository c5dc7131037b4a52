//! Files for editors, as they stand in `editors`, and the package of the one that installs packages.

use std::path::{Path, PathBuf};
use std::process::Command;

use super::archive::File;
use crate::process::{output, run};

/// The sources of a package, which only its builder needs.
const PACKAGED: &str = "editors/vscode/";

/// The files in `editors` that git knows: what an editor or a test has left there is not ours.
pub fn files(root: &Path) -> Result<Vec<File>, String> {
    let mut git = Command::new("git");
    let told = output(git.args(["ls-files", "-z", "editors"]).current_dir(root))?;
    told.split('\0')
        .filter(|path| !path.is_empty() && !path.starts_with(PACKAGED))
        .map(|path| Ok(File::text(path, super::read(&root.join(path))?)))
        .collect()
}

/// Writes the package of the editor that has one, where there are its sources and npm.
pub fn package(root: &Path, to: &Path) -> Result<Option<PathBuf>, String> {
    let folder = root.join(PACKAGED);
    if !folder.join("package.json").is_file() {
        return Ok(None);
    }
    let package = to.join(format!("drysheath-{}.vsix", env!("CARGO_PKG_VERSION")));
    let to = std::path::absolute(&package).map_err(|error| super::words(&package, &error))?;
    let install = ["ci", "--silent", "--no-audit", "--no-fund"];
    run(Command::new("npm").args(install).current_dir(&folder))?;
    run(Command::new("node")
        .arg("scripts/package.mjs")
        .arg(to)
        .current_dir(&folder))?;
    Ok(Some(package))
}
