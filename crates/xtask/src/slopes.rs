//! Doubles the size of files that consist of one thing repeated, and fails if the cost grows faster than the size.
//!
//! A file with ten thousand mistakes is not a real office, but must not block a CI job or an editor: the work of the
//! linter for one thing must not be proportional to the number of all others. So each case of `cases` is linted by the
//! command itself, at its count and at twice that, and so on until the run takes long enough to be measured; then the
//! slope between the last two runs counts. A slope of 1 means linear cost, one of 2 quadratic cost.

mod cases;

use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};

use drysheath_office::SETTINGS;

use self::cases::{CASES, Case};
use crate::process::{cargo, run};

/// Maximum slope. Above 1, to allow for sorting and for cache misses.
const STEEPEST: f64 = 1.3;
/// Minimum processor time of a run for comparison, in seconds: the clock has a resolution of 0.01 s.
const MEASURABLE: f64 = 0.15;
/// Maximum multiple of the initial count: a case that is fast even then does not matter.
const MOST_TIMES: u32 = 64;
/// Number of runs; the fastest counts.
const RUNS: u32 = 3;
/// Maximum output of a run per file, in bytes. Nobody reads more, and pull request hosts accept less.
const LONGEST_OUTPUT: usize = 1 << 20;

/// Cost of one run.
#[derive(Clone, Copy)]
struct Cost {
    /// Processor time, s.
    seconds: f64,
    /// Bytes printed.
    printed: usize,
}

/// Lints every case, or those whose names contain `filter`, and prints their costs and slopes. `program` is the command
/// to measure; if `None`, it is built.
///
/// # Errors
///
/// If the cost of a case grows faster than its count, a run prints too much or crashes, or the command cannot be built.
pub fn slopes(root: &Path, filter: Option<&str>, program: Option<&Path>) -> Result<(), String> {
    let program = match program {
        Some(program) => program.to_owned(),
        None => {
            run(&mut cargo(
                root,
                &["build", "--quiet", "--release", "--package", "drysheath-cli"],
            ))?;
            root.join("target/release/drysheath")
        }
    };
    let folder = root.join("target/slopes");
    println!(
        "{:<28} {:>9} {:>9} {:>9} {:>7}",
        "case", "count", "CPU", "printed", "slope"
    );
    let mut steep = Vec::new();
    for case in CASES
        .iter()
        .filter(|case| filter.is_none_or(|filter| case.name.contains(filter)))
    {
        if let Err(why) = measure(case, &program, &folder) {
            println!("{:<28} {why}", case.name);
            steep.push(case.name);
        }
    }
    fs::remove_dir_all(&folder).or_else(|error| match error.kind() {
        std::io::ErrorKind::NotFound => Ok(()),
        _ => Err(error.to_string()),
    })?;
    if steep.is_empty() {
        Ok(())
    } else {
        Err(format!("the cost grows faster than the count: {}", steep.join(", ")))
    }
}

fn measure(case: &Case, program: &Path, folder: &Path) -> Result<(), String> {
    let mut count = case.count;
    write(case, count, folder)?;
    let mut cost = lint(program, folder)?;
    while cost.seconds < MEASURABLE && count < case.count * MOST_TIMES {
        count *= if cost.seconds < MEASURABLE / 8.0 { 4 } else { 2 };
        write(case, count, folder)?;
        cost = lint(program, folder)?;
    }
    let before = quickest(cost, program, folder)?;
    count *= 2;
    write(case, count, folder)?;
    let cost = quickest(lint(program, folder)?, program, folder)?;
    let slope = (cost.seconds / before.seconds.max(0.01)).log2();
    println!(
        "{:<28} {count:>9} {:>7.2} s {:>9} {slope:>7.2}",
        case.name, cost.seconds, cost.printed
    );
    if cost.printed > LONGEST_OUTPUT * (case.files)(count).len() {
        return Err(format!("prints {} bytes", cost.printed));
    }
    match case.known {
        _ if slope <= STEEPEST || before.seconds < MEASURABLE => Ok(()),
        Some(why) => {
            println!("{:<28} steep, as is known: {why}", "");
            Ok(())
        }
        None => Err(format!("grows with a slope of {slope:.2}")),
    }
}

/// Writes a case as a separate repository.
fn write(case: &Case, count: u32, folder: &Path) -> Result<(), String> {
    let of = |error: std::io::Error| error.to_string();
    if folder.exists() {
        fs::remove_dir_all(folder).map_err(of)?;
    }
    let settings = (SETTINGS.to_owned(), "language = 1\n".to_owned());
    for (path, text) in (case.files)(count).into_iter().chain([settings]) {
        let path = folder.join(path);
        fs::create_dir_all(path.parent().unwrap_or(folder)).map_err(of)?;
        fs::write(path, text).map_err(of)?;
    }
    Ok(())
}

/// Fastest of a few runs, including the given first one. A long run is not repeated, since it is accurate enough.
fn quickest(first: Cost, program: &Path, folder: &Path) -> Result<Cost, String> {
    let mut quickest = first;
    for _ in 1..RUNS {
        if quickest.seconds < 10.0 * MEASURABLE {
            let again = lint(program, folder)?;
            quickest.seconds = quickest.seconds.min(again.seconds);
        }
    }
    Ok(quickest)
}

fn lint(program: &Path, folder: &Path) -> Result<Cost, String> {
    let before = of_children()?;
    let output = Command::new(program)
        .args(["lint", "."])
        .current_dir(folder)
        .stderr(Stdio::inherit())
        .output()
        .map_err(|error| error.to_string())?;
    // Exit codes 0 and 1 mean that there are no results or some.
    if !matches!(output.status.code(), Some(0 | 1)) {
        return Err(format!("ended with {}", output.status));
    }
    Ok(Cost {
        seconds: of_children()? - before,
        printed: output.stdout.len(),
    })
}

/// Processor time of all child processes waited for, in seconds; Linux only.
fn of_children() -> Result<f64, String> {
    const TICKS: f64 = 100.0;
    let stat =
        fs::read_to_string("/proc/self/stat").map_err(|error| format!("no processor time on this system: {error}"))?;
    // The name of the program, in brackets, may contain blanks; the fields from the third on follow it.
    let after = stat.rsplit_once(") ").map_or("", |(_, after)| after);
    let field = |number: usize| {
        after
            .split(' ')
            .nth(number - 3)
            .and_then(|ticks| ticks.parse::<f64>().ok())
    };
    let user = field(16).ok_or("no processor time of children")?;
    let system = field(17).ok_or("no processor time of children")?;
    Ok((user + system) / TICKS)
}
