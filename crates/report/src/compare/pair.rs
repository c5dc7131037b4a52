//! Compares a file of the base with its counterpart in the head.

use std::collections::BTreeSet;

use drysheath_office::{Networks, Thing, ThingId};
use drysheath_rules::Finding;
use drysheath_text::FileId;
use drysheath_workspace::{Analysis, LoweredFile, Snapshot};

use super::changes::{OfficeState, changes};
use super::curves::curves;
use super::figures::figures;
use super::matching::Matching;
use super::parts::PartChanges;
use super::plan::{Outline, Pair, PathStates};
use super::record::{HeldRecord, OfficeRecord, PartsFileRecord, ResultsRecord, What};
use super::result_comparer::ResultComparer;
use super::states::States;
use super::wording::wording;

/// Result of the comparison of two files.
pub(super) enum Compared {
    /// An office, and the indices of the changed parts that its things use.
    Office(Box<OfficeRecord>, BTreeSet<usize>),
    /// A file of parts.
    Parts(Box<PartsFileRecord>),
    /// No change affects it.
    Nothing,
}

/// Compares pairs of files.
pub(super) struct Comparer<'c> {
    pub states: &'c States,
    pub paths_in_both: &'c [PathStates<'c>],
    pub parts: &'c PartChanges,
    /// Whether to keep the pressure along lines where it changed.
    pub with_curves: bool,
}

impl Comparer<'_> {
    /// Compares one office in its two states.
    pub fn pair(&self, pair: Pair) -> Compared {
        let at = |at: Option<usize>| at.and_then(|at| self.paths_in_both.get(at));
        let (before, after) = (at(pair.base), at(pair.head));
        let broken_before = before.and_then(|file| file.broken.0.as_ref());
        let broken_after = after.and_then(|file| file.broken.1.as_ref());
        let outlines = (
            before.and_then(|file| file.base.as_deref()),
            after.and_then(|file| file.head.as_deref()),
        );
        let mut record = self.frame(outlines);
        if let Some(why) = broken_after.or(broken_before) {
            record.what = if broken_after.is_some() {
                What::NotCompared
            } else {
                What::Mended
            };
            record.note = Some(match broken_after {
                Some(why) => why.clone(),
                None => format!("before, {why}"),
            });
            return compared(pair, record, BTreeSet::new());
        }
        let files = (outlines.0.map(|it| it.file), outlines.1.map(|it| it.file));
        let (base, head) = both(self.states, files.0, files.1);
        let mut taken = BTreeSet::new();
        for state in [&base, &head].into_iter().flatten() {
            let placed = state.office.placed.iter().map(|placed| &placed.part);
            let parts = state.office.things.iter().flat_map(Thing::parts).chain(placed);
            taken.extend(parts.filter_map(|part| self.parts.number(part)));
        }
        record.parts = taken
            .iter()
            .filter_map(|number| self.parts.all.get(*number))
            .map(|part| part.record.name.clone())
            .collect();
        match (&base, &head) {
            (Some(base), Some(head)) => {
                // Drawings in other files are part of the text as well.
                let is_same_text = files.0 == files.1 && base.office.text == head.office.text;
                self.fill(&mut record, base, head, is_same_text);
            }
            (None, Some(head)) => {
                record.holds = holds(head);
                record.results = self.verdict(None, &[], head.findings());
            }
            (Some(base), None) => {
                record.holds = holds(base);
                record.results = self.verdict(None, base.findings(), &[]);
            }
            (None, None) => return Compared::Nothing,
        }
        record.worse = record.results.worse().next().is_some();
        record.margin_shrank = record.figures.iter().any(|figure| figure.margin_shrank);
        let is_quiet = record.what == What::Touched
            && taken.is_empty()
            && record.changes.is_empty()
            && record.figures.is_empty()
            && record.results.is_quiet();
        if is_quiet {
            return Compared::Nothing;
        }
        compared(pair, record, taken)
    }

    /// The record of a pair with nothing filled in but names and paths.
    fn frame(&self, outlines: (Option<&Outline>, Option<&Outline>)) -> OfficeRecord {
        let (before, after) = outlines;
        let path = |outline: Option<&Outline>| outline.map(|outline| self.states.texts.path(outline.file).to_owned());
        let name = |outline: &&Outline| !outline.known.summary.office.is_empty();
        let shown = after.filter(name).or(before.filter(name));
        let file_before = path(before).filter(|was| path(after).is_some_and(|now| now != *was));
        OfficeRecord {
            office: shown
                .map(|outline| outline.known.summary.office.to_string())
                .unwrap_or_default(),
            title: shown.and_then(|outline| outline.rest.as_ref()?.title.clone()),
            file: path(after).or(path(before)).unwrap_or_default(),
            file_before,
            what: match (before, after) {
                (None, _) => What::Added,
                (_, None) => What::Removed,
                (Some(before), Some(after)) if before.file == after.file => What::Touched,
                _ => What::Changed,
            },
            note: None,
            worse: false,
            margin_shrank: false,
            holds: Vec::new(),
            parts: Vec::new(),
            changes: Vec::new(),
            figures: Vec::new(),
            curves: Vec::new(),
            results: ResultsRecord::default(),
        }
    }

    fn fill(&self, record: &mut OfficeRecord, base: &Analysis, head: &Analysis, is_same_text: bool) {
        let matching = if is_same_text {
            Matching::of_same(&base.office)
        } else {
            Matching::new(&base.office, &head.office, &self.states.texts)
        };
        if !is_same_text {
            let all = (base.all_networks(), head.all_networks());
            let (base, head) = (state(base, all.0.as_ref()), state(head, all.1.as_ref()));
            record.changes = changes(base, head, &matching, &self.states.texts);
        }
        record.figures = figures(base, head, &matching);
        if self.with_curves {
            record.curves = curves(base, head, &matching);
        }
        if !is_same_text && record.changes.is_empty() {
            record.what = wording(&base.office.text, &head.office.text);
        }
        record.results = self.verdict(Some((base, head, &matching)), base.findings(), head.findings());
    }

    fn verdict(
        &self,
        states: Option<(&Analysis, &Analysis, &Matching)>,
        base: &[Finding],
        head: &[Finding],
    ) -> ResultsRecord {
        let mut renamed = Vec::new();
        if let Some((before, after, matching)) = states {
            renamed.extend(
                matching
                    .renamed
                    .iter()
                    .map(|(was, now)| (before.office.name(*was).to_owned(), after.office.name(*now).to_owned())),
            );
        }
        let verdict = ResultComparer {
            files: &self.states.texts,
            moved: states.map(|(before, after, _)| (before.office.file, self.states.texts.path(after.office.file))),
            is_same_thing: &|one: ThingId, other: ThingId| {
                states.is_some_and(|(.., matching)| matching.head_of(one) == Some(other))
            },
            renamed: &renamed,
        };
        verdict.of(base, head)
    }
}

/// Number of things of each kind in an office, in the order of its file.
fn holds(state: &Analysis) -> Vec<HeldRecord> {
    let mut held: Vec<HeldRecord> = Vec::new();
    let office = &state.office;
    for (id, thing) in office.things() {
        let Some(kind) = thing.kind.filter(|_| office.itself != Some(id)) else {
            continue;
        };
        match held.iter_mut().find(|held| held.kind == kind.word()) {
            Some(held) => held.number += 1,
            None => held.push(HeldRecord {
                kind: kind.word().to_owned(),
                number: 1,
            }),
        }
    }
    held
}

/// The analyses of a file in both states. If it is the same in both it is parsed once.
fn both(states: &States, before: Option<FileId>, after: Option<FileId>) -> (Option<Analysis>, Option<Analysis>) {
    let read = |state: &Snapshot, file: Option<FileId>| state.read(file?).ok().flatten();
    let base = read(&states.base, before);
    let head = match &base {
        Some(base) if before == after => Some(states.head.read_again(base)),
        _ => read(&states.head, after),
    };
    (base.map(LoweredFile::analyse), head.map(LoweredFile::analyse))
}

/// The whole office, with the connections of all its things where some are left out of its figures.
fn state<'s>(analysis: &'s Analysis, all: Option<&'s Networks>) -> OfficeState<'s> {
    OfficeState {
        office: &analysis.office,
        networks: all.unwrap_or(&analysis.networks),
        lines: &analysis.lines,
    }
}

fn compared(pair: Pair, record: OfficeRecord, taken: BTreeSet<usize>) -> Compared {
    if pair.is_office {
        return Compared::Office(Box::new(record), taken);
    }
    Compared::Parts(Box::new(PartsFileRecord {
        file: record.file,
        what: record.what,
        note: record.note,
        parts: Vec::new(),
        results: record.results,
    }))
}
