//! Checks of the libraries in use: licences, sources, unused libraries and known vulnerabilities.

use std::path::Path;

use crate::process::run;
use crate::tools::{DENY, SHEAR};

/// Checks every library in `Cargo.lock` against `.deny.toml`, and that every crate uses its declared dependencies.
///
/// # Errors
///
/// If a library does not pass, or a tool cannot be installed.
pub fn libraries(root: &Path) -> Result<(), String> {
    let deny = DENY.command(root)?;
    run(deny().args(["--log-level", "error", "check", "bans", "licenses", "sources"]))?;
    let shear = SHEAR.command(root)?;
    run(&mut shear())
}

/// Checks that no library in `Cargo.lock` has a published vulnerability. Needs network access for the list of
/// vulnerabilities, which not every machine has.
///
/// # Errors
///
/// If one has, or the list cannot be downloaded.
pub fn advisories(root: &Path) -> Result<(), String> {
    let deny = DENY.command(root)?;
    run(deny().args(["check", "advisories"])).map_err(|why| format!("advisories not checked, or found: {why}"))
}
