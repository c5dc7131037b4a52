//! Doubles the size of files that are all of one thing, and fails where the cost grows faster than the size.
//!
//! A file of ten thousand slips is no office, but it must not hold up a gate or an editor: whatever the linter does for one thing
//! may not be in proportion to the number of all others. So each case of `cases` is linted by the command itself, at its count
//! and at twice that, and so on until the run takes long enough to be measured; then the slope between the last two is what
//! counts. A slope of 1 is cost in proportion, one of 2 grows with the square.

mod cases;

use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};

use drysheath_office::SETTINGS;

use self::cases::{CASES, Case};
use crate::process::{cargo, run};

/// The steepest slope that passes. Sorting and caches that overflow account for what is above 1.
const STEEPEST: f64 = 1.3;
/// The processor time from which on two runs can be compared, in seconds: that is counted in hundredths.
const MEASURABLE: f64 = 0.15;
/// How many times its count a case has at most: one that is quick even then costs nothing that matters.
const MOST_TIMES: u32 = 64;
/// Runs of which the quickest counts.
const RUNS: u32 = 3;
/// The most that a run may print for each file, in bytes. Nobody reads more, and a host of pull requests takes less.
const LONGEST_OUTPUT: usize = 1 << 20;

/// What one run cost.
#[derive(Clone, Copy)]
struct Cost {
    /// Processor time in seconds.
    seconds: f64,
    /// Bytes that were printed.
    printed: usize,
}

/// Lints every case, or those whose name has `filter` in it, prints what each costs, and how fast that grows. `program` is the
/// command, unless it is to be built.
///
/// # Errors
///
/// If the cost of a case grows faster than its count, a run prints too much or ends without an answer, or the command cannot
/// be built.
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

/// Writes a case as a repository of its own.
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

/// The quickest of a few runs, of which one is over. What takes long is measured well enough by one.
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
    // 0 and 1 say whether there are results.
    if !matches!(output.status.code(), Some(0 | 1)) {
        return Err(format!("ended with {}", output.status));
    }
    Ok(Cost {
        seconds: of_children()? - before,
        printed: output.stdout.len(),
    })
}

/// Processor time of all processes that this one has waited for, in seconds, as Linux counts it.
fn of_children() -> Result<f64, String> {
    const TICKS: f64 = 100.0;
    let stat =
        fs::read_to_string("/proc/self/stat").map_err(|error| format!("no processor time on this system: {error}"))?;
    // The name of the program, in brackets, may have blanks in it; after it come the fields from the third on.
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
