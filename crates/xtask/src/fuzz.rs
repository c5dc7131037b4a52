//! Runs the fuzz targets for a long time.

use std::path::Path;

use crate::process::run;
use crate::tools::NEXTEST;

/// Filter for all targets: those of the crate `fuzz`, and those inside other crates.
const TARGETS: &str = "package(drysheath-fuzz) | test(any_bytes_are_read_to_their_end) | test(model::)";

/// Runs each target, or those whose names contain `filter`, `executions` times on all cores, and prints their output.
/// They are built as in a release, plus overflow checks and assertions.
///
/// # Errors
///
/// If a target fails, which then prints the failing input, or the tests cannot be built.
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
