//! Results counted by rule and by file: where to start in a repository that was never checked.

use std::collections::BTreeMap;

use drysheath_rules::{Level, ResultCount};
use drysheath_text::safe::{line, terminal};

use super::Results;
use crate::text_table::{CellAlignment, text_table};

/// Counts for one rule.
#[derive(Default)]
struct OfRule<'r> {
    results: usize,
    fixable: usize,
    files: Vec<&'r str>,
}

/// Two tables of the fresh results: rules by level and frequency, and files by number of errors.
pub fn counts(results: &Results<'_>) -> String {
    let mut rules: BTreeMap<(Level, &str), OfRule<'_>> = BTreeMap::new();
    let mut files: BTreeMap<&str, ResultCount> = BTreeMap::new();
    for told in results.fresh() {
        let finding = told.finding;
        let path = results.path(finding.place.file);
        let rule = rules.entry((finding.level, finding.rule.name())).or_default();
        rule.results += 1;
        rule.fixable += usize::from(finding.certain_fix().is_some());
        // Results are sorted by file.
        if rule.files.last() != Some(&path) {
            rule.files.push(path);
        }
        files.entry(path).or_default().add(finding.level);
    }
    let mut rules: Vec<_> = rules.into_iter().collect();
    rules.sort_by(|((one, name), of), ((other, also), others)| {
        other
            .cmp(one)
            .then(others.results.cmp(&of.results))
            .then(name.cmp(also))
    });
    let rows: Vec<Vec<String>> = rules
        .iter()
        .map(|((level, rule), of)| {
            vec![
                level.word().to_owned(),
                (*rule).to_owned(),
                of.results.to_string(),
                of.files.len().to_string(),
                of.fixable.to_string(),
            ]
        })
        .collect();
    let mut out = String::new();
    let (left, right) = (CellAlignment::Left, CellAlignment::Right);
    let columns = [
        ("level", left),
        ("rule", left),
        ("results", right),
        ("files", right),
        ("fixable", right),
    ];
    text_table(&mut out, "By rule", &columns, &rows);
    let mut files: Vec<_> = files.into_iter().collect();
    let weight = |count: &ResultCount| (count.errors, count.warnings, count.notes);
    files.sort_by(|(one, count), (other, others)| weight(others).cmp(&weight(count)).then(one.cmp(other)));
    let row = |(path, count): &(&str, ResultCount)| {
        let numbers = [count.errors, count.warnings, count.notes];
        let cells = numbers.iter().map(ToString::to_string);
        cells.chain([line(path).into_owned()]).collect()
    };
    let rows: Vec<Vec<String>> = files.iter().map(row).collect();
    let columns = [("errors", right), ("warnings", right), ("notes", right), ("file", left)];
    text_table(&mut out, "By file", &columns, &rows);
    let out = out.trim_start_matches('\n');
    if out.is_empty() {
        return "No results.\n".to_owned();
    }
    terminal(out).into_owned()
}
