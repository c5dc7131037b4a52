//! Generates a fictional county: offices of many shapes that share their parts. Rules report nothing in them except
//! known faults, if requested. The output depends only on the options, not on the machine or on threads.

mod cable;
mod faults;
mod office;
mod parts;
mod random;

use std::fmt::Write as _;
use std::fs;
use std::io;
use std::path::Path;

use drysheath_syntax::formatted;
use rayon::prelude::*;
use serde::Serialize;

pub use parts::Used;
use parts::files as parts_files;

/// Default of [`Options::lines`].
pub const LINES: u32 = 236;

/// Number of offices per folder.
const IN_FOLDER: u32 = 100;
/// With faults enabled, one office in this many has one.
const FAULTY: u32 = 5;

/// The settings file of every generated county.
pub const SETTINGS: &str = "language = 1

# An invented county, drawn by `xtask county`.

[practice]
dryer-margin = \"30 %\"
minimum-underground = \"5 psi\"
minimum-buried = \"3 psi\"
minimum-aerial = \"1 psi\"

[records]
names = [\"serial\"]
";

/// Options of the county to generate.
#[derive(Clone, Copy, Debug)]
pub struct Options {
    /// Number of offices to generate.
    pub offices: u32,
    /// Seed of the random numbers: the same seed gives the same county.
    pub seed: u64,
    /// Approximate number of lines of an office.
    pub lines: u32,
    /// Whether some offices have a fault.
    pub faults: bool,
}

/// A result expected when a generated file is linted.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct Expected {
    /// File, relative to the county's root.
    pub file: String,
    /// Line, counted from 1.
    pub line: usize,
    /// Column, counted from 1.
    pub column: usize,
    /// Name of the rule.
    pub rule: &'static str,
}

/// A generated office and what is known about it.
#[derive(Clone, Debug)]
pub struct GeneratedOffice {
    /// Path from the county's root.
    pub path: String,
    /// Text of the file, formatted.
    pub text: String,
    /// Shared parts that it uses.
    pub used: Used,
    /// Path and text of the route to the next office, if there is one.
    pub route: Option<(String, String)>,
    /// Results expected when it is linted.
    pub expected: Vec<Expected>,
}

/// Generates office `number` of a county, counted from 0.
pub fn office(options: &Options, number: u32) -> GeneratedOffice {
    let drawn = office::office(options, number);
    let path = format!("{}.office", file(number, &drawn.place));
    let route = drawn.route.map(|(path, text)| (path, formatted(&text)));
    let text = formatted(&drawn.text);
    if options.faults && number % FAULTY == FAULTY - 1 {
        let slipped = faults::insert_fault(&text, number / FAULTY, &office::site(number - 1));
        let expected = slipped.results.into_iter().map(|(line, column, rule)| Expected {
            file: path.clone(),
            line,
            column,
            rule,
        });
        return GeneratedOffice {
            expected: expected.collect(),
            text: slipped.text,
            used: drawn.used,
            route,
            path,
        };
    }
    GeneratedOffice {
        path,
        text,
        used: drawn.used,
        route,
        expected: Vec::new(),
    }
}

fn folder(number: u32) -> String {
    format!("offices/d{number:04}")
}

/// Path of an office without extension. The number comes first, so that paths sort numerically; it follows a letter
/// because names must start with one.
fn file(number: u32, place: &str) -> String {
    format!("{}/n{number:06}-{place}", folder(number / IN_FOLDER))
}

/// Settings of a folder of offices, if they differ from the county's: path and text.
pub fn settings_of_folder(number: u32) -> Option<(String, String)> {
    const DISTRICT: &str = "[practice]
dryer-margin = \"25 %\"
bottles-last = \"14 d\"

[levels]
elevation-missing = \"error\"
";
    let path = format!("{}/drysheath.toml", folder(number));
    let text = format!("# What is other in district {number:04} of an invented county.\n\n{DISTRICT}");
    (number % 2 == 1).then_some((path, text))
}

/// Paths and texts of the files that the offices share: parts, assemblies and routes.
pub fn shared_files<'g>(offices: impl IntoIterator<Item = &'g GeneratedOffice>) -> Vec<(String, String)> {
    let (mut used, mut routes) = (Used::default(), Vec::new());
    for office in offices {
        used = used.and(office.used);
        routes.extend(office.route.clone());
    }
    let mut files = parts_files(used);
    files.append(&mut routes);
    files
}

/// Writes a county into `out`, which must be empty or must not exist yet.
///
/// # Errors
///
/// If `out` is not empty, or a file cannot be written.
pub fn write(options: &Options, out: &Path) -> io::Result<()> {
    fs::create_dir_all(out)?;
    if fs::read_dir(out)?.next().is_some() {
        return Err(io::Error::other(format!("{} is not empty", out.display())));
    }
    for number in 0..options.offices.div_ceil(IN_FOLDER) {
        fs::create_dir_all(out.join(folder(number)))?;
        if let Some((path, text)) = settings_of_folder(number) {
            fs::write(out.join(path), text)?;
        }
    }
    fs::create_dir_all(out.join("routes"))?;
    let (used, mut expected) = offices(options, out)?;
    fs::create_dir_all(out.join("parts"))?;
    for (path, text) in parts_files(used) {
        fs::write(out.join(path), text)?;
    }
    fs::write(out.join("drysheath.toml"), SETTINGS)?;
    if options.faults {
        expected.sort();
        fs::write(out.join("manifest.json"), manifest(&expected)?)?;
    }
    Ok(())
}

/// Writes the offices on all cores.
fn offices(options: &Options, out: &Path) -> io::Result<(Used, Vec<Expected>)> {
    let write = |number| {
        let written = office(options, number);
        fs::write(out.join(&written.path), &written.text)?;
        if let Some((path, text)) = &written.route {
            fs::write(out.join(path), text)?;
        }
        Ok((written.used, written.expected))
    };
    let union = |(used, mut expected): (Used, Vec<Expected>), (more, others): (Used, Vec<Expected>)| {
        expected.extend(others);
        Ok((used.and(more), expected))
    };
    (0..options.offices)
        .into_par_iter()
        .map(write)
        .try_reduce(Default::default, union)
}

/// Formats one result per line, as in `tests/faults/manifest.json`.
fn manifest(expected: &[Expected]) -> io::Result<String> {
    let mut text = String::from("[");
    for (at, entry) in expected.iter().enumerate() {
        let comma = if at == 0 { "" } else { "," };
        let _ = write!(text, "{comma}\n  {}", serde_json::to_string(entry)?);
    }
    text.push_str("\n]\n");
    Ok(text)
}
