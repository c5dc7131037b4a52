//! A comparison for a terminal.

use std::fmt::Write;

use drysheath_text::safe::terminal;

use super::headline::{figure, figure_name, headline, least_margin, message, said, title, words};
use super::record::{Comparison, FigureRecord, OfficeRecord, ResultsRecord, What};
use crate::plural::several;

/// Of offices that parts or settings alone reach, no more than these are listed one by one.
const MOST_TOUCHED: usize = 50;

impl Comparison {
    /// The comparison for a terminal: first what takes ten seconds to read.
    pub fn text(&self) -> String {
        let mut out = format!("{}\n", self.title());
        for sentence in headline(self) {
            let _ = writeln!(out, "{sentence}");
        }
        for trouble in &self.troubles {
            let _ = writeln!(out, "Not compared: {trouble}");
        }
        for setting in &self.settings {
            let shown = |value: &Option<String>| value.clone().unwrap_or_else(|| "nothing".to_owned());
            let (before, after) = (shown(&setting.before), shown(&setting.after));
            let _ = writeln!(out, "\n{}: {} {before} → {after}", setting.file, setting.name);
        }
        for file in &self.parts_files {
            let note = file.note.as_ref().map_or(String::new(), |note| format!(": {note}"));
            let _ = writeln!(out, "\n{}: {}{note}", file.file, words(file.what));
            for part in &file.parts {
                let _ = writeln!(out, "  {:8} part {} {}", part.what.word(), part.kind, part.name);
                for change in &part.fields {
                    let _ = writeln!(out, "  {:8}   {}", "", said(change, false));
                }
            }
            results(&mut out, &file.results);
        }
        if !self.across_files.is_quiet() {
            out.push_str("\nacross files\n");
            results(&mut out, &self.across_files);
        }
        let is_brief = |office: &&OfficeRecord| office.what == What::Touched && !office.worse;
        let (brief, mut whole): (Vec<_>, Vec<_>) = self.offices.iter().partition(is_brief);
        whole.sort_by_key(|office| !office.worse);
        for office in whole {
            let _ = writeln!(out, "\n{}", title(office));
            for change in &office.changes {
                let _ = writeln!(out, "  {:8} {}", change.what.word(), said(change, true));
            }
            for moved in &office.figures {
                let _ = writeln!(out, "  {:8} {}", "figure", figure_line(moved));
            }
            results(&mut out, &office.results);
        }
        touched(&mut out, &brief);
        terminal(&out).into_owned()
    }
}

fn touched(out: &mut String, offices: &[&OfficeRecord]) {
    if offices.is_empty() {
        return;
    }
    let (mut moved, still): (Vec<&OfficeRecord>, Vec<_>) = offices
        .iter()
        .partition(|office| !office.figures.is_empty() || !office.results.is_quiet());
    moved.sort_by_key(|office| !office.margin_shrank);
    let _ = writeln!(out, "\nTouched by parts or settings alone, without a new result");
    for office in moved.iter().take(MOST_TOUCHED) {
        let figures = several(office.figures.len(), "figure");
        let shrank = if office.margin_shrank { ", a margin shrank" } else { "" };
        let gone = match office.results.gone.len() {
            0 => String::new(),
            gone => format!(", {} gone", several(gone, "result")),
        };
        let _ = writeln!(out, "  {}: {figures} moved{shrank}{gone}", office.file);
    }
    if moved.len() > MOST_TOUCHED {
        let _ = writeln!(out, "  and {} more", several(moved.len() - MOST_TOUCHED, "office"));
    }
    if !still.is_empty() {
        let _ = writeln!(
            out,
            "  {} in which no figure moved by more than a step",
            several(still.len(), "office")
        );
    }
}

fn figure_line(moved: &FigureRecord) -> String {
    let (before, after) = (figure(moved.before, &moved.unit), figure(moved.after, &moved.unit));
    let margin = least_margin(moved).map_or(String::new(), |margin| {
        let (before, after) = (figure(margin.before, &moved.unit), figure(margin.after, &moved.unit));
        format!("; margin to {} {before} → {after}", margin.limit)
    });
    format!("{}: {before} → {after}{margin}", figure_name(moved))
}

fn results(out: &mut String, results: &ResultsRecord) {
    for (word, list) in [
        ("new", &results.new),
        ("now", &results.different),
        ("gone", &results.gone),
    ] {
        for result in list {
            let _ = writeln!(
                out,
                "  {word:8} {}: {} [{}] {}:{}",
                result.level,
                message(result),
                result.rule,
                result.file,
                result.line
            );
        }
    }
}
