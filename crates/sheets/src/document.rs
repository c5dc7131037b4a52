//! A sheet as an HTML document: nothing in it runs, and it asks for nothing.

use drysheath_office::Date;
use maud::{DOCTYPE, Markup, PreEscaped, html};
use sha2::{Digest, Sha256};

use crate::drawings::STYLE;
use crate::metric::Type;
use crate::page::Page;

/// What the name of the office and the contents take of the first page, in CSS pixels.
pub const TITLE: f64 = 90.0;
/// The running head of a page.
const HEAD: Type = Type { size: 12.0, bold: true };

/// What stands on every page.
pub struct Running {
    pub office: String,
    pub site: Option<String>,
    pub date: Date,
    pub revision: Option<String>,
    /// The revision that a work order starts from.
    pub since: Option<String>,
}

/// The policy of a document with one style and no script: whatever else a title or note could smuggle in would not run.
pub fn policy(style: &str) -> String {
    format!(
        "default-src 'none'; style-src 'sha256-{}'; base-uri 'none'; form-action 'none'",
        hash(style)
    )
}

/// The digest by which a policy names a style or script (Content Security Policy level 3): SHA-256 in base64.
pub fn hash(text: &str) -> String {
    base64(&Sha256::digest(text.as_bytes()))
}

/// Base64 by RFC 4648, section 4.
pub fn base64(bytes: &[u8]) -> String {
    const ALPHABET: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut text = String::new();
    for chunk in bytes.chunks(3) {
        let group = chunk.iter().fold(0u32, |group, byte| group << 8 | u32::from(*byte)) << (8 * (3 - chunk.len()));
        for at in 0..4 {
            let six = (group >> (18 - 6 * at)) & 63;
            let letter = ALPHABET.get(six as usize).filter(|_| at <= chunk.len());
            text.push(letter.map_or('=', |letter| char::from(*letter)));
        }
    }
    text
}

/// The document of some pages.
pub fn document(running: &Running, pages: &[Page]) -> String {
    let number = pages.len();
    let title = match &running.site {
        Some(site) => format!("{} ({site})", running.office),
        None => running.office.clone(),
    };
    let markup = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta http-equiv="Content-Security-Policy" content=(policy(STYLE));
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="referrer" content="no-referrer";
                title { "Sheets: " (title) }
                style { (PreEscaped(STYLE)) }
            }
            body {
                main {
                    @for (at, page) in pages.iter().enumerate() {
                        (one(running, &title, page, at, number, pages))
                    }
                }
            }
        }
    };
    // No control character and nothing invisible is our own: what an office smuggled in shows as what it is.
    drysheath_text::safe::xml(&markup.into_string()).into_owned()
}

fn one(running: &Running, title: &str, page: &Page, at: usize, number: usize, pages: &[Page]) -> Markup {
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

/// On which page each part begins.
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

/// As much of a text as fits into one line; the first page has the whole of it.
fn shortened(text: &str, width: f64) -> String {
    let mut lines = HEAD.wrap(text, width).into_iter();
    match (lines.next(), lines.next()) {
        (Some(line), Some(_)) => format!("{line} …"),
        (line, _) => line.unwrap_or_default(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn base64_is_that_of_rfc_4648() {
        // RFC 4648, section 10.
        let examples = [
            ("", ""),
            ("f", "Zg=="),
            ("fo", "Zm8="),
            ("foo", "Zm9v"),
            ("foob", "Zm9vYg=="),
            ("fooba", "Zm9vYmE="),
            ("foobar", "Zm9vYmFy"),
        ];
        for (text, encoded) in examples {
            assert_eq!(base64(text.as_bytes()), encoded);
        }
    }
}
