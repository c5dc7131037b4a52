//! Runs the fuzz targets for a long time.

use std::path::Path;

use crate::process::run;
use crate::tools::NEXTEST;

/// Filter for all targets: those of the crate `fuzz`, and those inside other crates.
const TARGETS: &str = "package(drysheath-fuzz) | test(any_bytes_are_read_to_their_end) | test(model::)";

/// How long to fuzz.
#[derive(Clone, Copy, Debug)]
pub struct Effort {
    /// Executions of each target in a round; `None` for as many as in a test run, in which all targets take about equally long.
    pub executions: Option<u64>,
    /// Rounds, each with a seed of its own.
    pub rounds: u64,
    /// The seed of the first round; each other one has the next.
    pub seed: u64,
}

/// Runs each target, or those whose names contain `filter`, on all cores, and prints their output. They are built as in a release, plus overflow
/// checks and assertions.
///
/// # Errors
///
/// If a target fails, which then prints the failing input, or the tests cannot be built.
pub fn fuzz(root: &Path, effort: Effort, filter: Option<&str>) -> Result<(), String> {
    let nextest = NEXTEST.command(root)?;
    for seed in (effort.seed..).take(usize::try_from(effort.rounds).unwrap_or(usize::MAX)) {
        println!("== seed {seed}");
        let mut command = nextest();
        command
            .args(["run", "--cargo-profile", "fuzz", "--no-fail-fast"])
            .args(["--success-output", "immediate", "--status-level", "fail"])
            .args(["--package", "drysheath-fuzz"])
            .args(["--package", "drysheath-server"])
            .args(["--package", "drysheath-workspace"])
            .args(["--filterset", TARGETS])
            .args(filter)
            .env("BOLERO_RANDOM_SEED", seed.to_string());
        if let Some(executions) = effort.executions {
            command.env("BOLERO_RANDOM_ITERATIONS", executions.to_string());
        }
        run(&mut command)?;
    }
    Ok(())
}
