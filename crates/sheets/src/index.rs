//! Index of a folder of sheets: a page to search offices by name, site or any word, and to sort and filter them.

use std::fmt::Write;

use drysheath_engineering::units::Dimension;
use drysheath_office::kinds::Key;
use drysheath_office::{Date, Field, Fields, Value};
use drysheath_rules::{Level, ResultCount};
use maud::{PreEscaped, html};
use serde::Serialize;

use crate::Subject;
use crate::facts::Facts;
use crate::since::Marks;
use crate::web_page::{Script, web_page};

const STYLE: &str = include_str!("index.css");
const SCRIPT: Script = Script {
    text: include_str!("index.js"),
    loads: true,
};
/// Number of offices per file of search text, which keeps each file to a few megabytes.
const IN_FILE: usize = 2_000;
/// Base name of the files with search text.
const TEXTS: &str = "index-text";

/// An office of the index.
#[derive(Clone, Debug, Serialize)]
pub struct OfficeEntry {
    name: String,
    title: Option<String>,
    site: Option<String>,
    /// File of its sheets, relative to the folder of the index.
    file: String,
    href: String,
    stage: &'static str,
    level: &'static str,
    errors: usize,
    warnings: usize,
    notes: usize,
    /// Smallest margin of the pressure over the least pressure, Pa.
    margin: Option<f64>,
    shown: Option<String>,
    /// Pressure unit of the office, and the value of 1 Pa in it.
    #[serde(skip)]
    unit: (&'static str, f64),
    /// Text to search, in lower case.
    #[serde(skip)]
    text: String,
}

/// Index entry of an office whose sheets are in `file`, relative to the folder of the index.
pub fn entry(subject: &Subject<'_>, file: &str) -> OfficeEntry {
    let facts = Facts::new(subject.view, Marks::default());
    let office = facts.office;
    let itself = office.itself.map(|id| office.thing(id));
    let count = ResultCount::of(subject.findings);
    let routes = facts.prediction.air.lines().iter();
    let margins = routes
        .flat_map(|route| facts.explainer.sections(route))
        .filter_map(|section| section.margin());
    let margin = margins.reduce(f64::min);
    let (one, unit) = facts.units.figure(Dimension::Pressure, 1.0);
    let mut text = String::new();
    for (id, thing) in subject.whole.things() {
        let _ = writeln!(text, "{}", subject.whole.name(id));
        collect(thing.fields(), &mut text);
    }
    OfficeEntry {
        name: office.itself.map_or("", |id| office.name(id)).to_owned(),
        title: itself.and_then(|office| office.text(Key::Title)).map(str::to_owned),
        site: itself.and_then(|office| office.text(Key::Site)).map(str::to_owned),
        file: file.to_owned(),
        href: address(file),
        stage: office.stage().word(),
        level: count.gravest().map_or("none", Level::word),
        errors: count.errors,
        warnings: count.warnings,
        notes: count.notes,
        margin,
        shown: margin.map(|pascals| facts.figure(Dimension::Pressure, pascals)),
        unit: (unit, one),
        text: text.to_lowercase(),
    }
}

/// Collects all free text of the file: titles, notes, models, record fields.
fn collect(fields: &[Field], text: &mut String) {
    for field in fields {
        let _ = match &field.value {
            Value::Text(said) => writeln!(text, "{said}"),
            Value::Record(record) => writeln!(text, "{}", record.text),
            Value::Link { to, .. } => writeln!(text, "{to}"),
            Value::Named { name, fields, .. } => {
                let _ = writeln!(text, "{name}");
                collect(fields, text);
                Ok(())
            }
            Value::Group(fields) => {
                collect(fields, text);
                Ok(())
            }
            _ => Ok(()),
        };
    }
}

/// Relative URL of a file (RFC 3986). Every byte that is not unreserved is percent-encoded, so that no name can be
/// taken for a scheme.
fn address(file: &str) -> String {
    let mut address = String::from("./");
    for byte in file.bytes() {
        if byte.is_ascii_alphanumeric() || matches!(byte, b'-' | b'.' | b'_' | b'~' | b'/') {
            address.push(char::from(byte));
        } else {
            let _ = write!(address, "%{byte:02X}");
        }
    }
    address
}

#[derive(Serialize)]
struct Data<'e> {
    stages: [&'static str; 3],
    /// Value of 1 Pa in the unit of the margin filter.
    scale: f64,
    texts: Vec<String>,
    offices: &'e [OfficeEntry],
}

/// Files of the index: names and contents.
pub fn index(entries: &[OfficeEntry], date: Date) -> Vec<(String, String)> {
    let texts: Vec<String> = (0..entries.len().div_ceil(IN_FILE))
        .map(|number| format!("{TEXTS}-{number}.js"))
        .collect();
    // The margin filter uses one unit: that of the first office.
    let (unit, scale) = entries.first().map_or(("", 1.0), |entry| entry.unit);
    let listed = Data {
        stages: ["planned", "installed", "in-service"],
        scale,
        texts: texts.clone(),
        offices: entries,
    };
    let json = script_json(&listed);
    let body = html! {
        main {
            h1 { "Offices and their sheets" }
            p.soft { "Computed " (date) ", not measured. Local codes and licensed people govern what is done." }
            form id="ask" role="search" {
                label.wide { "Name, site or any word of the file" input id="search" type="search" autocomplete="off" spellcheck="false"; }
                label { "Stage" select id="stage" { option value="" { "all" } @for stage in listed.stages { option value=(stage) { (stage) } } } }
                label { "Gravest result" select id="level" {
                    option value="" { "all" }
                    @for (value, said) in [("error", "error"), ("warning", "warning"), ("note", "note"), ("none", "no result")] { option value=(value) { (said) } }
                } }
                label { "Least margin below" @if !unit.is_empty() { ", " (unit) } input id="margin" type="number" step="any" inputmode="decimal"; }
            }
            p { span id="count" role="status" {} " " span.soft id="texts" {} }
            noscript { p { "This page searches with a script. The sheets themselves are the HTML files beside it and need none." } }
            table aria-label="offices" {
                thead { tr {
                    @for (key, title) in [("name", "Office"), ("site", "Site"), ("stage", "Stage"), ("level", "Results"), ("margin", "Least margin")] {
                        th scope="col" class=(key) data-key=(key) { button type="button" { (title) } }
                    }
                } }
                tbody id="rows" {}
            }
            p { button id="more" type="button" hidden { "Show more" } }
            p.soft { "The least margin is what the computed pressure has over the least pressure of a section, where that is least." }
        }
        script id="offices" type="application/json" { (PreEscaped(json)) }
    };
    let page = web_page("Offices and their sheets", STYLE, Some(&SCRIPT), &body);
    let mut files = vec![("index.html".to_owned(), page)];
    for ((name, entries), number) in texts.into_iter().zip(entries.chunks(IN_FILE)).zip(0..) {
        let texts: Vec<&str> = entries.iter().map(|entry| entry.text.as_str()).collect();
        files.push((
            name,
            format!("drysheathTexts({}, {});\n", number * IN_FILE, script_json(&texts)),
        ));
    }
    files
}

/// JSON that is safe inside an HTML script element: it cannot close the element, start a comment or contain invisible
/// characters.
fn script_json(value: &impl Serialize) -> String {
    // serde_json only refuses maps whose keys are not strings.
    let json = serde_json::to_string(value).unwrap_or_else(|_| "null".to_owned());
    drysheath_text::safe::json(&json)
        .replace('<', "\\u003c")
        .replace('>', "\\u003e")
        .replace('&', "\\u0026")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_address_leads_to_its_file_and_nowhere_else() {
        assert_eq!(address("offices/elm-hollow.html"), "./offices/elm-hollow.html");
        assert_eq!(address("javascript:alert(1).html"), "./javascript%3Aalert%281%29.html");
        assert_eq!(address("a b/ü#?.html"), "./a%20b/%C3%BC%23%3F.html");
    }

    #[test]
    fn json_cannot_end_its_script() {
        assert_eq!(script_json(&"</script><!--"), "\"\\u003c/script\\u003e\\u003c!--\"");
    }
}
