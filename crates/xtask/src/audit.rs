//! Licences, sources, duplicates and known vulnerabilities of the libraries in use.

use std::path::Path;

use crate::process::{run, tool};

const VERSION: &str = "0.20.2";

/// Checks every library in `Cargo.lock` against `.deny.toml`.
///
/// # Errors
///
/// If a library does not pass, or the tool cannot be built.
pub fn audit(root: &Path) -> Result<(), String> {
    let deny = tool(root, "deny", VERSION)?;
    let check = |what: &[&str]| run(deny().arg("check").args(what));
    check(&["bans", "licenses", "sources"])?;
    // The list of vulnerabilities comes from the network, which not every machine has.
    check(&["advisories"]).map_err(|why| format!("advisories not checked, or found: {why}"))
}
