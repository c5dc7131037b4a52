//! A SARIF log of an earlier run, which separates known results from new ones.

use drysheath_rules::Finding;
use rustc_hash::FxHashMap;
use serde::Deserialize;

use super::State;

/// The name under which a log has a result's fingerprint.
pub(super) const FINGERPRINT: &str = "drysheath/v1";

/// What an earlier run gave.
#[derive(Clone, Debug, Default)]
pub struct Baseline {
    known: Vec<Known>,
}

/// A result of an earlier run.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Known {
    /// The name of the rule.
    pub rule: String,
    /// The level that it had.
    pub level: String,
    /// The message that it had.
    pub message: String,
    /// The file, as an address.
    pub address: String,
    /// The line, from 1.
    pub line: u32,
    /// What distinguishes it from others.
    pub fingerprint: String,
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
    /// In words, if it is not one.
    pub fn read(text: &str) -> Result<Self, String> {
        let log: Log = serde_json::from_str(text).map_err(|error| format!("this is not a SARIF log: {error}"))?;
        if log.version != "2.1.0" {
            return Err(format!("this is SARIF {}; only 2.1.0 can be read", log.version));
        }
        let results = log.runs.into_iter().flat_map(|run| run.results);
        // What was gone then, or accepted, is not known to have been there.
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
            known.push(Known {
                rule: result.rule_id.unwrap_or_default(),
                level: result.level.unwrap_or_else(|| "warning".to_owned()),
                message: result.message.text,
                address,
                line,
                fingerprint: fingerprint.clone(),
            });
        }
        Ok(Self { known })
    }

    /// Whether each result is in the baseline, and what the baseline knows that is not there any more.
    pub(super) fn judge<'f>(
        &self,
        results: impl IntoIterator<Item = (&'f Finding, &'f String)>,
    ) -> (Vec<State>, Vec<Known>) {
        let mut left: FxHashMap<&str, Vec<&Known>> = FxHashMap::default();
        for known in self.known.iter().rev() {
            left.entry(&known.fingerprint).or_default().push(known);
        }
        let mut states = Vec::new();
        for (finding, fingerprint) in results {
            // What is accepted now is not fresh, whatever it was before.
            let known = left.get_mut(fingerprint.as_str()).and_then(Vec::pop);
            let is_known = known.is_some() && finding.accepted.is_none();
            states.push(if is_known { State::Unchanged } else { State::New });
        }
        let mut gone: Vec<Known> = left.into_values().flatten().cloned().collect();
        gone.sort_by(|one, other| (&one.address, one.line, &one.rule).cmp(&(&other.address, other.line, &other.rule)));
        (states, gone)
    }
}
