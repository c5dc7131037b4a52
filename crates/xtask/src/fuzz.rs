//! Runs the fuzz targets for long.

use std::path::Path;

use crate::process::run;
use crate::tools::NEXTEST;

/// Every target: those of the crate `fuzz`, and those that look into the crate that they are in.
const TARGETS: &str = "package(drysheath-fuzz) | test(any_bytes_are_read_to_their_end) | test(model::)";

/// Runs so many executions of each target, or of those whose name has `filter` in it, on all cores, and prints what each did. They
/// are built as for users, with overflow checks and assertions.
///
/// # Errors
///
/// If a target fails, which then prints what it failed on, or the tests cannot be built.
pub fn fuzz(root: &Path, executions: u64, filter: Option<&str>) -> Result<(), String> {
    let nextest = NEXTEST.command(root)?;
    let mut command = nextest();
    command
        .args(["run", "--cargo-profile", "fuzz", "--no-fail-fast"])
        .args(["--success-output", "immediate", "--status-level", "fail"])
        .args(["--package", "drysheath-fuzz"])
        .args(["--package", "drysheath-server"])
        .args(["--package", "drysheath-workspace"])
        .args(["--filterset", TARGETS])
        .args(filter)
        .env("BOLERO_RANDOM_ITERATIONS", executions.to_string());
    run(&mut command)
}
