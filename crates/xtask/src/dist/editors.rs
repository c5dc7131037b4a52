//! Files for editors, from the folder `editors`, and the VS Code package.

use std::path::Path;
use std::process::{Command, Stdio};

use super::archive::File;
use crate::process::{output, run};

/// Sources of the VS Code package, which are only needed to build it.
const PACKAGED: &str = "editors/vscode/";

/// Files in `editors` that are tracked in git. Others are leftovers of an editor or a test.
pub fn files(root: &Path) -> Result<Vec<File>, String> {
    let mut git = Command::new("git");
    let told = output(git.args(["ls-files", "-z", "editors"]).current_dir(root))?;
    told.split('\0')
        .filter(|path| !path.is_empty() && !path.starts_with(PACKAGED))
        .map(|path| Ok(File::text(path, super::read(&root.join(path))?)))
        .collect()
}

/// Writes the VS Code package with the program in it. All its files have the same time stamp.
pub fn package(root: &Path, to: &Path, program: &Path, target: &str, time: u64) -> Result<(), String> {
    let folder = root.join(PACKAGED);
    let absolute = |path: &Path| std::path::absolute(path).map_err(|error| super::words(path, &error));
    let install = ["ci", "--silent", "--no-audit", "--no-fund"];
    run(Command::new("npm").args(install).current_dir(&folder))?;
    run(Command::new("node")
        .arg("scripts/package.mjs")
        .args([absolute(to)?, absolute(program)?])
        .arg(system(target))
        .env("SOURCE_DATE_EPOCH", time.to_string())
        .stdout(Stdio::null())
        .current_dir(&folder))
}

/// Name of a target's platform in VS Code. Empty if it has no name for it; the package then claims to fit all
/// platforms.
fn system(target: &str) -> String {
    let processor = match target.split('-').next() {
        Some("x86_64") => "x64",
        Some("aarch64") => "arm64",
        _ => return String::new(),
    };
    let systems = [("linux", "linux"), ("windows", "win32"), ("darwin", "darwin")];
    let system = systems.iter().find(|(part, _)| target.contains(part));
    system.map_or_else(String::new, |(_, name)| format!("{name}-{processor}"))
}
