//! The results as JSON with a published schema.

use drysheath_rules::Finding;
use drysheath_text::Place;
use schemars::JsonSchema;
use serde::Serialize;

use super::coverage::{self, CoverageRecord, LeftOutByStage};
use super::{BaselineState, ReportedResult, Results};
use crate::document;

/// Value of [`ResultsRecord::form`].
const FORM: u32 = 1;

/// The results of one run.
#[derive(JsonSchema, Serialize)]
struct ResultsRecord<'r> {
    /// The form of this document; it grows when a field is taken away or changes its meaning.
    form: u32,
    /// How many files were looked at.
    files: usize,
    /// What could not be looked at, in words.
    troubles: Vec<String>,
    /// What was left out on request, in words.
    left_out: Option<&'r str>,
    /// How many results there are.
    count: CountRecord,
    /// Whether the run fails.
    fails: bool,
    /// The results, by file and place.
    results: Vec<ResultRecord<'r>>,
    /// What the baseline knows and this run does not give any more.
    gone: Vec<GoneRecord<'r>>,
    /// How much could be checked of the files that were looked at.
    coverage: Vec<CoverageRecord>,
    /// How many things nothing was checked of because of their stage.
    left_out_by_stage: LeftOutByStage,
}

/// How many results there are of each level.
#[derive(JsonSchema, Serialize)]
struct CountRecord {
    /// The number of errors.
    errors: usize,
    /// The number of warnings.
    warnings: usize,
    /// The number of notes.
    notes: usize,
    /// Accepted, of any level.
    accepted: usize,
}

/// One result of a rule.
#[derive(JsonSchema, Serialize)]
struct ResultRecord<'r> {
    /// The name of the rule.
    rule: &'r str,
    /// "error", "warning" or "note".
    level: &'r str,
    /// What is wrong, in a sentence.
    message: &'r str,
    /// How to correct it.
    help: Option<&'r str>,
    /// The place that the result is about.
    place: PlaceRecord<'r>,
    /// The other places that matter.
    related: Vec<RelatedRecord<'r>>,
    /// The edit that corrects it.
    fix: Option<FixRecord<'r>>,
    /// The reason and the last day of its acceptance.
    accepted: Option<AcceptedRecord<'r>>,
    /// "new" or "unchanged" against the baseline, if there was one.
    state: Option<&'r str>,
    /// What distinguishes it from others even if its line moves.
    fingerprint: &'r str,
}

/// A place in a file.
#[derive(JsonSchema, Serialize)]
struct PlaceRecord<'r> {
    /// The file, as it was named.
    file: &'r str,
    /// The line, from 1.
    line: u32,
    /// The column in characters, from 1.
    column: u32,
    /// The line that it ends in.
    end_line: u32,
    /// The column behind its last character.
    end_column: u32,
    /// The byte that it starts at.
    offset: u32,
    /// How many bytes it has.
    length: u32,
}

/// Another place that the result refers to.
#[derive(JsonSchema, Serialize)]
struct RelatedRecord<'r> {
    /// The other place itself.
    place: PlaceRecord<'r>,
    /// A label for that place, as a phrase.
    message: &'r str,
}

/// An edit that corrects a result.
#[derive(JsonSchema, Serialize)]
struct FixRecord<'r> {
    /// What the edit does, in words.
    title: &'r str,
    /// The replaced range, and its replacement.
    edits: Vec<EditRecord<'r>>,
}

/// One replacement of an edit.
#[derive(JsonSchema, Serialize)]
struct EditRecord<'r> {
    /// The text that is replaced.
    place: PlaceRecord<'r>,
    /// What takes the place of that range; empty where it is deleted.
    replacement: &'r str,
}

/// Why and until when a result is accepted.
#[derive(JsonSchema, Serialize)]
struct AcceptedRecord<'r> {
    /// The reason given in the acceptance.
    because: &'r str,
    /// The last day it holds.
    until: String,
}

/// A result that is gone.
#[derive(JsonSchema, Serialize)]
struct GoneRecord<'r> {
    /// The name of the rule.
    rule: &'r str,
    /// The level that it had.
    level: &'r str,
    /// The message that it had.
    message: &'r str,
    /// The file, as an address.
    address: &'r str,
    /// The line, from 1.
    line: u32,
}

/// The results as a JSON document.
pub fn json(results: &Results<'_>) -> String {
    let count = results.count();
    let record = ResultsRecord {
        form: FORM,
        files: results.looked_at,
        troubles: results.troubles.iter().map(ToString::to_string).collect(),
        left_out: results.left_out,
        count: CountRecord {
            errors: count.errors,
            warnings: count.warnings,
            notes: count.notes,
            accepted: count.accepted,
        },
        fails: results.fails(),
        results: results.all().map(|reported| result(results, reported)).collect(),
        gone: results
            .gone()
            .iter()
            .map(|known| GoneRecord {
                rule: &known.rule,
                level: &known.level,
                message: &known.message,
                address: &known.address,
                line: known.line,
            })
            .collect(),
        coverage: coverage::records(&results.coverage),
        left_out_by_stage: coverage::by_stage(&results.coverage),
    };
    document::json(&record)
}

fn result<'r>(results: &'r Results<'_>, reported: ReportedResult<'r>) -> ResultRecord<'r> {
    let finding: &Finding = reported.finding;
    let place = |place| place_record(results, place);
    ResultRecord {
        rule: finding.rule.name(),
        level: finding.level.word(),
        message: &finding.message,
        help: finding.help.as_deref(),
        place: place(finding.place),
        related: finding
            .related
            .iter()
            .map(|related| RelatedRecord {
                place: place(related.place),
                message: related.label.as_str(),
            })
            .collect(),
        fix: finding.fix.as_ref().map(|fix| FixRecord {
            title: &fix.title,
            edits: fix
                .edits
                .iter()
                .map(|edit| EditRecord {
                    place: place(Place {
                        file: finding.place.file,
                        range: edit.range,
                    }),
                    replacement: &edit.replacement,
                })
                .collect(),
        }),
        accepted: finding.accepted.as_ref().map(|accepted| AcceptedRecord {
            because: &accepted.because,
            until: accepted.until.to_string(),
        }),
        state: reported.state.map(|state| match state {
            BaselineState::New => "new",
            BaselineState::Unchanged => "unchanged",
        }),
        fingerprint: results.fingerprint(reported),
    }
}

fn place_record<'r>(results: &'r Results<'_>, place: Place) -> PlaceRecord<'r> {
    let region = results.region(place);
    PlaceRecord {
        file: results.path(place.file),
        line: region.start_line,
        column: region.start_column,
        end_line: region.end_line,
        end_column: region.end_column,
        offset: region.byte_offset,
        length: region.byte_length,
    }
}

/// The JSON Schema of [`json`].
pub fn results_schema() -> String {
    document::schema::<ResultsRecord<'static>>()
}
