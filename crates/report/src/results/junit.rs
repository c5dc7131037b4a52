//! The results as `JUnit` XML: a suite for each file, a case for each result.

use drysheath_rules::Level;
use drysheath_text::FileId;
use drysheath_text::safe::{line, terminal};
use quick_junit::{NonSuccessKind, Report, TestCase, TestCaseStatus, TestSuite};
use rustc_hash::FxHashMap;

use super::fingerprint::words_of_line;
use super::{BaselineState, Results};

/// Number of characters of its line in the name of a case.
const LONGEST_NAME: usize = 100;

/// The results as `JUnit` XML. Fresh results at or above the failing level fail; the others pass.
pub fn junit(results: &Results<'_>) -> String {
    let mut report = Report::new("drysheath");
    let mut suites: Vec<TestSuite> = Vec::new();
    let mut names: FxHashMap<(FileId, String), usize> = FxHashMap::default();
    for reported in results.all() {
        let finding = reported.finding;
        let path = &*line(results.path(finding.place.file));
        let message = terminal(&finding.message);
        let region = results.region(finding.place);
        let fails = finding.accepted.is_none()
            && reported.state != Some(BaselineState::Unchanged)
            && finding.level >= results.fail_on;
        let status = if fails {
            let mut status = TestCaseStatus::non_success(NonSuccessKind::Failure);
            status.set_message(message.as_ref()).set_type(finding.level.word());
            if let Some(help) = &finding.help {
                status.set_description(format!("{path}:{}: {message}\n{}", region.start_line, terminal(help)));
            }
            status
        } else {
            TestCaseStatus::success()
        };
        // Hosts identify a case by its name, so it must not change when lines above it do.
        let words = words_of_line(results.text(finding.place.file), finding.place.range.start as usize);
        let words: String = line(&words).chars().take(LONGEST_NAME).collect();
        let name = format!("{}: {words}", finding.rule.name());
        let number = names.entry((finding.place.file, name.clone())).or_insert(0);
        *number += 1;
        let name = match *number {
            1 => name,
            number => format!("{name} ({number})"),
        };
        let mut case = TestCase::new(name, status);
        case.set_classname(path);
        if !fails {
            let why = match (&finding.accepted, reported.state) {
                (Some(accepted), _) => format!("accepted until {}: {}", accepted.until, terminal(&accepted.because)),
                (None, Some(BaselineState::Unchanged)) => "known to the baseline".to_owned(),
                (None, _) => level(finding.level),
            };
            case.set_system_out(format!("{why}: {message}"));
        }
        if suites.last().is_none_or(|suite| suite.name.as_str() != path) {
            suites.push(TestSuite::new(path));
        }
        if let Some(suite) = suites.last_mut() {
            suite.add_test_case(case);
        }
    }
    if suites.is_empty() {
        let mut suite = TestSuite::new("all files");
        suite.add_test_case(TestCase::new(
            format!("{} files without results", results.looked_at),
            TestCaseStatus::success(),
        ));
        suites.push(suite);
    }
    if !results.troubles.is_empty() {
        let mut suite = TestSuite::new("files that cannot be read");
        for trouble in results.troubles {
            let mut status = TestCaseStatus::non_success(NonSuccessKind::Error);
            status.set_message(trouble.to_string());
            suite.add_test_case(TestCase::new(trouble.to_string(), status));
        }
        suites.push(suite);
    }
    report.add_test_suites(suites);
    // The schema that readers use has no `skipped` on the root element; nothing is ever skipped here.
    report.to_string().unwrap_or_default().replacen(" skipped=\"0\"", "", 1)
}

fn level(level: Level) -> String {
    format!("{} below the failing level", level.word())
}
