//! Groups of similar results and changes: one rule in a thousand places is one row, and so is one edit in forty
//! offices.

use std::collections::BTreeSet;

use rustc_hash::FxHashMap;

use super::record::{ChangeRecord, Comparison, Deed, Of, OfficeRecord, ResultRecord, ResultsRecord};

/// Up to this number, results are listed one by one.
pub(super) const MOST_RESULTS: usize = 10;
/// Up to this number, changes are listed one by one.
const MOST_CHANGES: usize = 12;

/// Results of one rule and one level.
pub struct ResultGroup<'c> {
    /// The results, each with its office if it belongs to one.
    pub results: Vec<(Option<&'c OfficeRecord>, &'c ResultRecord)>,
    /// Number of files that they are in.
    pub files: usize,
    /// The result whose figure is furthest past its limit, or else the first.
    pub worst: &'c ResultRecord,
}

/// A result with its office, if it belongs to one.
type OfOffice<'c> = (Option<&'c OfficeRecord>, &'c ResultRecord);

/// Results grouped by rule, sorted by level and then by number of files; listed one by one if there are at most
/// `one_by_one`.
pub(super) fn results<'c>(
    comparison: &'c Comparison,
    one_by_one: usize,
    of: impl Fn(&'c ResultsRecord) -> Vec<&'c ResultRecord>,
) -> Vec<ResultGroup<'c>> {
    let with_office = comparison.offices.iter().map(|office| (Some(office), &office.results));
    let parts = comparison.parts_files.iter().map(|file| (None, &file.results));
    let all: Vec<OfOffice<'_>> = with_office
        .chain(parts)
        .chain([(None, &comparison.across_files)])
        .flat_map(|(office, results)| of(results).into_iter().map(move |result| (office, result)))
        .collect();
    let is_few = all.len() <= one_by_one;
    let mut by_rule: FxHashMap<(&str, &str, usize), Vec<OfOffice<'_>>> = FxHashMap::default();
    for (at, (office, result)) in all.into_iter().enumerate() {
        let key = (result.rule.as_str(), result.level.as_str(), if is_few { at } else { 0 });
        by_rule.entry(key).or_default().push((office, result));
    }
    let mut groups: Vec<ResultGroup<'c>> = by_rule.into_values().filter_map(|all| group(&all)).collect();
    groups.sort_by(|one, other| {
        let level = other.worst.level().cmp(&one.worst.level());
        let place = |group: &ResultGroup<'c>| (group.worst.rule.clone(), group.worst.file.clone(), group.worst.line);
        level
            .then(other.files.cmp(&one.files))
            .then_with(|| place(one).cmp(&place(other)))
    });
    groups
}

fn group<'c>(all: &[OfOffice<'c>]) -> Option<ResultGroup<'c>> {
    let files: BTreeSet<&str> = all.iter().map(|(_, result)| result.file.as_str()).collect();
    let with_margin = all.iter().map(|(office, result)| (margin(*office, result), *result));
    // Keep the first of equals.
    let worst = with_margin.reduce(|worst, next| if next.0 < worst.0 { next } else { worst });
    Some(ResultGroup {
        results: all.to_vec(),
        files: files.len(),
        worst: worst?.1,
    })
}

/// The least present margin of the figures of things that a result names.
fn margin(office: Option<&OfficeRecord>, result: &ResultRecord) -> f64 {
    let figures = office.iter().flat_map(|office| &office.figures);
    let named = figures.filter(|figure| {
        let thing = figure.subject.split(' ').next().unwrap_or_default();
        result.message.contains(&format!("`{thing}`"))
    });
    let margins = named.flat_map(|figure| figure.margins.iter().filter_map(|margin| margin.after));
    margins.fold(f64::INFINITY, f64::min)
}

/// Changes of the same kind, each with its office.
pub(super) struct ChangeGroup<'c> {
    pub changes: Vec<(&'c OfficeRecord, &'c ChangeRecord)>,
    pub offices: usize,
    /// Whether all have the same text before and after.
    pub is_uniform: bool,
}

/// The properties that changes in a group share.
type Alike<'c> = (Deed, Of, &'c str, Option<&'c str>, Option<&'c str>, usize);

/// Changes grouped by type, with those in the most offices last, since they read as one; listed one by one if they are
/// few.
pub(super) fn changes(comparison: &Comparison, of: impl Fn(&ChangeRecord) -> bool) -> Vec<ChangeGroup<'_>> {
    let all: Vec<(&OfficeRecord, &ChangeRecord)> = comparison
        .offices
        .iter()
        .flat_map(|office| office.changes.iter().map(move |change| (office, change)))
        .filter(|(_, change)| of(change))
        .collect();
    let is_few = all.len() <= MOST_CHANGES;
    let uniform = grouped(&all, is_few, true);
    if uniform.len() <= MOST_CHANGES {
        return uniform;
    }
    grouped(&all, is_few, false)
}

fn grouped<'c>(all: &[(&'c OfficeRecord, &'c ChangeRecord)], is_few: bool, by_words: bool) -> Vec<ChangeGroup<'c>> {
    let mut places: FxHashMap<Alike<'c>, usize> = FxHashMap::default();
    let mut groups: Vec<ChangeGroup<'c>> = Vec::new();
    for (at, (office, change)) in all.iter().enumerate() {
        let words = |words: &'c Option<String>| words.as_deref().filter(|_| by_words);
        let key = (
            change.what,
            change.of,
            change.field_kind.as_deref().unwrap_or_default(),
            words(&change.before),
            words(&change.after),
            if is_few { at } else { 0 },
        );
        let place = *places.entry(key).or_insert_with(|| {
            groups.push(ChangeGroup {
                changes: Vec::new(),
                offices: 0,
                is_uniform: true,
            });
            groups.len() - 1
        });
        if let Some(group) = groups.get_mut(place) {
            group.changes.push((*office, *change));
        }
    }
    for group in &mut groups {
        let files: BTreeSet<&str> = group.changes.iter().map(|(office, _)| office.file.as_str()).collect();
        group.offices = files.len();
        let mut words = group.changes.iter().map(|(_, change)| (&change.before, &change.after));
        let first = words.next();
        group.is_uniform = words.all(|words| Some(words) == first);
    }
    // Rare changes are easily overlooked, so list them first.
    groups.sort_by_key(|group| group.changes.len());
    groups
}
