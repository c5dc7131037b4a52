//! A sheet as an HTML document without scripts or external resources.

use drysheath_office::Date;
use maud::{Markup, html};

use crate::drawings::STYLE;
use crate::metric::TextStyle;
use crate::page::Page;
use crate::web_page::web_page;

/// Height used on the first page by the office name and the contents, in CSS pixels.
pub const TITLE: f64 = 90.0;
/// Running head of a page.
const HEAD: TextStyle = TextStyle { size: 12.0, bold: true };

/// Text repeated on every page.
pub struct RunningHead {
    pub office: String,
    pub site: Option<String>,
    pub date: Date,
    pub revision: Option<String>,
    /// Revision that a work order is based on.
    pub since: Option<String>,
}

/// Document with the given pages.
pub fn document(running: &RunningHead, pages: &[Page]) -> String {
    let number = pages.len();
    let title = match &running.site {
        Some(site) => format!("{} ({site})", running.office),
        None => running.office.clone(),
    };
    let body = html! {
        main {
            @for (at, page) in pages.iter().enumerate() {
                (one(running, &title, page, at, number, pages))
            }
        }
    };
    web_page(&format!("Sheets: {title}"), STYLE, None, &body)
}

fn one(running: &RunningHead, title: &str, page: &Page, at: usize, number: usize, pages: &[Page]) -> Markup {
    let revision = running
        .revision
        .as_deref()
        .map_or(String::new(), |revision| format!(" · revision {revision}"));
    let order = running
        .since
        .as_deref()
        .map_or(String::new(), |since| format!(" · work order since {since}"));
    let is_first = at == 0;
    html! {
        section.page aria-label=(format!("page {} of {number}", at + 1)) {
            div.running {
                p { b { (shortened(title, 400.0)) } span { "page " (at + 1) " of " (number) } }
                p { (shortened(&format!("{}{revision}{order}", running.date), 480.0)) span { "computed, not measured" } }
                p.govern { "Local codes and licensed people govern what is done." }
            }
            div.body {
                @if is_first { h1 { (shortened(title, 660.0)) } }
                h2 id=[page.id] { (page.title) @if page.id.is_none() { ", continued" } }
                @if is_first { (contents(pages)) }
                (page.body)
            }
            div.cautions { p { (drysheath_report::CAUTIONS) } }
        }
    }
}

/// Table of contents: the first page of each part.
fn contents(pages: &[Page]) -> Markup {
    html! {
        nav aria-label="contents" {
            ul {
                @for (at, page) in pages.iter().enumerate().skip(1) {
                    @if let Some(id) = page.id { li { a href=(format!("#{id}")) { (page.title) } " " (at + 1) } }
                }
            }
        }
    }
}

/// As much of a text as fits into one line; the first page has the full text.
fn shortened(text: &str, width: f64) -> String {
    let mut lines = HEAD.wrap(text, width).into_iter();
    match (lines.next(), lines.next()) {
        (Some(line), Some(_)) => format!("{line} …"),
        (line, _) => line.unwrap_or_default(),
    }
}
