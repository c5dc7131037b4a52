//! A comparison in the few sentences that a reviewer reads first, and sentences for its entries.

use std::fmt::Write;

use drysheath_rules::ResultCount;

use super::margins::worst;
use super::record::{
    ChangeRecord, Comparison, Deed, FigureOf, FigureRecord, MarginRecord, OfficeRecord, PartRecord, ResultRecord, What,
};
use crate::plural::several;

/// Limit of parts named in the headline; others are reported below.
const MOST_PARTS: usize = 5;

/// Number of offices with a smaller margin, and the worst of them.
fn margins(comparison: &Comparison) -> Option<String> {
    let shrank = comparison.summary.margins_shrank;
    if shrank == 0 {
        return None;
    }
    let mut out = format!("In {} a margin shrank by more than a step", several(shrank, "office"));
    if let Some((office, moved, margin)) = worst(comparison) {
        let _ = write!(
            out,
            ". The worst: {} in {}, {}, before {}",
            moved.name(),
            office.office,
            distance(margin.after, margin, &moved.unit),
            distance(margin.before, margin, &moved.unit)
        );
    }
    Some(out + ".")
}

/// Distance of a figure from a limit, and the side that it is on.
fn distance(value: Option<f64>, margin: &MarginRecord, unit: &str) -> String {
    let Some(value) = value else {
        return "not computed".to_owned();
    };
    let limit = match margin.limit.as_str() {
        limit @ ("low" | "low-low" | "high" | "high-high") => format!("{limit} limit"),
        limit => limit.to_owned(),
    };
    let side = if value < 0.0 { "past" } else { "from" };
    format!("{} {unit} {side} its {limit}", value.abs())
}

/// Counts of files with the same meaning, by the way in which they differ.
fn same_meaning(all: impl Iterator<Item = What> + Clone) -> impl Iterator<Item = (usize, &'static str)> {
    [
        (What::Reworded, "in wording or order only"),
        (What::Comments, "in comments only"),
        (What::Layout, "in layout only"),
        (What::Moved, "in its place only"),
    ]
    .into_iter()
    .map(move |(what, words)| (all.clone().filter(|own| *own == what).count(), words))
}

/// Counts of files of parts with the same meaning as before.
fn files_of_parts(comparison: &Comparison) -> Option<String> {
    let files = comparison.parts_files.iter().map(|file| file.what);
    let told: Vec<String> = same_meaning(files)
        .filter(|(count, _)| *count > 0)
        .map(|(count, words)| format!("{count} {words}"))
        .collect();
    (!told.is_empty()).then(|| format!("Files of parts: {}.", told.join(", ")))
}

fn offices(comparison: &Comparison) -> String {
    let summary = &comparison.summary;
    let moved = match summary.moved_files {
        0 => String::new(),
        moved => format!(" ({moved} in another file than before)"),
    };
    let meaning = [
        (summary.changed, "changed"),
        (summary.added, "added"),
        (summary.removed, "removed"),
        (summary.touched, "affected by parts or settings alone"),
    ];
    let same = same_meaning(comparison.offices.iter().map(|office| office.what));
    let told: Vec<String> = meaning
        .into_iter()
        .chain(same)
        .chain([(summary.not_compared, "that cannot be compared")])
        .filter(|(count, _)| *count > 0)
        .map(|(count, words)| format!("{count} {words}"))
        .collect();
    if told.is_empty() && summary.offices_after == 0 {
        return "No office is compared.".to_owned();
    }
    if told.is_empty() {
        return format!(
            "Nothing changed in any of {}.",
            several(summary.offices_after, "office")
        );
    }
    let all = several(summary.offices_after, "office");
    format!("Of {all}: {}{moved}; {} untouched.", told.join(", "), summary.untouched)
}

fn results(comparison: &Comparison) -> String {
    let summary = &comparison.summary;
    let new: Vec<String> = ResultCount::from(summary.new).present().collect();
    let graver = comparison.all_results().flat_map(|results| &results.different);
    let graver = graver.filter(|result| result.is_graver()).count();
    let mut out = if new.is_empty() {
        "No result is new".to_owned()
    } else {
        format!("New: {}", new.join(", "))
    };
    if graver > 0 {
        let _ = write!(out, ", {graver} graver");
    }
    if summary.worse > 0 {
        let _ = write!(out, ", in {}", several(summary.worse, "office"));
    }
    for (count, words) in [
        (summary.gone, "gone"),
        (summary.different, "with another figure or level"),
        (summary.unchanged, "as before"),
    ] {
        if count > 0 {
            let _ = write!(out, "; {count} {words}");
        }
    }
    out + "."
}

/// Describes a change, with or without its subject.
pub(super) fn said(change: &ChangeRecord, with_subject: bool) -> String {
    let mut out = String::new();
    if with_subject {
        out.push_str(&change.about());
    }
    if let Some(field) = &change.field {
        if with_subject {
            out.push(' ');
        }
        out.push_str(field);
    }
    let colon = if out.is_empty() { "" } else { ": " };
    match (&change.before, &change.after) {
        (Some(before), Some(after)) => {
            let _ = write!(out, "{colon}{before}, now {after}");
        }
        (None, Some(after)) => {
            let _ = write!(out, "{colon}{after}");
        }
        (Some(before), None) => {
            let _ = write!(out, "{colon}was {before}");
        }
        (None, None) => {}
    }
    out
}

/// An office's name, file and state.
pub(super) fn title(office: &OfficeRecord) -> String {
    let name = match &office.title {
        Some(title) => format!("{} ({title})", office.office),
        None => office.office.clone(),
    };
    let before = office.file_before.as_ref().map(|before| format!(", before {before}"));
    let note = office.note.as_ref().map(|note| format!(": {note}"));
    let worse = if office.worse { ", WORSE" } else { "" };
    format!(
        "{name}, {}{}: {}{}{worse}",
        office.file,
        before.unwrap_or_default(),
        office.what.words(),
        note.unwrap_or_default()
    )
}

/// A figure with its unit, or a phrase where it is not computed.
pub(super) fn figure(value: Option<f64>, unit: &str) -> String {
    value.map_or_else(|| "not computed".to_owned(), |value| format!("{value} {unit}"))
}

/// Message of a result, and its former message.
pub(super) fn message(result: &ResultRecord) -> String {
    let mut out = result.message.clone();
    if let Some(before) = &result.message_before {
        let _ = write!(out, " (before: {before})");
    }
    if let Some(before) = &result.level_before {
        let _ = write!(out, " (before: {before})");
    }
    if let Some(accepted) = &result.accepted {
        let _ = write!(out, " (accepted: {accepted})");
    }
    out
}

impl Comparison {
    /// The headline, sentence by sentence: what got worse, the worst margin and its place, and how much changed.
    pub fn headline(&self) -> Vec<String> {
        if self.is_quiet() {
            return vec![offices(self)];
        }
        let mut told = vec![results(self)];
        told.extend(margins(self));
        let mut parts: Vec<(&str, &PartRecord)> = self
            .parts_files
            .iter()
            .flat_map(|file| file.parts.iter().map(|part| (file.file.as_str(), part)))
            .collect();
        parts.sort_by_key(|(_, part)| std::cmp::Reverse((part.worse, part.margins_shrank, part.offices)));
        told.extend(parts.iter().take(MOST_PARTS).map(|(file, part)| part.sentence(file)));
        if parts.len() > MOST_PARTS {
            told.push(format!(
                "{} changed.",
                several(parts.len() - MOST_PARTS, "further part")
            ));
        }
        if !self.settings.is_empty() {
            told.push(format!("{} changed.", several(self.settings.len(), "setting")));
        }
        told.push(offices(self));
        told.extend(files_of_parts(self));
        told
    }

    /// Whether there is nothing to report.
    pub fn is_quiet(&self) -> bool {
        let nothing = self.offices.is_empty() && self.parts_files.is_empty() && self.settings.is_empty();
        nothing && self.across_files.is_quiet()
    }

    /// Names of the two states as the user gave them.
    pub fn title(&self) -> String {
        format!("{} compared with {}", self.head.called, self.base.called)
    }
}

impl PartRecord {
    /// A sentence on the change of the part and its reach. `file` is the file that contains it.
    pub fn sentence(&self, file: &str) -> String {
        let how = match (self.what, &self.before) {
            (Deed::Renamed, Some(before)) => format!("renamed, before `{before}`"),
            (Deed::Moved, Some(before)) => format!("moved here from {before}"),
            (what, _) => what.word().to_owned(),
        };
        let fields: Vec<String> = self.fields.iter().map(|change| said(change, false)).collect();
        let fields = match fields.len() {
            0 => String::new(),
            _ => format!(" ({})", fields.join("; ")),
        };
        let worse = match (self.worse, self.margins_shrank) {
            (0, 0) => "none got worse".to_owned(),
            (0, shrank) => format!("no result is new, in {shrank} a margin shrank"),
            (worse, _) => format!("{worse} got worse"),
        };
        let reach = match self.offices {
            0 => "no office has it".to_owned(),
            1 => format!("1 office has it, {worse}"),
            offices => format!("{offices} offices have it, {worse}"),
        };
        format!("Part `{}` in {file} {how}{fields}: {reach}.", self.name)
    }
}

impl What {
    /// How a file differs, or why it cannot be compared, as a phrase.
    pub fn words(self) -> &'static str {
        match self {
            Self::Added => "added",
            Self::Removed => "removed",
            Self::Changed => "changed",
            Self::Reworded => "says the same in other words or in another order",
            Self::Comments => "only comments changed",
            Self::Layout => "only layout changed",
            Self::Moved => "the same in another file",
            Self::Touched => "affected by parts or settings alone",
            Self::Mended => "could not be read before, so there is nothing to compare with",
            Self::NotCompared => "cannot be compared",
        }
    }
}

impl FigureRecord {
    /// Name of the figure in a sentence.
    pub fn name(&self) -> String {
        let of = match self.of {
            FigureOf::Reading => "reading of",
            FigureOf::Voltage => "voltage at",
            FigureOf::Loop => "loop of",
            FigureOf::Lowest => "lowest pressure in",
            FigureOf::Outlet => "outlet of",
            FigureOf::Highest => "highest pressure at",
        };
        format!("{of} {}", self.subject)
    }

    /// The margin that is least after the change, or was least before where none is known after.
    pub fn least_margin(&self) -> Option<&MarginRecord> {
        let now = |margin: &&MarginRecord| margin.after.or(margin.before).unwrap_or(f64::INFINITY);
        self.margins.iter().min_by(|one, other| now(one).total_cmp(&now(other)))
    }
}
