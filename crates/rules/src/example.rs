//! The example office, and how the example of a rule replaces its statements.

use std::sync::Arc;

use drysheath_office::{Date, Networks, Office, PartsInMemory, Summary, lower};
use drysheath_prediction::Prediction;
use drysheath_syntax::{StatementKind, Tree, parse};
use drysheath_text::{FileId, Place, TextRange};
use rustc_hash::FxHashMap;

use crate::finding::Finding;
use crate::lint::{Inspection, RepositoryInspection, hand_over, is_wide, lint, lint_repository};
use crate::registry::RuleId;
use crate::rule::{Check, Rule};
use crate::settings::Settings;

/// A small invented office without any results.
pub const OFFICE: &str = include_str!("../../../grammar/example.office");

/// The date on which examples are checked.
pub const TODAY: Date = Date {
    year: 2026,
    month: 11,
    day: 1,
};

/// Prefix of a line that starts another file of an example; its path without extension follows.
const FILE: &str = "# file ";
/// Prefix of a line that leaves out statements of the example office; the beginning of the statements follows.
const WITHOUT: &str = "# without ";

/// The outcome of checking an example.
#[derive(Debug)]
pub struct Outcome {
    /// The texts of the files, in order.
    pub texts: Vec<Arc<str>>,
    /// The places marked with carets.
    pub marked: Vec<Place>,
    /// The results that are not accepted.
    pub findings: Vec<Finding>,
}

/// Checks an example together with the example office. The note on checks that are left out is removed: an example
/// replaces whole statements and would have to repeat every figure of a data sheet.
pub fn check(example: &str, settings: &Settings) -> Outcome {
    let mut outcome = check_whole(example, settings);
    outcome
        .findings
        .retain(|finding| finding.rule.id != RuleId::ChecksLeftOut);
    outcome
}

fn check_whole(example: &str, settings: &Settings) -> Outcome {
    outcome(example, |offices| {
        let mut findings: Vec<Finding> = offices
            .iter()
            .flat_map(|office| lint(office, settings, TODAY))
            .collect();
        let summaries: Vec<_> = offices
            .iter()
            .map(|office| Arc::new(Summary::of(office, is_wide)))
            .collect();
        let repository = RepositoryInspection {
            summaries: &summaries,
            settings,
            settings_below: &FxHashMap::default(),
            whole: true,
        };
        findings.extend(lint_repository(&repository, TODAY));
        findings
    })
}

/// Checks an example of a rule: with the hand-over rules if it is one of them, otherwise with all others.
pub fn check_for(rule: &Rule, example: &str, settings: &Settings) -> Outcome {
    match rule.check {
        Check::HandOver(_) => check_hand_over(example, settings),
        _ if rule.id == RuleId::ChecksLeftOut => check_whole(example, settings),
        _ => check(example, settings),
    }
}

fn check_hand_over(example: &str, settings: &Settings) -> Outcome {
    outcome(example, |offices| {
        let results = offices.iter().flat_map(|office| {
            let present = office.present();
            let present = present.as_ref().unwrap_or(office);
            let networks = Networks::new(present);
            let prediction = Prediction::new(present, &networks);
            let inspection = Inspection::new(present, &networks, &prediction, settings).of(office);
            hand_over(&inspection, &[], TODAY)
        });
        results.collect()
    })
}

/// Runs `judge` on the files of an example.
fn outcome(example: &str, judge: impl FnOnce(&[Office]) -> Vec<Finding>) -> Outcome {
    let mut files: Vec<(String, String)> = vec![("example".to_owned(), String::new())];
    for line in example.lines() {
        if let Some(path) = line.strip_prefix(FILE) {
            files.push((path.trim().to_owned(), String::new()));
        } else if let Some((_, text)) = files.last_mut() {
            text.push_str(line);
            text.push('\n');
        }
    }
    if let Some((_, first)) = files.first_mut() {
        *first = compose(OFFICE, first);
    }
    let numbered = (0..).map(FileId).zip(&files);
    let library = PartsInMemory::new(numbered.map(|(file, (path, text))| (file, path.as_str(), text.as_str())));
    let offices: Vec<Office> = (0..)
        .zip(&files)
        .map(|(number, (path, text))| lower(FileId(number), path, text.as_str().into(), &parse(text), &library))
        .collect();
    let mut findings = judge(&offices);
    findings.retain(|finding| finding.accepted.is_none());
    findings.sort_by(|one, other| (one.place, one.rule.name()).cmp(&(other.place, other.rule.name())));
    let texts: Vec<Arc<str>> = offices.iter().map(|office| office.own_text().into()).collect();
    let marked = (0..)
        .map(FileId)
        .zip(&texts)
        .flat_map(|(file, text)| marks(file, text))
        .collect();
    Outcome {
        texts,
        marked,
        findings,
    }
}

/// The example office with statements replaced by those of `example`: things by name, runs by first end. Statements
/// named after `# without` are left out.
pub fn compose(office: &str, example: &str) -> String {
    let keys = |text: &str| -> Vec<(String, TextRange)> {
        let tree = parse(text);
        tree.statements
            .iter()
            .map(|statement| (key(text, &tree, &statement.kind, statement.range), statement.range))
            .collect()
    };
    let own = keys(example);
    let without: Vec<&str> = example
        .lines()
        .filter_map(|line| line.strip_prefix(WITHOUT))
        .map(str::trim)
        .collect();
    let mut text = String::new();
    for (key, range) in keys(office) {
        let statement = range.of(office);
        let left_out = without.iter().any(|start| statement.starts_with(start));
        if !left_out && !own.iter().any(|(other, _)| *other == key) {
            text.push_str(statement);
            text.push('\n');
        }
    }
    text + example
}

fn key(text: &str, tree: &Tree, kind: &StatementKind, range: TextRange) -> String {
    match kind {
        StatementKind::Thing(thing) if thing.kind.is_some_and(|kind| tree.range(kind).of(text) == "office") => {
            "office".to_owned()
        }
        StatementKind::Thing(thing) => thing.name.map_or("", |name| tree.range(name).of(text)).to_owned(),
        StatementKind::Run(run) => {
            let first = run.ends.first().map_or("", |end| tree.items_range(end.items).of(text));
            format!("{} {first}", run.medium.word())
        }
        _ => range.of(text).to_owned(),
    }
}

/// The ranges that lines of carets mark in the lines above them.
fn marks(file: FileId, text: &str) -> Vec<Place> {
    let mut places = Vec::new();
    let mut above = 0;
    let mut start = 0;
    for line in text.split_inclusive('\n') {
        let carets = line
            .trim_end()
            .strip_prefix('#')
            .map(str::trim_start)
            .filter(|it| !it.is_empty());
        if carets.is_some_and(|carets| carets.bytes().all(|byte| byte == b'^')) {
            let from = line.find('^').unwrap_or_default();
            let to = from + line.matches('^').count();
            // A column counts characters, which may have several bytes.
            let marked = text.get(above..start).unwrap_or_default();
            let at = |column| marked.char_indices().nth(column).map_or(column, |(at, _)| at);
            let (from, to) = (at(from), at(to));
            places.push(Place {
                file,
                range: TextRange::new((above + from) as u32, (above + to) as u32),
            });
        } else {
            above = start;
        }
        start += line.len();
    }
    places
}
