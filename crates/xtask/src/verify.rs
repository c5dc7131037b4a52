//! Everything there is to check, in the order of what fails fastest.

use std::path::Path;
use std::process::Command;
use std::time::Instant;

use crate::generate::stale;

/// Runs all checks and stops at the first that fails. Says which, and how long each took.
///
/// # Errors
///
/// The name of the check that failed.
pub fn verify(root: &Path) -> Result<(), String> {
    step("formatting", || cargo(root, &["fmt", "--all", "--check"]))?;
    step("clippy", || {
        cargo(
            root,
            &[
                "clippy",
                "--workspace",
                "--all-targets",
                "--quiet",
                "--",
                "--deny",
                "warnings",
            ],
        )
    })?;
    step("generated files", || match stale(root) {
        Ok(stale) if stale.is_empty() => Ok(()),
        Ok(stale) => Err(format!("stale, run `cargo xtask generate`: {stale:?}")),
        Err(error) => Err(error.to_string()),
    })?;
    step("tests", || cargo(root, &["test", "--workspace", "--quiet"]))?;
    step("outside checks", || python(root, "tests/outside"))?;
    step("language server", || python(root, "tests/server"))?;
    step("documentation", || {
        let mut command = Command::new(env!("CARGO"));
        command
            .args(["doc", "--workspace", "--no-deps", "--quiet"])
            .env("RUSTDOCFLAGS", "--deny warnings");
        run(command.current_dir(root))
    })
}

fn step(name: &str, check: impl FnOnce() -> Result<(), String>) -> Result<(), String> {
    println!("== {name}");
    let start = Instant::now();
    check().map_err(|why| format!("{name}: {why}"))?;
    println!("== {name}: {:.1} s", start.elapsed().as_secs_f64());
    Ok(())
}

fn cargo(root: &Path, arguments: &[&str]) -> Result<(), String> {
    run(Command::new(env!("CARGO")).args(arguments).current_dir(root))
}

/// Runs the Python tests of a folder in an environment of their own.
fn python(root: &Path, folder: &str) -> Result<(), String> {
    const WANTED: &str = "these checks want python3 with venv (Debian: apt-get install python3-venv)";
    let folder = root.join(folder);
    let environment = folder.join(".venv");
    let python = environment.join("bin/python");
    if !python.exists()
        && let Err(why) = run(Command::new("python3").args(["-m", "venv"]).arg(&environment))
    {
        // Where nobody can install it, the rest is still worth checking; a gate must not pass without it.
        if std::env::var_os("CI").is_some() {
            return Err(format!("{why}; {WANTED}"));
        }
        println!("left out: {why}; {WANTED}");
        return Ok(());
    }
    let requirements = folder.join("requirements.txt");
    let mut install = Command::new(&python);
    install.args(["-m", "pip", "install", "--quiet", "--disable-pip-version-check", "-r"]);
    run(install.arg(requirements))?;
    run(Command::new(&python)
        .args(["-m", "pytest", "--quiet"])
        .current_dir(&folder))
}

fn run(command: &mut Command) -> Result<(), String> {
    let name = command.get_program().to_string_lossy().into_owned();
    match command.status() {
        Ok(status) if status.success() => Ok(()),
        Ok(status) => Err(format!("{name} ended with {status}")),
        Err(error) => Err(format!("{name} could not be started: {error}")),
    }
}
