//! Writes an invented county: offices of many shapes that share their parts and are clean under every rule, or with a
//! known fault in some of them. What is written depends on the order alone.

mod cable;
mod draw;
mod office;
mod parts;
mod slips;

use std::fmt::Write as _;
use std::fs;
use std::io;
use std::num::NonZero;
use std::path::Path;
use std::sync::Mutex;
use std::sync::atomic::{AtomicU32, Ordering};

use drysheath_syntax::formatted;
use serde::Serialize;

pub use parts::{Used, files as parts_files};

/// About how many lines an office has, unless the order says otherwise.
pub const LINES: u32 = 236;

/// Offices in one folder.
const IN_FOLDER: u32 = 100;
/// One in so many offices has a fault, where faults are ordered.
const FAULTY: u32 = 5;

/// The settings of every such county.
pub const SETTINGS: &str = "# An invented county, drawn by `xtask county`.

[practice]
dryer-margin = \"30 %\"
minimum-underground = \"5 psi\"
minimum-buried = \"3 psi\"
minimum-aerial = \"1 psi\"
";

/// What county to write.
#[derive(Clone, Copy, Debug)]
pub struct Order {
    /// How many offices.
    pub offices: u32,
    /// What it is drawn from.
    pub seed: u64,
    /// About how many lines an office has.
    pub lines: u32,
    /// Whether some offices have a fault.
    pub faults: bool,
}

/// A result that a file must give.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct Expected {
    /// The file, from the county's root.
    pub file: String,
    /// The line, from 1.
    pub line: usize,
    /// The column, from 1.
    pub column: usize,
    /// The rule.
    pub rule: &'static str,
}

/// An office as it is written.
#[derive(Clone, Debug)]
pub struct Written {
    /// Its file, from the county's root.
    pub path: String,
    /// Its text.
    pub text: String,
    /// The parts that it uses.
    pub used: Used,
    /// The results that it must give.
    pub expected: Vec<Expected>,
}

/// Office `number` of a county, from 0.
pub fn office(order: &Order, number: u32) -> Written {
    let drawn = office::office(order.seed, number, order.lines);
    // The number comes first, so that the order of paths is that of numbers.
    let path = format!("{}/{number:06}-{}.office", folder(number / IN_FOLDER), drawn.place);
    let text = formatted(&drawn.text);
    if order.faults && number % FAULTY == FAULTY - 1 {
        let slipped = slips::slip(&text, number / FAULTY, &office::site(number - 1));
        let expected = slipped.results.into_iter().map(|(line, column, rule)| Expected {
            file: path.clone(),
            line,
            column,
            rule,
        });
        return Written {
            expected: expected.collect(),
            text: slipped.text,
            used: drawn.used,
            path,
        };
    }
    Written {
        path,
        text,
        used: drawn.used,
        expected: Vec::new(),
    }
}

fn folder(number: u32) -> String {
    format!("offices/{number:04}")
}

/// Writes a county into `out`, which must be empty or not be there yet.
///
/// # Errors
///
/// If `out` holds something, or a file cannot be written.
pub fn write(order: &Order, out: &Path) -> io::Result<()> {
    fs::create_dir_all(out)?;
    if fs::read_dir(out)?.next().is_some() {
        return Err(io::Error::other(format!("{} is not empty", out.display())));
    }
    for number in 0..order.offices.div_ceil(IN_FOLDER) {
        fs::create_dir_all(out.join(folder(number)))?;
    }
    let (used, mut expected) = offices(order, out)?;
    fs::create_dir_all(out.join("parts"))?;
    for (path, text) in parts_files(used) {
        fs::write(out.join(path), text)?;
    }
    fs::write(out.join("drysheath.toml"), SETTINGS)?;
    if order.faults {
        expected.sort();
        fs::write(out.join("manifest.json"), manifest(&expected)?)?;
    }
    Ok(())
}

/// Writes the offices, on as many threads as there are processors.
fn offices(order: &Order, out: &Path) -> io::Result<(Used, Vec<Expected>)> {
    let next = AtomicU32::new(0);
    let outcome = Mutex::new(Ok((Used::default(), Vec::new())));
    let work = || {
        loop {
            let number = next.fetch_add(1, Ordering::Relaxed);
            if number >= order.offices {
                break;
            }
            let written = office(order, number);
            let result = fs::write(out.join(&written.path), &written.text);
            let Ok(mut outcome) = outcome.lock() else { break };
            match (&mut *outcome, result) {
                (Ok((used, expected)), Ok(())) => {
                    *used = used.and(written.used);
                    expected.extend(written.expected);
                }
                (Ok(_), Err(error)) => *outcome = Err(error),
                (Err(_), _) => break,
            }
        }
    };
    let threads = std::thread::available_parallelism().map_or(1, NonZero::get);
    std::thread::scope(|scope| {
        for _ in 0..threads {
            scope.spawn(work);
        }
    });
    outcome
        .into_inner()
        .unwrap_or_else(|_| Err(io::Error::other("a writer failed")))
}

/// One result a line, as in `tests/faults/manifest.json`.
fn manifest(expected: &[Expected]) -> io::Result<String> {
    let mut text = String::from("[");
    for (at, entry) in expected.iter().enumerate() {
        let comma = if at == 0 { "" } else { "," };
        let _ = write!(text, "{comma}\n  {}", serde_json::to_string(entry)?);
    }
    text.push_str("\n]\n");
    Ok(text)
}
