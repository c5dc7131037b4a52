//! Runs cargo and other programs from the repository's root.

use std::path::{Path, PathBuf};
use std::process::Command;

/// A cargo command to be run at the root.
pub fn cargo(root: &Path, arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO"));
    command.args(arguments).current_dir(root);
    command
}

/// Runs a program whose output goes where ours goes.
///
/// # Errors
///
/// If it cannot be started or does not succeed.
pub fn run(command: &mut Command) -> Result<(), String> {
    let name = name(command);
    match command.status() {
        Ok(status) if status.success() => Ok(()),
        Ok(status) => Err(format!("{name} ended with {status}")),
        Err(error) => Err(format!("{name} could not be started: {error}")),
    }
}

/// Runs a program and returns what it printed; its errors go where ours go.
///
/// # Errors
///
/// If it cannot be started or does not succeed.
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

/// A cargo subcommand at the wanted version: the one that is installed, or one that cargo builds in `target`.
///
/// # Errors
///
/// If it cannot be built.
pub fn tool(root: &Path, subcommand: &str, version: &str) -> Result<impl Fn() -> Command, String> {
    let name = format!("cargo-{subcommand}");
    let tools = root.join("target/tools");
    let own = tools.join("bin").join(&name);
    let starting = |program: PathBuf| {
        let (subcommand, root) = (subcommand.to_owned(), root.to_owned());
        move || {
            let mut command = Command::new(&program);
            command.arg(&subcommand).current_dir(&root);
            command
        }
    };
    for program in [PathBuf::from(&name), own.clone()] {
        let start = starting(program);
        let said = start().arg("--version").output();
        if said.is_ok_and(|output| String::from_utf8_lossy(&output.stdout).contains(version)) {
            return Ok(start);
        }
    }
    println!("building {name} {version} in {}", tools.display());
    let at = tools.to_string_lossy();
    run(&mut cargo(
        root,
        &[
            "install",
            // Built in a fraction of the time; it mostly waits for other programs.
            "--debug",
            "--locked",
            "--quiet",
            "--root",
            &at,
            "--version",
            version,
            &name,
        ],
    ))?;
    Ok(starting(own))
}

fn name(command: &Command) -> String {
    command.get_program().to_string_lossy().into_owned()
}
