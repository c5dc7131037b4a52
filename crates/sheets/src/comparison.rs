//! A comparison of two states as one page for a browser: before and now side by side, what got worse first, the
//! pressure along each line that changed, and filters. It is what a reviewer opens beside a pull request.
//!
//! The page is complete without its script, which only filters; it loads nothing, and its policy allows no other
//! script. The number of rows and pictures is limited; the page counts those left out and says how to get them.

mod curve;
mod differing;
mod offices;
mod results;
mod rows;

use drysheath_office::Date;
use drysheath_report::comparison::{OfficeRecord, ResultsRecord};
use drysheath_report::{BriefTable, Comparison, Extent};
use maud::{Markup, html};

use crate::web_page::{Script, web_page};
use rows::{Budget, kinds, missing, table};

const STYLE: &str = include_str!("comparison.css");
const SCRIPT: Script = Script {
    text: include_str!("comparison.js"),
    loads: false,
};

/// A comparison as an HTML document. The brief version has a bounded number of rows and pictures; `command` is the
/// command that writes the full one.
pub fn comparison_page(comparison: &Comparison, date: Date, extent: Extent, command: &str) -> String {
    let mut budget = Budget::new(extent);
    // Sections written first get the budget first: files that could not be compared, then what got worse.
    let not_compared = not_compared(comparison, &mut budget);
    let worse = results::section("worse", "What got worse", comparison, &mut budget, true, |results| {
        results.worse().collect()
    });
    let margins = figures(comparison, &mut budget);
    let shared = offices::shared(comparison, &mut budget);
    let offices = offices::section(comparison, &mut budget);
    let other = results::section(
        "other",
        "Another figure or level",
        comparison,
        &mut budget,
        false,
        |results| {
            let other = results.different.iter();
            other.filter(|result| !result.is_graver()).collect()
        },
    );
    let gone = results::section(
        "gone",
        "Gone",
        comparison,
        &mut budget,
        false,
        |results: &ResultsRecord| results.gone.iter().collect(),
    );
    let left_out = budget.left_out();
    let sections = [not_compared, worse, margins, shared, offices, other, gone];
    let body = html! {
        main {
            h1 { (comparison.title()) }
            p.soft { (date) ". Figures are computed, not measured. Local codes and licensed people govern what is done." }
            ul.headline { @for sentence in comparison.headline() { li { (sentence) } } }
            @for trouble in &comparison.troubles { p.trouble { b { "Not compared: " } (trouble) } }
            @for left_out in &comparison.left_out { p { "Left out: " (left_out) } }
            @if let Some(left_out) = left_out { p.cut { (left_out) ". All of it: " code { (command) } } }
            @if !comparison.is_quiet() {
                (filters())
                @for section in sections.iter().flatten() { (section) }
                p id="nothing" hidden { "No row is left by these filters." }
            }
        }
    };
    let title = format!("Comparison: {}", comparison.title());
    web_page(&title, STYLE, Some(&SCRIPT), &body)
}

/// Filter controls. Hidden until the script runs, since they do nothing without it.
fn filters() -> Markup {
    html! {
        form id="ask" role="search" hidden {
            label.wide { "Office, file or any word" input id="search" type="search" autocomplete="off" spellcheck="false"; }
            label { "Kind of change" select id="kind" { option value="" { "all" } @for (value, said) in kinds() { option value=(value) { (said) } } } }
            label { "Level" select id="level" { option value="" { "all" } @for value in ["error", "warning", "note"] { option value=(value) { (value) } } } }
            p { span id="count" role="status" {} }
        }
    }
}

/// Files that could not be compared, and why. `None` if there are none.
fn not_compared(comparison: &Comparison, budget: &mut Budget) -> Option<Markup> {
    let block = comparison.table_of_not_compared()?;
    Some(html! {
        section.block id="not-compared" {
            h2 { (block.title) ": " (block.total) }
            (block_table("not-compared", &block, budget))
        }
    })
}

/// The tightest margins after the change, and how far predictions moved.
fn figures(comparison: &Comparison, budget: &mut Budget) -> Option<Markup> {
    let blocks = comparison.tables_of_figures();
    (!blocks.is_empty()).then(|| {
        html! {
            section.block {
                h2 { "Margins and predictions" }
                @for block in &blocks { h3 { (block.title) } (block_table("figures", block, budget)) }
            }
        }
    })
}

/// A table whose rows are all of one kind. Rows over budget are counted below it.
fn block_table(kind: &str, block: &BriefTable, budget: &mut Budget) -> Markup {
    let granted = budget.rows(block.rows.len());
    let cut = block.rows.len() - granted;
    let rows = block.rows.iter().take(granted).map(|row| {
        html! {
            tr data-kind=(kind) {
                @for (column, cell) in block.columns.iter().zip(row) { td data-label=(column) { (budget.cell(cell)) } }
            }
        }
    });
    html! {
        @if granted > 0 { (table("figures", &block.title, block.columns, rows.collect())) }
        (missing(cut, "more row", " of this table"))
    }
}

/// Title and file name of an office, for the text filter.
fn searched(office: &OfficeRecord) -> String {
    let title = office.title.as_deref().unwrap_or_default();
    format!("{} {title} {}", office.office, office.file)
}
