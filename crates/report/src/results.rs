//! The results of one run, for programs: places, and state against a baseline.

mod annotations;
mod baseline;
mod code_quality;
mod counts;
mod coverage;
mod fingerprint;
mod json;
mod junit;
mod markdown;
mod sarif;
mod trouble;

use std::cell::OnceCell;
use std::fmt::Write;

use drysheath_rules::{Coverage, Finding, Level, ResultCount};
use drysheath_text::{Encoding, FileId, LineIndex, Place};
use rustc_hash::{FxHashMap, FxHashSet};

pub use annotations::annotations;
pub use baseline::{Baseline, BaselineResult};
pub use code_quality::code_quality;
pub use counts::counts;
pub use json::{json, results_schema};
pub use junit::junit;
pub use markdown::markdown;
pub use sarif::sarif;
pub use trouble::Trouble;

use crate::Files;
pub(crate) use fingerprint::{Fingerprint, Fingerprints};

/// The results of one run.
pub struct Results<'r> {
    findings: &'r [Finding],
    files: &'r dyn Files,
    /// Number of files that were linted.
    pub looked_at: usize,
    /// Files that could not be linted.
    pub troubles: &'r [Trouble],
    /// Note on what was left out on request.
    pub left_out: Option<&'r str>,
    /// The checks made of these files.
    pub coverage: Coverage,
    /// The lowest level that makes the run fail.
    pub fail_on: Level,
    /// Computed on first use: terminal output needs none.
    fingerprints: OnceCell<Vec<Fingerprint>>,
    states: Option<Vec<BaselineState>>,
    gone: Vec<BaselineResult>,
    /// Line indices of the files that results refer to; computed on first use.
    lines: OnceCell<FxHashMap<FileId, LineIndex>>,
}

/// State of a result against a baseline.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BaselineState {
    /// Not in the baseline.
    New,
    /// Also in the baseline.
    Unchanged,
}

/// A result with its state against the baseline.
#[derive(Clone, Copy)]
pub struct ReportedResult<'r> {
    /// The finding to report.
    pub finding: &'r Finding,
    /// Index among the results.
    at: usize,
    /// State against the baseline, if there is one.
    pub state: Option<BaselineState>,
}

/// A range of text by lines and columns, both from 1; columns count characters.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Region {
    pub start_line: u32,
    pub start_column: u32,
    pub end_line: u32,
    pub end_column: u32,
    /// Start of the range, in bytes from the start of the file.
    pub byte_offset: u32,
    /// Length of the range in bytes.
    pub byte_length: u32,
    /// Start of the range, in characters from the start of the file.
    pub char_offset: u32,
    /// Length of the range in characters.
    pub char_length: u32,
}

fn fingerprints_of(findings: &[Finding], files: &dyn Files) -> Vec<Fingerprint> {
    let mut prints = Fingerprints::default();
    let print = |finding: &Finding| {
        let file = finding.place.file;
        prints.of(finding, files.path_from_root(file), files.text(file))
    };
    findings.iter().map(print).collect()
}

impl<'r> Results<'r> {
    /// Results in output order. `files` must have the texts of all places that they refer to.
    pub fn new(findings: &'r [Finding], files: &'r dyn Files, baseline: Option<&Baseline>) -> Self {
        let fingerprints = OnceCell::new();
        let (states, gone) = match baseline {
            Some(baseline) => {
                let fingerprints = fingerprints.get_or_init(|| fingerprints_of(findings, files));
                let (states, gone) = baseline.judge(
                    findings
                        .iter()
                        .zip(fingerprints)
                        .map(|(finding, print)| (finding, print, files.path_from_root(finding.place.file))),
                );
                (Some(states), gone)
            }
            None => (None, Vec::new()),
        };
        Self {
            findings,
            files,
            looked_at: 0,
            troubles: &[],
            left_out: None,
            coverage: Coverage::default(),
            fail_on: Level::Error,
            fingerprints,
            states,
            gone,
            lines: OnceCell::new(),
        }
    }

    /// All results, including accepted ones.
    pub fn all(&self) -> impl Iterator<Item = ReportedResult<'_>> {
        self.findings.iter().enumerate().map(|(at, finding)| ReportedResult {
            finding,
            at,
            state: self.states.as_ref().and_then(|states| states.get(at).copied()),
        })
    }

    /// A key that identifies the result even if its line moves.
    pub fn fingerprint(&self, reported: ReportedResult<'_>) -> &str {
        self.print(reported).map_or("", |print| &print.own)
    }

    /// The fingerprint without the file.
    pub fn line_fingerprint(&self, reported: ReportedResult<'_>) -> &str {
        self.print(reported).map_or("", |print| &print.line)
    }

    fn print(&self, reported: ReportedResult<'_>) -> Option<&Fingerprint> {
        let all = self
            .fingerprints
            .get_or_init(|| fingerprints_of(self.findings, self.files));
        all.get(reported.at)
    }

    fn lines(&self) -> &FxHashMap<FileId, LineIndex> {
        self.lines.get_or_init(|| {
            let mut lines = FxHashMap::default();
            for place in self.findings.iter().flat_map(places) {
                lines
                    .entry(place.file)
                    .or_insert_with(|| LineIndex::new(self.files.text(place.file)));
            }
            lines
        })
    }

    /// The results that are neither accepted nor known to the baseline.
    pub fn fresh(&self) -> impl Iterator<Item = ReportedResult<'_>> {
        self.all()
            .filter(|reported| reported.finding.accepted.is_none() && reported.state != Some(BaselineState::Unchanged))
    }

    /// Results in the baseline that this run does not give.
    pub fn gone(&self) -> &[BaselineResult] {
        &self.gone
    }

    /// Whether there was a baseline.
    pub fn has_baseline(&self) -> bool {
        self.states.is_some()
    }

    /// A sentence on how much could be checked. `None` where there was nothing to check.
    pub fn checked(&self) -> Option<String> {
        coverage::sentence(&self.coverage)
    }

    /// Number of results of each level.
    pub fn count(&self) -> ResultCount {
        ResultCount::of(self.findings)
    }

    /// Whether the run fails: a fresh result is at or above the failing level.
    pub fn fails(&self) -> bool {
        self.fresh().any(|reported| reported.finding.level >= self.fail_on)
    }

    pub(crate) fn path_from_root(&self, file: FileId) -> &str {
        self.files.path_from_root(file)
    }

    pub(crate) fn path(&self, file: FileId) -> &str {
        self.files.path(file)
    }

    pub(crate) fn text(&self, file: FileId) -> &str {
        self.files.text(file)
    }

    /// The files that results refer to, sorted by path.
    pub(crate) fn spoken_of<'t>(&self, reported: impl Iterator<Item = &'t ReportedResult<'t>>) -> Vec<FileId> {
        let files: FxHashSet<FileId> = reported
            .flat_map(|reported| places(reported.finding))
            .map(|place| place.file)
            .collect();
        let mut files: Vec<FileId> = files.into_iter().collect();
        files.sort_by(|one, other| self.path(*one).cmp(self.path(*other)));
        files
    }

    pub(crate) fn region(&self, place: Place) -> Region {
        let text = self.files.text(place.file);
        let bound = |at: u32| {
            let mut at = (at as usize).min(text.len());
            while !text.is_char_boundary(at) {
                at -= 1;
            }
            at
        };
        let (start, end) = (bound(place.range.start), bound(place.range.end));
        let position = |at: usize| {
            let found = self
                .lines()
                .get(&place.file)
                .map(|lines| lines.position(text, at as u32, Encoding::Utf32));
            found.map_or((1, 1), |position| (position.line + 1, position.column + 1))
        };
        let ((start_line, start_column), (end_line, end_column)) = (position(start), position(end));
        let characters = |range: std::ops::Range<usize>| text.get(range).unwrap_or_default().chars().count() as u32;
        Region {
            start_line,
            start_column,
            end_line,
            end_column,
            byte_offset: start as u32,
            byte_length: (end - start) as u32,
            char_offset: characters(0..start),
            char_length: characters(start..end),
        }
    }
}

fn places(finding: &Finding) -> impl Iterator<Item = Place> {
    std::iter::once(finding.place).chain(finding.related.iter().map(|related| related.place))
}

/// A path in URI form: with `/`, and percent-encoded.
pub(crate) fn address(path: &str) -> String {
    let mut out = String::with_capacity(path.len());
    for byte in path.replace('\\', "/").bytes() {
        match byte {
            b'A'..=b'Z' | b'a'..=b'z' | b'0'..=b'9' | b'-' | b'.' | b'_' | b'~' | b'/' => out.push(char::from(byte)),
            _ => {
                let _ = write!(out, "%{byte:02X}");
            }
        }
    }
    out
}
