//! Runs cargo and other programs in the repository root.

use std::path::Path;
use std::process::Command;

/// A cargo command that runs in the root.
pub fn cargo(root: &Path, arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO"));
    command.args(arguments).current_dir(root);
    command
}

/// Runs a program with inherited output streams.
///
/// # Errors
///
/// If it cannot be started or fails.
pub fn run(command: &mut Command) -> Result<(), String> {
    let name = name(command);
    match command.status() {
        Ok(status) if status.success() => Ok(()),
        Ok(status) => Err(format!("{name} ended with {status}")),
        Err(error) => Err(format!("{name} could not be started: {error}")),
    }
}

/// Runs a program and returns its standard output; standard error is inherited.
///
/// # Errors
///
/// If it cannot be started or fails.
pub fn output(command: &mut Command) -> Result<String, String> {
    let name = name(command);
    let output = command
        .stderr(std::process::Stdio::inherit())
        .output()
        .map_err(|error| format!("{name} could not be started: {error}"))?;
    let printed = String::from_utf8_lossy(&output.stdout).into_owned();
    if output.status.success() {
        Ok(printed)
    } else {
        Err(format!("{name} ended with {}\n{printed}", output.status))
    }
}

fn name(command: &Command) -> String {
    command.get_program().to_string_lossy().into_owned()
}
