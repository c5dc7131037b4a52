//! The results as a SARIF 2.1.0 log (OASIS), with the objects of the standard that are used.

use drysheath_rules::{Check, RULES, Rule, RuleId};
use drysheath_text::Place;
use serde_json::{Value, json};

use super::baseline::{FILE, FINGERPRINT, LEFT_OUT, LINE_FINGERPRINT};
use super::fingerprint::hash;
use super::{BaselineState, ReportedResult, Results, Trouble, address, coverage};
use crate::document;
use crate::extent::Extent;
use crate::plural::several;
use crate::rule_page;

/// The schema of the standard.
const SCHEMA: &str = "https://json.schemastore.org/sarif-2.1.0.json";
/// Base of relative URIs.
const BASE: &str = "ROOT";

/// GitHub code scanning accepts this many results in a run and refuses a log with more. Source: "SARIF results exceed
/// one or more limits", docs.github.com, code security, "Results per run".
const MOST_RESULTS: usize = 25_000;
/// It shows this many locations of a result, and refuses more than 1,000. Source: the same table, "Location per
/// result".
const MOST_RELATED: usize = 99;

/// The results as a SARIF log. Paths are relative to the working directory. The brief log is limited to the results
/// that hosts accept: sorted by level, then new ones first.
pub fn sarif(results: &Results<'_>, extent: Extent) -> String {
    let (kept, left_out) = kept(results, extent);
    let room = match extent {
        Extent::Full => usize::MAX,
        Extent::Brief => MOST_RESULTS - kept.len().min(MOST_RESULTS),
    };
    let left_out = left_out + results.gone().len().saturating_sub(room);
    let mut reported: Vec<Value> = kept.iter().map(|reported| result(results, *reported)).collect();
    reported.extend(results.gone().iter().take(room).map(|known| {
        json!({
            "ruleId": known.rule,
            "level": known.level,
            "message": { "text": known.message },
            "locations": [{ "physicalLocation": {
                "artifactLocation": { "uri": known.address, "uriBaseId": BASE },
                "region": { "startLine": known.line.max(1) },
            }}],
            "partialFingerprints": { FINGERPRINT: known.fingerprint, LINE_FINGERPRINT: known.line_fingerprint },
            "properties": { FILE: known.file },
            "baselineState": "absent",
        })
    }));
    let log = json!({
        "$schema": SCHEMA,
        "version": "2.1.0",
        "runs": [{
            "tool": { "driver": {
                "name": "drysheath",
                // The documentation comes with the tool, like the rule pages.
                "informationUri": "urn:drysheath:manual",
                "semanticVersion": env!("CARGO_PKG_VERSION"),
                "rules": rules().map(descriptor).collect::<Vec<_>>(),
            }},
            "columnKind": "unicodeCodePoints",
            "originalUriBaseIds": { BASE: { "description": { "text": "The folder that the command was run in." } } },
            "artifacts": artifacts(results, &kept),
            "invocations": [invocation(results, left_out)],
            "results": reported,
            "properties": { "coverage": coverage::records(&results.coverage), LEFT_OUT: left_out },
        }],
    });
    document::json(&log)
}

/// The results to write, in order, and the number of those left out.
fn kept<'r>(results: &'r Results<'_>, extent: Extent) -> (Vec<ReportedResult<'r>>, usize) {
    let mut all: Vec<(usize, ReportedResult<'r>)> = results.all().enumerate().collect();
    let most = match extent {
        Extent::Brief => MOST_RESULTS,
        Extent::Full => usize::MAX,
    };
    let left_out = all.len().saturating_sub(most);
    if left_out > 0 {
        let weight = |told: &ReportedResult<'_>| {
            let is_open = told.finding.accepted.is_none();
            let is_new = told.state != Some(BaselineState::Unchanged);
            std::cmp::Reverse((is_open, told.finding.level, is_new))
        };
        all.sort_by_key(|(at, told)| (weight(told), *at));
        all.truncate(most);
        all.sort_by_key(|(at, _)| *at);
    }
    (all.into_iter().map(|(_, told)| told).collect(), left_out)
}

/// The rules that can give a result: the hand-over rules run only for records.
fn rules() -> impl Iterator<Item = &'static Rule> {
    RULES
        .into_iter()
        .filter(|rule| !matches!(rule.check, Check::HandOver(_)))
}

fn descriptor(rule: &Rule) -> Value {
    let explanation = rule.explanation.split_whitespace().collect::<Vec<_>>().join(" ");
    json!({
        "id": rule.name(),
        "shortDescription": { "text": rule.summary },
        "fullDescription": { "text": explanation },
        "help": {
            "text": format!("{explanation} Source: {}.", rule.source),
            "markdown": rule_page(rule),
        },
        // The page is in the log and in `drysheath rules NAME`, so it needs no URL.
        "helpUri": format!("urn:drysheath:rule:{}", rule.name()),
        "defaultConfiguration": { "level": rule.level.word() },
        "relationships": relationships(rule),
        "properties": { "tags": [rule.family.word()] },
    })
}

/// The rules that a rule yields to.
fn relationships(rule: &Rule) -> Vec<Value> {
    let related = rule.gives_way().flat_map(|(others, shared)| {
        others.iter().map(move |other| {
            json!({
                "target": { "id": other.name(), "index": index_of(*other) },
                "kinds": ["relevant"],
                "description": { "text": format!("Nothing is reported where {} has a result {shared}.", other.name()) },
            })
        })
    });
    related.collect()
}

/// Index of a rule among those of the log.
fn index_of(id: RuleId) -> Option<usize> {
    rules().position(|rule| rule.id == id)
}

fn artifacts(results: &Results<'_>, kept: &[ReportedResult<'_>]) -> Vec<Value> {
    let files = results.spoken_of(kept.iter()).into_iter();
    files
        .map(|file| {
            let text = results.text(file);
            json!({
                "location": location(results.path(file)),
                "roles": ["analysisTarget"],
                "length": text.len(),
                "encoding": "UTF-8",
                "hashes": { "sha-256": hash(text.as_bytes()) },
            })
        })
        .collect()
}

fn invocation(results: &Results<'_>, cut: usize) -> Value {
    let mut notifications: Vec<Value> = results.troubles.iter().map(notification).collect();
    notifications.extend(
        results
            .left_out
            .map(|left_out| json!({ "level": "note", "message": { "text": left_out } })),
    );
    if cut > 0 {
        let told = format!(
            "{} left out, since hosts refuse a run with more than {MOST_RESULTS}: the gravest are here. `drysheath lint --all \
             --output sarif` writes them all.",
            several(cut, "result")
        );
        notifications.push(json!({ "level": "warning", "message": { "text": told } }));
    }
    json!({
        "executionSuccessful": results.troubles.is_empty(),
        "toolExecutionNotifications": notifications,
    })
}

fn notification(trouble: &Trouble) -> Value {
    let locations = trouble
        .path
        .iter()
        .map(|path| json!({ "physicalLocation": { "artifactLocation": location(path) } }));
    json!({
        "level": "error",
        "message": { "text": trouble.to_string() },
        "locations": locations.collect::<Vec<_>>(),
    })
}

/// Location of a file: relative to the base, unless its path is absolute.
fn location(path: &str) -> Value {
    let is_whole = path.starts_with('/') || path.get(1..3).is_some_and(|rest| rest == ":\\" || rest == ":/");
    if is_whole {
        let slash = if path.starts_with('/') { "" } else { "/" };
        json!({ "uri": format!("file://{slash}{}", address(path)) })
    } else {
        json!({ "uri": address(path), "uriBaseId": BASE })
    }
}

fn physical(results: &Results<'_>, place: Place) -> Value {
    json!({
        "artifactLocation": location(results.path(place.file)),
        "region": region(results, place),
    })
}

fn region(results: &Results<'_>, place: Place) -> Value {
    let region = results.region(place);
    json!({
        "startLine": region.start_line,
        "startColumn": region.start_column,
        "endLine": region.end_line,
        "endColumn": region.end_column,
        "charOffset": region.char_offset,
        "charLength": region.char_length,
        "byteOffset": region.byte_offset,
        "byteLength": region.byte_length,
    })
}

fn result(results: &Results<'_>, reported: ReportedResult<'_>) -> Value {
    let finding = reported.finding;
    let text = match &finding.help {
        Some(help) => format!("{}. {}.", sentence(&finding.message), sentence(help)),
        None => format!("{}.", sentence(&finding.message)),
    };
    let mut value = json!({
        "ruleId": finding.rule.name(),
        "ruleIndex": index_of(finding.rule.id),
        "level": finding.level.word(),
        "message": { "text": text },
        "locations": [{ "physicalLocation": physical(results, finding.place) }],
        "partialFingerprints": { FINGERPRINT: results.fingerprint(reported), LINE_FINGERPRINT: results.line_fingerprint(reported) },
        "properties": { FILE: results.path_from_root(finding.place.file) },
    });
    let mut put = |key: &str, more: Value| {
        if let Some(object) = value.as_object_mut() {
            object.insert(key.to_owned(), more);
        }
    };
    if !finding.related.is_empty() {
        let related = (1..=MOST_RELATED).zip(&finding.related).map(|(id, related)| {
            json!({
                "id": id,
                "physicalLocation": physical(results, related.place),
                "message": { "text": related.label.as_str() },
            })
        });
        put("relatedLocations", related.collect());
    }
    if let Some(fix) = &finding.fix {
        let replacements = fix.edits.iter().map(|edit| {
            let place = Place {
                file: finding.place.file,
                range: edit.range,
            };
            json!({
                "deletedRegion": region(results, place),
                "insertedContent": { "text": edit.replacement },
            })
        });
        put(
            "fixes",
            json!([{
                "description": { "text": fix.title },
                "artifactChanges": [{
                    "artifactLocation": location(results.path(finding.place.file)),
                    "replacements": replacements.collect::<Vec<_>>(),
                }],
            }]),
        );
    }
    if let Some(accepted) = &finding.accepted {
        put(
            "suppressions",
            json!([{
                "kind": "inSource",
                "status": "accepted",
                "justification": format!("{} (until {})", accepted.because, accepted.until),
            }]),
        );
    }
    if let Some(state) = reported.state {
        let word = match state {
            BaselineState::New => "new",
            BaselineState::Unchanged => "unchanged",
        };
        put("baselineState", json!(word));
    }
    value
}

/// A message as SARIF viewers show it: capitalized, without its own full stop.
fn sentence(text: &str) -> String {
    let text = text.trim().trim_end_matches('.');
    let mut characters = text.chars();
    match characters.next() {
        Some(first) => first.to_uppercase().chain(characters).collect(),
        None => String::new(),
    }
}
