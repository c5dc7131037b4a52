//! Table of silent classes, with the reason why each is correct.

use std::collections::BTreeMap;
use std::fmt;

use toml_edit::{ArrayOfTables, DocumentMut, Item, Table as Row, Value};

use super::Class;

const HEADING: &str = "# What lint says nothing to, and why that is right. `cargo xtask silence` keeps this file up to date: it leaves the reasons
# alone and adds new classes with none, which fails the tests. `*` stands for anything.
";

/// Silent classes with a common reason.
#[derive(Debug, Default)]
struct Reason {
    /// Patterns for what is edited.
    what: Vec<String>,
    /// Patterns for the type of edit.
    how: Vec<String>,
    /// Reason; empty if none has been given yet.
    because: String,
}

/// The table, in file order.
#[derive(Debug, Default)]
pub(super) struct Table {
    rows: Vec<Reason>,
}

impl Reason {
    fn covers(&self, class: &Class) -> bool {
        any(&self.what, &class.what) && any(&self.how, &class.how)
    }
}

fn any(patterns: &[String], text: &str) -> bool {
    patterns.iter().any(|pattern| fits(pattern, text))
}

/// Whether a text matches a pattern, in which `*` stands for anything.
fn fits(pattern: &str, text: &str) -> bool {
    match pattern.split_once('*') {
        None => pattern == text,
        Some((start, rest)) => text.strip_prefix(start).is_some_and(|text| {
            let mut ends = text.char_indices().map(|(at, _)| at).chain([text.len()]);
            ends.any(|at| text.get(at..).is_some_and(|text| fits(rest, text)))
        }),
    }
}

impl Table {
    pub(super) fn read(text: &str) -> Result<Self, String> {
        let document: DocumentMut = text.parse().map_err(|error: toml_edit::TomlError| error.to_string())?;
        let Some(rows) = document.get("silent").and_then(Item::as_array_of_tables) else {
            return Ok(Self::default());
        };
        let words = |row: &Row, key: &str| -> Vec<String> {
            let array = row.get(key).and_then(Item::as_array);
            let words = array.into_iter().flatten().filter_map(Value::as_str);
            words.map(str::to_owned).collect()
        };
        let reason = |row: &Row| Reason {
            what: words(row, "what"),
            how: words(row, "how"),
            because: row.get("because").and_then(Item::as_str).unwrap_or_default().to_owned(),
        };
        Ok(Self {
            rows: rows.iter().map(reason).collect(),
        })
    }

    /// Reason why a class is silent, if given.
    pub(super) fn reason(&self, class: &Class) -> Option<&str> {
        let row = self
            .rows
            .iter()
            .find(|row| row.covers(class) && !row.because.is_empty())?;
        Some(&row.because)
    }

    /// Patterns that match no silent class any more.
    pub(super) fn stale(&self, silent: &[&Class]) -> Vec<String> {
        let mut stale = Vec::new();
        for row in &self.rows {
            let covered = || silent.iter().filter(|class| row.covers(class));
            let what = row
                .what
                .iter()
                .filter(|it| !covered().any(|class| fits(it, &class.what)));
            let how = row.how.iter().filter(|it| !covered().any(|class| fits(it, &class.how)));
            stale.extend(what.chain(how).map(|pattern| format!("{pattern} ({})", row.because)));
        }
        stale
    }

    /// Removes rows that are no longer silent, and adds silent classes without a reason in the table: classes with the
    /// same edits share a row.
    pub(super) fn update(&mut self, silent: &[&Class]) {
        self.rows.retain(|row| !row.because.is_empty());
        for row in &mut self.rows {
            let covered: Vec<_> = silent.iter().filter(|class| row.covers(class)).collect();
            row.what.retain(|it| covered.iter().any(|class| fits(it, &class.what)));
            row.how.retain(|it| covered.iter().any(|class| fits(it, &class.how)));
        }
        self.rows.retain(|row| !row.what.is_empty());
        let mut edits: BTreeMap<&str, Vec<String>> = BTreeMap::new();
        for class in silent.iter().filter(|class| self.reason(class).is_none()) {
            edits.entry(&class.what).or_default().push(class.how.clone());
        }
        let mut rows: BTreeMap<Vec<String>, Vec<String>> = BTreeMap::new();
        for (what, how) in edits {
            rows.entry(how).or_default().push(what.to_owned());
        }
        self.rows.extend(rows.into_iter().map(|(how, what)| Reason {
            what,
            how,
            because: String::new(),
        }));
    }

    /// Number of silent classes per reason, the largest first.
    pub(super) fn by_reason(&self, silent: &[&Class]) -> Vec<(&str, usize)> {
        let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
        for class in silent {
            *counts.entry(self.reason(class).unwrap_or("no reason yet")).or_default() += 1;
        }
        let mut counts: Vec<_> = counts.into_iter().collect();
        counts.sort_by_key(|(_, count)| std::cmp::Reverse(*count));
        counts
    }
}

impl fmt::Display for Table {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let words = |words: &[String]| {
            let mut array: toml_edit::Array = words.iter().map(String::as_str).collect();
            if words.len() > 4 {
                for word in array.iter_mut() {
                    word.decor_mut().set_prefix("\n    ");
                }
                array.set_trailing("\n");
                array.set_trailing_comma(true);
            }
            toml_edit::value(array)
        };
        let mut rows = ArrayOfTables::new();
        for reason in &self.rows {
            let mut row = Row::new();
            row.insert("what", words(&reason.what));
            row.insert("how", words(&reason.how));
            row.insert("because", toml_edit::value(reason.because.as_str()));
            rows.push(row);
        }
        let mut document = DocumentMut::new();
        document.insert("silent", Item::ArrayOfTables(rows));
        write!(f, "{HEADING}\n{document}")
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;

    fn class(what: &str, how: &str) -> Class {
        Class {
            what: what.to_owned(),
            how: how.to_owned(),
        }
    }

    #[test]
    fn stars_stand_for_anything() {
        assert!(fits("* title", "office title"));
        assert!(fits("*", ""));
        assert!(fits("cable * depth", "cable section depth"));
        assert!(!fits("* title", "office title x"));
        assert!(!fits("cable", "cable depth"));
    }

    #[test]
    fn reasons_stay_and_new_classes_come_without_one() {
        let text = "[[silent]]\nwhat = [\"* note\", \"gone\"]\nhow = [\"*\"]\nbecause = \"a remark\"\n";
        let (note, depth) = (class("cable note", "emptied"), class("cable section depth", "x 0"));
        let silent = [&note, &depth];
        let mut table = Table::read(text).unwrap();
        assert_eq!(table.reason(&note), Some("a remark"));
        assert_eq!(table.reason(&depth), None);
        assert_eq!(table.stale(&silent), ["gone (a remark)"]);
        table.update(&silent);
        let again = Table::read(&table.to_string()).unwrap();
        assert_eq!(again.rows.len(), 2);
        assert_eq!(again.reason(&note), Some("a remark"));
        assert_eq!(again.reason(&depth), None);
        assert_eq!(again.stale(&silent), Vec::<String>::new());
    }
}
