//! Results that appeared, disappeared or changed: by rule, the most severe first, each with its text before and now.

use drysheath_report::comparison::{OfficeRecord, ResultRecord, ResultsRecord};
use drysheath_report::{Comparison, ResultGroup};
use maud::{Markup, html};

use super::differing::marked;
use super::rows::{Budget, missing, table};
use super::searched;

const COLUMNS: [&str; 4] = ["Office", "Place", "Before", "Now"];
/// Rules with more results than this are collapsed.
const OPEN: usize = 12;

/// A section of results. `None` if there are none.
pub fn section<'c>(
    id: &str,
    title: &str,
    comparison: &'c Comparison,
    budget: &mut Budget,
    is_open: bool,
    of: impl Fn(&'c ResultsRecord) -> Vec<&'c ResultRecord>,
) -> Option<Markup> {
    let groups = comparison.result_groups(of);
    let total: usize = groups.iter().map(|group| group.results.len()).sum();
    let mut drawn = Vec::new();
    for group in &groups {
        let is_gone = id == "gone";
        drawn.push(one_rule(group, budget, is_open && group.results.len() <= OPEN, is_gone));
    }
    (total > 0).then(|| {
        html! {
            section.block id=(id) {
                h2 { (title) ": " (total) }
                @for group in drawn { (group) }
            }
        }
    })
}

fn one_rule(group: &ResultGroup<'_>, budget: &mut Budget, is_open: bool, is_gone: bool) -> Markup {
    let worst = group.worst;
    let number = group.results.len();
    // The worst result comes first and is never cut.
    let mut ordered: Vec<&(Option<&OfficeRecord>, &ResultRecord)> = group.results.iter().collect();
    ordered.sort_by_key(|(_, result)| !std::ptr::eq(*result, worst));
    let granted = budget.rows_with_first(number, 1);
    let rows: Vec<Markup> = ordered
        .into_iter()
        .take(granted)
        .map(|(office, result)| row(*office, result, budget, is_gone))
        .collect();
    let count = match (number, group.files) {
        (1, _) => String::new(),
        (number, 1) => format!(": {number} in 1 file"),
        (number, files) => format!(": {number} in {files} files"),
    };
    let cut = number.saturating_sub(granted);
    html! {
        details.group open[is_open] data-holds="" {
            summary {
                span class=(format!("level {}", worst.level)) { (worst.level) } " "
                b { (worst.rule) } (count)
                @if number > 1 { span.soft { " such as " (worst.file) ":" (worst.line) " " (budget.cell(&worst.message)) } }
            }
            (table("results", &format!("{} of {}", worst.level, worst.rule), &COLUMNS, rows))
            (missing(cut, "more result", " of this rule"))
        }
    }
}

fn row(office: Option<&OfficeRecord>, result: &ResultRecord, budget: &Budget, is_gone: bool) -> Markup {
    let level_before = result.level_before.as_deref().map(|level| format!("{level}: "));
    let said = |level: &str, message: &str| budget.cell(&format!("{level}{message}"));
    let message = result.message.as_str();
    let was = match (&result.message_before, &level_before) {
        (None, None) => None,
        (before, level) => Some(said(
            level.as_deref().unwrap_or_default(),
            before.as_deref().unwrap_or(message),
        )),
    };
    let level_now = level_before
        .as_ref()
        .map_or(String::new(), |_| format!("{}: ", result.level));
    let now = said(&level_now, message);
    let (before, after) = if is_gone {
        let why = result.accepted.as_ref().map(|accepted| format!("accepted: {accepted}"));
        (html! { (now) }, html! { (why.unwrap_or_else(|| "–".to_owned())) })
    } else {
        marked(was.as_deref(), Some(&now))
    };
    html! {
        tr data-kind="results" data-level=(result.level) data-office=[office.map(searched)] {
            td data-label=(COLUMNS[0]) { (office.map_or("–", |office| office.office.as_str())) }
            td data-label=(COLUMNS[1]) { code { (result.file) ":" (result.line) } }
            td data-label=(COLUMNS[2]) { (before) }
            td data-label=(COLUMNS[3]) {
                (after)
                @if let (Some(help), false) = (&result.help, is_gone) { p.help { (budget.cell(help)) } }
            }
        }
    }
}
