//! The results as Markdown for a comment on a pull request.

use drysheath_rules::Level;
use drysheath_text::safe;

use super::{BaselineState, ReportedResult, Results, coverage};
use crate::page::Page;
use crate::plural::several;

const COLUMNS: [&str; 4] = ["level", "place", "what", "rule"];

/// The results as Markdown: new, gone and unchanged ones with their places. Under 60,000 characters; results that do
/// not fit are counted.
pub fn markdown(results: &Results<'_>) -> String {
    let mut page = Page::comment();
    let reported: Vec<ReportedResult<'_>> = results
        .all()
        .filter(|reported| reported.finding.accepted.is_none())
        .collect();
    let (known, fresh): (Vec<_>, Vec<_>) = reported
        .into_iter()
        .partition(|reported| reported.state == Some(BaselineState::Unchanged));
    page.line(&format!("## drysheath: {}\n", verdict(results, fresh.len())));
    if let Some(left_out) = results.left_out {
        page.line(&format!("{}\n", safe::markdown(left_out)));
    }
    if let Some(checked) = results.checked() {
        page.line(&format!("{}\n", safe::markdown(&checked)));
    }
    page.folded("Comparisons", &coverage::COLUMNS, &coverage::rows(&results.coverage));
    let title = if results.has_baseline() { "New" } else { "Results" };
    page.table(title, &COLUMNS, &rows(results, &fresh));
    let gone: Vec<Vec<String>> = results
        .gone()
        .iter()
        .map(|known| {
            let place = format!("`{}:{}`", known.address, known.line);
            vec![known.level.clone(), place, known.message.clone(), known.rule.clone()]
        })
        .collect();
    page.table("Gone", &COLUMNS, &gone);
    page.folded("As before", &COLUMNS, &rows(results, &known));
    if !results.troubles.is_empty() {
        page.line("### Not looked at\n");
        for trouble in results.troubles {
            page.line(&format!("* {}", safe::markdown(&trouble.to_string())));
        }
    }
    page.finish("drysheath lint")
}

fn verdict(results: &Results<'_>, fresh: usize) -> String {
    let files = several(results.looked_at, "file");
    let new = if results.has_baseline() { " new" } else { "" };
    let failing = results
        .fresh()
        .filter(|reported| reported.finding.level >= results.fail_on)
        .count();
    match (fresh, failing) {
        (0, _) => format!("nothing{new} in {files}"),
        (_, 0) => format!("{}{new} in {files}, none of which fails", several(fresh, "result")),
        _ => format!(
            "{}{new} in {files}, {failing} at or above *{}*",
            several(fresh, "result"),
            results.fail_on.word()
        ),
    }
}

fn rows(results: &Results<'_>, reported: &[ReportedResult<'_>]) -> Vec<Vec<String>> {
    let mut rows: Vec<(Level, Vec<String>)> = reported
        .iter()
        .map(|reported| {
            let region = results.region(reported.finding.place);
            let help = reported
                .finding
                .help
                .as_ref()
                .map_or(String::new(), |help| format!("; {help}"));
            let related = reported.finding.related.first().map_or(String::new(), |related| {
                let line = results.region(related.place).start_line;
                format!(
                    "; see `{}:{line}`: {}",
                    results.path(related.place.file),
                    related.label.as_str()
                )
            });
            let fix = reported.finding.fix.as_ref().map_or(String::new(), |fix| {
                let by = if reported.finding.certain_fix().is_some() {
                    ", made by `lint --fix`"
                } else {
                    ""
                };
                format!("; fix{by}: {}", fix.title)
            });
            let place = format!("`{}:{}`", results.path(reported.finding.place.file), region.start_line);
            let row = vec![
                reported.finding.level.word().to_owned(),
                place,
                format!("{}{related}{help}{fix}", reported.finding.message),
                reported.finding.rule.name().to_owned(),
            ];
            (reported.finding.level, row)
        })
        .collect();
    rows.sort_by_key(|(level, _)| std::cmp::Reverse(*level));
    rows.into_iter().map(|(_, row)| row).collect()
}
