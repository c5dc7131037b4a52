//! Search for edits without a result: makes every single edit that changes the meaning of a clean office and checks
//! whether lint reports anything. Silent classes of edits are listed in a table with the reason why silence is correct.

mod collection;
mod edits;
mod table;
mod values;

use std::collections::BTreeMap;
use std::path::Path;
use std::{fs, io};

use rayon::prelude::*;

use self::collection::Collection;
use self::edits::Edit;
use self::table::Table;

/// File of the table of silent classes.
const TABLE: &str = "crates/xtask/silence.toml";

/// A class of edits: what they change, and how.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Class {
    /// Kind and field, such as `cable section depth`, or run and attribute, such as `air run length`.
    pub what: String,
    /// Type of edit, such as `x 10` or `dropped`.
    pub how: String,
}

/// Edits of one class that were tried.
#[derive(Clone, Debug, Default)]
pub struct TriedEdits {
    /// Number of edits.
    pub edits: usize,
    /// Number of edits after which lint reported nothing new.
    pub silent: usize,
    /// An example: file and line, and the line before and after.
    pub example: Option<String>,
}

/// Tries one in `sample` edits of the clean offices and returns the results by class.
///
/// # Errors
///
/// If a file cannot be read.
pub fn hunt(root: &Path, sample: usize) -> io::Result<BTreeMap<Class, TriedEdits>> {
    let mut tried: BTreeMap<Class, TriedEdits> = BTreeMap::new();
    for collection in [
        Collection::below(&root.join("tests/county"))?,
        Collection::of(&root.join("grammar/example.office"))?,
    ] {
        let edits: Vec<(usize, Edit)> = collection.edits().into_iter().step_by(sample).collect();
        let silent: Vec<Option<String>> = edits
            .par_iter()
            .map(|(file, edit)| collection.silent(*file, edit))
            .collect();
        for ((_, edit), silent) in edits.into_iter().zip(silent) {
            let class = tried.entry(edit.class).or_default();
            class.edits += 1;
            class.silent += usize::from(silent.is_some());
            class.example = class.example.take().or(silent);
        }
    }
    Ok(tried)
}

/// Prints the silent classes and updates the table: reasons are kept, rows that are no longer silent are removed, new
/// classes are added without a reason. With `check`, nothing is written.
///
/// # Errors
///
/// If a silent class has no reason in the table, or the table has a row that is no longer silent.
pub fn silence(root: &Path, check: bool) -> Result<(), String> {
    let words = |error: io::Error| error.to_string();
    let tried = hunt(root, 1).map_err(words)?;
    let path = root.join(TABLE);
    let mut table = Table::read(&fs::read_to_string(&path).unwrap_or_default())?;
    report(&tried, &table);
    let (open, stale) = (unexplained(&tried, &table), table.stale(&silent_classes(&tried)));
    if !check {
        table.update(&silent_classes(&tried));
        fs::write(&path, table.to_string()).map_err(words)?;
    }
    match (open.len(), stale.len()) {
        (0, 0) => Ok(()),
        (0, _) if !check => Ok(()),
        (open, stale) => Err(format!(
            "{open} silent classes have no reason in {TABLE}, and {stale} entries of it are no longer silent: {:?}",
            table.stale(&silent_classes(&tried))
        )),
    }
}

/// Silent classes without a reason in the table of `root`, among those that were tried.
///
/// # Errors
///
/// If the table cannot be read.
pub fn without_reason(root: &Path, tried: &BTreeMap<Class, TriedEdits>) -> Result<Vec<Class>, String> {
    let text = fs::read_to_string(root.join(TABLE)).map_err(|error| error.to_string())?;
    Ok(unexplained(tried, &Table::read(&text)?))
}

fn silent_classes(tried: &BTreeMap<Class, TriedEdits>) -> Vec<&Class> {
    let silent = tried.iter().filter(|(_, tried)| tried.silent > 0);
    silent.map(|(class, _)| class).collect()
}

fn unexplained(tried: &BTreeMap<Class, TriedEdits>, table: &Table) -> Vec<Class> {
    let silent = silent_classes(tried).into_iter();
    silent.filter(|class| table.reason(class).is_none()).cloned().collect()
}

fn report(tried: &BTreeMap<Class, TriedEdits>, table: &Table) {
    let (mut edits, mut silent) = (0, 0);
    for (class, tried) in tried {
        edits += tried.edits;
        silent += tried.silent;
        let Some(example) = &tried.example else { continue };
        let mark = if table.reason(class).is_some() { " " } else { "!" };
        println!(
            "{mark} {:>4}/{:<4} {} | {} | {example}",
            tried.silent, tried.edits, class.what, class.how
        );
    }
    let classes = silent_classes(tried).len();
    println!(
        "{edits} edits in {} classes; lint says nothing to {silent} in {classes} classes, {} of them without a reason",
        tried.len(),
        unexplained(tried, table).len()
    );
    for (reason, classes) in table.by_reason(&silent_classes(tried)) {
        println!("{classes:>5} classes: {reason}");
    }
}
