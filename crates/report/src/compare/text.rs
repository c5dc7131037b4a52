//! A comparison as text for a terminal.

use std::fmt::Write;

use drysheath_text::safe::terminal;

use super::brief::{BriefTable, blocks};
use super::headline::{figure, message, said, title};
use super::record::{Comparison, FigureRecord, OfficeRecord, ResultsRecord};
use crate::extent::Extent;
use crate::text_table::{CellAlignment, text_table};

/// The hint where a brief comparison leaves something out.
const HOW_TO_LIST: &str = "`--all` lists everything, and `--output text=FILE` writes it to a file";

impl Comparison {
    /// The comparison for a terminal, with the ten-second summary first.
    pub fn text(&self, extent: Extent) -> String {
        let mut out = format!("{}\n", self.title());
        for sentence in self.headline() {
            let _ = writeln!(out, "{sentence}");
        }
        for trouble in &self.troubles {
            let _ = writeln!(out, "Not compared: {trouble}");
        }
        for left_out in &self.left_out {
            let _ = writeln!(out, "Left out: {left_out}");
        }
        match extent {
            Extent::Brief => self.brief(&mut out),
            Extent::Full => self.full(&mut out),
        }
        terminal(&out).into_owned()
    }

    fn brief(&self, out: &mut String) {
        let blocks = blocks(self);
        for block in blocks.iter().filter(|block| !block.is_folded) {
            table(out, block);
        }
        // Items that need no action are counted here and listed on request.
        for block in blocks.iter().filter(|block| block.is_folded) {
            let _ = writeln!(out, "\n{}: {}, not listed here", block.title, block.total);
        }
        if !self.is_quiet() {
            let _ = writeln!(out, "\n{HOW_TO_LIST}.");
        }
    }

    fn full(&self, out: &mut String) {
        for setting in &self.settings {
            let shown = |value: &Option<String>| value.clone().unwrap_or_else(|| "nothing".to_owned());
            let (before, after) = (shown(&setting.before), shown(&setting.after));
            let _ = writeln!(out, "\n{}: {} {before}, now {after}", setting.file, setting.name);
        }
        for file in &self.parts_files {
            let note = file.note.as_ref().map_or(String::new(), |note| format!(": {note}"));
            let _ = writeln!(out, "\n{}: {}{note}", file.file, file.what.words());
            for part in &file.parts {
                let _ = writeln!(out, "  {:8} part {} {}", part.what.word(), part.kind, part.name);
                for change in &part.fields {
                    let _ = writeln!(out, "  {:8}   {}", "", said(change, false));
                }
            }
            results(out, &file.results);
        }
        if !self.across_files.is_quiet() {
            out.push_str("\nacross files\n");
            results(out, &self.across_files);
        }
        let is_same = |office: &&OfficeRecord| office.what.means_the_same();
        let (same, mut whole): (Vec<_>, Vec<_>) = self.offices.iter().partition(is_same);
        whole.sort_by_key(|office| !office.worse);
        for office in whole.into_iter().chain(same) {
            let _ = writeln!(out, "\n{}", title(office));
            for change in &office.changes {
                let _ = writeln!(out, "  {:8} {}", change.deed(), said(change, true));
            }
            for moved in &office.figures {
                let _ = writeln!(out, "  {:8} {}", "figure", figure_line(moved));
            }
            results(out, &office.results);
        }
    }
}

fn table(out: &mut String, block: &BriefTable) {
    let columns: Vec<_> = block.columns.iter().map(|name| (*name, CellAlignment::Left)).collect();
    text_table(out, &format!("{}: {}", block.title, block.total), &columns, &block.rows);
    if let Some(left_out) = &block.left_out {
        let _ = writeln!(out, "  {left_out}");
    }
}

fn figure_line(moved: &FigureRecord) -> String {
    let (before, after) = (figure(moved.before, &moved.unit), figure(moved.after, &moved.unit));
    let margin = moved.least_margin().map_or(String::new(), |margin| {
        let (before, after) = (figure(margin.before, &moved.unit), figure(margin.after, &moved.unit));
        format!("; margin to {} {before}, now {after}", margin.limit)
    });
    format!("{}: {before}, now {after}{margin}", moved.name())
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
