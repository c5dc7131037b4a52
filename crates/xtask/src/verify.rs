//! All checks of the repository, those that fail fastest first, with their durations.

use std::fs;
use std::path::Path;
use std::process::Command;
use std::thread;
use std::time::{Duration, Instant};

use crate::audit::libraries;
use crate::generate::stale;
use crate::process::{cargo, output, run};
use crate::tools::NEXTEST;

/// A check and its duration.
struct Stage {
    name: &'static str,
    time: Duration,
}

/// What a suite is called, and its folder.
type Suite = (&'static str, &'static str);

/// Suites that run side by side: those of editors wait, and a browser has one page. The outside checks keep two cores busy by themselves, and
/// come where the others end.
const LANES: [&[Suite]; 3] = [
    &[("VS Code", "tests/vscode")],
    &[("sheets", "tests/sheets")],
    &[("language server", "tests/server"), ("outside checks", "tests/outside")],
];

/// Runs all checks until one fails, and prints their durations. Tests that install what takes minutes are among them `on_request`.
///
/// # Errors
///
/// Names the check that failed.
pub fn verify(root: &Path, on_request: bool) -> Result<(), String> {
    let mut stages = Vec::new();
    let mut outcome = run_all(root, &mut stages);
    if on_request && outcome.is_ok() {
        let check = || python(root, "tests/server", &["-m", "on_request"]);
        outcome = timed("on request", &check, &mut stages);
    }
    println!("\nstage             seconds");
    for Stage { name, time } in &stages {
        println!("{name:<17} {:>7.1}", time.as_secs_f64());
    }
    outcome
}

fn run_all(root: &Path, stages: &mut Vec<Stage>) -> Result<(), String> {
    let mut run_stage = |name, check: &dyn Fn() -> Result<(), String>| timed(name, check, stages);
    run_stage("toolchain", &|| toolchain(root))?;
    run_stage("formatting", &|| run(&mut cargo(root, &["fmt", "--all", "--check"])))?;
    run_stage("generated files", &|| match stale(root) {
        Ok(stale) if stale.is_empty() => Ok(()),
        Ok(stale) => Err(format!("stale, run `cargo xtask generate`: {stale:?}")),
        Err(error) => Err(error.to_string()),
    })?;
    run_stage("clippy", &|| {
        let arguments = [
            "clippy",
            "--workspace",
            "--all-targets",
            "--quiet",
            "--",
            "--deny",
            "warnings",
        ];
        run(&mut cargo(root, &arguments))
    })?;
    run_stage("documentation", &|| {
        let mut command = cargo(root, &["doc", "--workspace", "--no-deps", "--quiet"]);
        run(command.env("RUSTDOCFLAGS", "--deny warnings"))
    })?;
    run_stage("libraries", &|| libraries(root))?;
    let nextest = NEXTEST.command(root)?;
    run_stage("build", &|| run(nextest().args(["run", "--workspace", "--no-run"])))?;
    run_stage("tests", &|| run(nextest().args(["run", "--workspace"])))?;
    run_stage("doc tests", &|| doc_tests(root))?;
    suites(root, stages)
}

/// Runs the suites in Python: the lanes side by side, the suites of a lane one after the other.
fn suites(root: &Path, stages: &mut Vec<Stage>) -> Result<(), String> {
    thread::scope(|scope| {
        let start = |lane: &'static [Suite]| {
            scope.spawn(move || {
                let mut own = Vec::new();
                let outcome = lane
                    .iter()
                    .try_for_each(|&(name, folder)| timed(name, &|| python(root, folder, &[]), &mut own));
                (outcome, own)
            })
        };
        let mut outcome = Ok(());
        for lane in LANES.map(start) {
            let (its, own) = lane
                .join()
                .map_err(|_| "the thread of a stage ended early".to_owned())?;
            stages.extend(own);
            outcome = outcome.and(its);
        }
        outcome
    })
}

fn timed(name: &'static str, check: &dyn Fn() -> Result<(), String>, stages: &mut Vec<Stage>) -> Result<(), String> {
    println!("== {name}");
    let start = Instant::now();
    let outcome = check();
    stages.push(Stage {
        name,
        time: start.elapsed(),
    });
    outcome.map_err(|why| format!("{name}: {why}"))
}

/// Requires the Rust version in Cargo.toml, since formatting and lints differ between versions.
fn toolchain(root: &Path) -> Result<(), String> {
    let wanted = env!("CARGO_PKG_RUST_VERSION");
    let found = output(Command::new("rustc").arg("--version").current_dir(root))?;
    if found.starts_with(&format!("rustc {wanted}.")) {
        return Ok(());
    }
    let why = format!("the checks are made for Rust {wanted}, and this is {}", found.trim());
    if std::env::var_os("CI").is_some() {
        return Err(why);
    }
    println!("{why}: formatting and lints may differ");
    Ok(())
}

/// Runs the examples in documentation of those crates that have any; for the others, it would only start a compiler.
fn doc_tests(root: &Path) -> Result<(), String> {
    let crates = fs::read_dir(root.join("crates")).map_err(|error| error.to_string())?;
    for entry in crates {
        let name = entry.map_err(|error| error.to_string())?.file_name();
        if has_example(&root.join("crates").join(&name).join("src")) {
            let package = format!("drysheath-{}", name.to_string_lossy());
            run(&mut cargo(root, &["test", "--quiet", "--doc", "--package", &package]))?;
        }
    }
    Ok(())
}

/// Whether documentation below a folder contains a Rust code block.
fn has_example(folder: &Path) -> bool {
    fs::read_dir(folder).into_iter().flatten().flatten().any(|entry| {
        let path = entry.path();
        if path.is_dir() {
            return has_example(&path);
        }
        let text = fs::read_to_string(&path).unwrap_or_default();
        text.lines()
            .any(|line| matches!(line.trim_start(), "/// ```" | "//! ```"))
    })
}

/// Runs the Python tests of a folder in a virtual environment, with further arguments for pytest.
fn python(root: &Path, folder: &str, arguments: &[&str]) -> Result<(), String> {
    const WANTED: &str = "these checks want python3 with venv (Debian: apt-get install python3-venv)";
    let folder = root.join(folder);
    let environment = folder.join(".venv");
    let python = environment.join("bin/python");
    if !python.exists()
        && let Err(why) = run(Command::new("python3").args(["-m", "venv"]).arg(&environment))
    {
        // If it cannot be installed, the other checks are still useful, but CI must not pass without it.
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
    let mut tests = Command::new(&python);
    tests.args(["-m", "pytest", "--quiet"]).args(arguments);
    tests.current_dir(&folder);
    // Printed at once, since two folders are tested concurrently.
    let (printed, outcome) = match output(&mut tests) {
        Ok(printed) => (printed, Ok(())),
        Err(why) => (String::new(), Err(why)),
    };
    print!("{printed}");
    outcome
}
