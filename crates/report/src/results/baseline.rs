//! A SARIF log of an earlier run, which separates known results from new ones.

use drysheath_rules::Finding;
use rustc_hash::{FxHashMap, FxHashSet};
use serde::Deserialize;

use super::{BaselineState, Fingerprint};

/// Name of a result's fingerprint in a log.
pub(super) const FINGERPRINT: &str = "drysheath/v1";
/// Name of the fingerprint that does not depend on the file.
pub(super) const LINE_FINGERPRINT: &str = "drysheath/line/v1";
/// The property of a result for its file's path from the root of the repository, independent of where the log was made.
pub(super) const FILE: &str = "file";
/// The property of a run for the number of results that did not fit.
pub(super) const LEFT_OUT: &str = "resultsLeftOut";

/// The results of an earlier run.
#[derive(Clone, Debug, Default)]
pub struct Baseline {
    known: Vec<BaselineResult>,
    /// Files with known results that no longer exist and may have been renamed.
    gone_files: FxHashSet<String>,
}

/// A result of an earlier run.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BaselineResult {
    /// The name of the rule.
    pub rule: String,
    /// Level in the earlier run.
    pub level: String,
    /// Message in the earlier run.
    pub message: String,
    /// The file as a URI.
    pub address: String,
    /// The line, from 1.
    pub line: u32,
    /// Fingerprint that identifies the result in later runs.
    pub fingerprint: String,
    /// Fingerprint without the file; empty in logs of earlier versions.
    pub line_fingerprint: String,
    /// The path of its file from the root of its repository; empty in logs of earlier versions.
    pub file: String,
}

#[derive(Deserialize)]
struct Log {
    version: String,
    runs: Vec<LogRun>,
}

#[derive(Deserialize)]
struct LogRun {
    #[serde(default)]
    results: Vec<LogResult>,
    #[serde(default)]
    properties: FxHashMap<String, serde_json::Value>,
}

#[derive(Deserialize)]
#[serde(rename_all = "camelCase")]
struct LogResult {
    rule_id: Option<String>,
    #[serde(default)]
    level: Option<String>,
    message: LogMessage,
    #[serde(default)]
    locations: Vec<LogLocation>,
    #[serde(default)]
    partial_fingerprints: FxHashMap<String, String>,
    #[serde(default)]
    baseline_state: Option<String>,
    #[serde(default)]
    suppressions: Vec<serde_json::Value>,
    #[serde(default)]
    properties: FxHashMap<String, serde_json::Value>,
}

#[derive(Deserialize)]
struct LogMessage {
    #[serde(default)]
    text: String,
}

#[derive(Deserialize)]
#[serde(rename_all = "camelCase")]
struct LogLocation {
    physical_location: Option<LogPlace>,
}

#[derive(Deserialize)]
#[serde(rename_all = "camelCase")]
struct LogPlace {
    artifact_location: Option<LogArtifact>,
    region: Option<LogRegion>,
}

#[derive(Deserialize)]
struct LogArtifact {
    #[serde(default)]
    uri: String,
}

#[derive(Deserialize)]
#[serde(rename_all = "camelCase")]
struct LogRegion {
    #[serde(default)]
    start_line: u32,
}

impl Baseline {
    /// Reads a SARIF log.
    ///
    /// # Errors
    ///
    /// A message if it is not one.
    pub fn read(text: &str) -> Result<Self, String> {
        let log: Log = serde_json::from_str(text).map_err(|error| format!("this is not a SARIF log: {error}"))?;
        if log.version != "2.1.0" {
            return Err(format!("this is SARIF {}; only 2.1.0 can be read", log.version));
        }
        let left_out = |run: &LogRun| run.properties.get(LEFT_OUT).and_then(serde_json::Value::as_u64);
        if let Some(left_out) = log.runs.iter().filter_map(left_out).find(|left_out| *left_out > 0) {
            return Err(format!(
                "{left_out} results were left out of this log, so that they would seem new: write it again with --all"
            ));
        }
        let results = log.runs.into_iter().flat_map(|run| run.results);
        // Results that were absent or accepted in that run do not count as known.
        let there = results
            .filter(|result| result.baseline_state.as_deref() != Some("absent") && result.suppressions.is_empty());
        let mut known = Vec::new();
        for result in there {
            let Some(fingerprint) = result.partial_fingerprints.get(FINGERPRINT) else {
                return Err("its results carry no fingerprints of drysheath".to_owned());
            };
            let place = result
                .locations
                .into_iter()
                .next()
                .and_then(|location| location.physical_location);
            let (address, line) = place.map_or((String::new(), 0), |place| {
                (
                    place.artifact_location.map(|artifact| artifact.uri).unwrap_or_default(),
                    place.region.map_or(0, |region| region.start_line),
                )
            });
            known.push(BaselineResult {
                rule: result.rule_id.unwrap_or_default(),
                level: result.level.unwrap_or_else(|| "warning".to_owned()),
                message: result.message.text,
                address,
                line,
                fingerprint: fingerprint.clone(),
                line_fingerprint: result
                    .partial_fingerprints
                    .get(LINE_FINGERPRINT)
                    .cloned()
                    .unwrap_or_default(),
                file: result
                    .properties
                    .get(FILE)
                    .and_then(serde_json::Value::as_str)
                    .unwrap_or_default()
                    .to_owned(),
            });
        }
        Ok(Self {
            known,
            gone_files: FxHashSet::default(),
        })
    }

    /// Finds the files with known results that no longer exist. Until then no file counts as renamed, so that a copy of
    /// an existing file is not taken for it.
    pub fn find_gone_files(&mut self, is_there: impl Fn(&str) -> bool) {
        let files: FxHashSet<&str> = self.known.iter().map(|known| known.file.as_str()).collect();
        let gone = files.into_iter().filter(|file| !file.is_empty() && !is_there(file));
        self.gone_files = gone.map(str::to_owned).collect();
    }

    /// The state of each result, and the known results that are gone. Each result comes with its fingerprint and the
    /// path of its file from the root.
    pub(super) fn judge<'f>(
        &self,
        results: impl IntoIterator<Item = (&'f Finding, &'f Fingerprint, &'f str)>,
    ) -> (Vec<BaselineState>, Vec<BaselineResult>) {
        let results: Vec<_> = results.into_iter().collect();
        let mut left: FxHashMap<&str, Vec<&BaselineResult>> = FxHashMap::default();
        for known in self.known.iter().rev() {
            left.entry(&known.fingerprint).or_default().push(known);
        }
        let mut matched: Vec<bool> = results
            .iter()
            .map(|(_, print, _)| left.get_mut(print.own.as_str()).and_then(Vec::pop).is_some())
            .collect();
        let mut gone: Vec<&BaselineResult> = left.into_values().flatten().collect();
        let fresh = |matched: &[bool]| -> Vec<usize> {
            let open = matched.iter().enumerate().filter(|(_, matched)| !**matched);
            open.map(|(at, _)| at).collect()
        };
        let open: Vec<_> = fresh(&matched)
            .into_iter()
            .filter_map(|at| results.get(at).map(|(_, print, file)| (at, print.line.as_str(), *file)))
            .collect();
        let renamed = self.renamed(&gone, &open);
        for (at, line, file) in open {
            let was = gone
                .iter()
                .position(|known| known.line_fingerprint == line && renamed.get(known.file.as_str()) == Some(&file));
            if let (Some(was), Some(matched)) = (was, matched.get_mut(at)) {
                gone.swap_remove(was);
                *matched = true;
            }
        }
        // A result that is accepted now is not fresh, whatever it was before.
        let state = |((finding, ..), known): (&(&Finding, &Fingerprint, &str), &bool)| match (known, &finding.accepted)
        {
            (true, None) => BaselineState::Unchanged,
            _ => BaselineState::New,
        };
        let states = results.iter().zip(&matched).map(state).collect();
        let mut gone: Vec<BaselineResult> = gone.into_iter().cloned().collect();
        gone.sort_by(|one, other| (&one.address, one.line, &one.rule).cmp(&(&other.address, other.line, &other.rule)));
        (states, gone)
    }

    /// For each file that is gone, the file that it was renamed to: the one with the most of its results, and at least
    /// half of them. Files with results known under their own name are excluded.
    fn renamed<'k>(&self, gone: &[&'k BaselineResult], open: &[(usize, &str, &'k str)]) -> FxHashMap<&'k str, &'k str> {
        let named: FxHashSet<&str> = self.known.iter().map(|known| known.file.as_str()).collect();
        let mut by_line: FxHashMap<&str, Vec<&'k str>> = FxHashMap::default();
        for (_, line, file) in open.iter().filter(|(.., file)| !named.contains(file)) {
            by_line.entry(line).or_default().push(file);
        }
        let mut counts: FxHashMap<&'k str, usize> = FxHashMap::default();
        let mut shared: FxHashMap<(&'k str, &'k str), usize> = FxHashMap::default();
        for known in gone.iter().filter(|known| self.gone_files.contains(&known.file)) {
            *counts.entry(&known.file).or_default() += 1;
            for file in by_line.get(known.line_fingerprint.as_str()).into_iter().flatten() {
                *shared.entry((&known.file, file)).or_default() += 1;
            }
        }
        let mut likely: Vec<(usize, &'k str, &'k str)> = shared
            .into_iter()
            .filter(|((was, _), number)| counts.get(was).is_some_and(|count| number * 2 >= *count))
            .map(|((was, now), number)| (number, was, now))
            .collect();
        likely.sort_by(|one, other| other.0.cmp(&one.0).then((one.1, one.2).cmp(&(other.1, other.2))));
        let mut renamed: FxHashMap<&'k str, &'k str> = FxHashMap::default();
        let mut taken: FxHashSet<&'k str> = FxHashSet::default();
        for (_, was, now) in likely {
            if !renamed.contains_key(was) && taken.insert(now) {
                renamed.insert(was, now);
            }
        }
        renamed
    }
}
