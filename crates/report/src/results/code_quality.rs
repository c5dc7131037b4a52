//! The results as a Code Quality report of GitLab. Source: "Code Quality", docs.gitlab.com, "Code Quality report
//! format": an array of objects with `description`, `check_name`, `fingerprint`, `severity` (info, minor, major,
//! critical or blocker) and `location.path` with `location.lines.begin`.

use drysheath_rules::Level;
use drysheath_text::safe::line;
use serde_json::{Value, json};

use super::{ReportedResult, Results};
use crate::document;

/// The report of results that are neither accepted nor in the baseline. The host compares reports of two branches by
/// fingerprint.
pub fn code_quality(results: &Results<'_>) -> String {
    document::json(
        &results
            .fresh()
            .map(|told| issue(results, &told))
            .collect::<Vec<Value>>(),
    )
}

fn issue(results: &Results<'_>, told: &ReportedResult<'_>) -> Value {
    let finding = told.finding;
    let region = results.region(finding.place);
    let help = finding.help.as_ref().map_or(String::new(), |help| format!("; {help}"));
    let path = results.path(finding.place.file).replace('\\', "/");
    json!({
        "description": line(&format!("{}{help}", finding.message)),
        "check_name": finding.rule.name(),
        "fingerprint": results.fingerprint(*told),
        "severity": match finding.level {
            Level::Error => "major",
            Level::Warning => "minor",
            Level::Note => "info",
        },
        "location": {
            // The host expects paths from the root of the repository.
            "path": path.strip_prefix("./").unwrap_or(&path),
            "lines": { "begin": region.start_line, "end": region.end_line },
        },
    })
}
