//! Statistics of changed predictions: how far and in how many offices, and the tightest margins after the change.

use super::record::{Comparison, FigureOf, FigureRecord, MarginRecord, OfficeRecord};

/// Limits in the order of the report: those that keep water out first.
const LIMITS: [&str; 11] = [
    "minimum",
    "low-low",
    "low",
    "high",
    "high-high",
    "relief",
    "rating",
    "proof",
    "inlet-max",
    "window",
    "loop-max",
];

/// Changed figures of one type and one unit.
pub(super) struct MovedFigures<'c> {
    pub of: FigureOf,
    pub unit: &'c str,
    pub offices: usize,
    pub figures: usize,
    /// Number of figures that are no longer computed, or were not before.
    pub unknown: usize,
    /// The figure that changed most for the worse, or else most.
    pub worst: (&'c OfficeRecord, &'c FigureRecord),
    /// Median of all changes.
    pub median: Option<f64>,
}

/// The margins to one type of limit.
pub(super) struct Tightest<'c> {
    pub limit: &'static str,
    pub unit: &'c str,
    pub offices: usize,
    pub figures: usize,
    /// Number of figures past the limit after the change.
    pub past: usize,
    /// The office, figure and margin with the least margin.
    pub office: &'c OfficeRecord,
    pub figure: &'c FigureRecord,
    pub margin: &'c MarginRecord,
}

/// All changed figures, with their offices.
fn all(comparison: &Comparison) -> Vec<(&OfficeRecord, &FigureRecord)> {
    let offices = comparison.offices.iter();
    offices
        .flat_map(|office| office.figures.iter().map(move |figure| (office, figure)))
        .collect()
}

fn offices<'c>(figures: impl Iterator<Item = &'c OfficeRecord>) -> usize {
    // The figures of an office are adjacent.
    let mut files: Vec<&str> = figures.map(|office| office.file.as_str()).collect();
    files.dedup();
    files.len()
}

/// Change of a figure.
pub(super) fn by(figure: &FigureRecord) -> Option<f64> {
    Some(figure.after? - figure.before?)
}

/// Loss of the least margin; without a margin the change of the figure.
fn loss(figure: &FigureRecord) -> f64 {
    let least = |margins: &mut dyn Iterator<Item = Option<f64>>| margins.flatten().reduce(f64::min);
    let before = least(&mut figure.margins.iter().map(|margin| margin.before));
    let after = least(&mut figure.margins.iter().map(|margin| margin.after));
    match (before, after) {
        (Some(before), Some(after)) => before - after,
        _ => by(figure).map_or(f64::INFINITY, f64::abs),
    }
}

/// Statistics of the changes, by type of figure.
pub(super) fn spreads(comparison: &Comparison) -> Vec<MovedFigures<'_>> {
    let mut sorts: Vec<Vec<(&OfficeRecord, &FigureRecord)>> = Vec::new();
    // If only the limit changed, the prediction did not.
    let moved = all(comparison)
        .into_iter()
        .filter(|(_, figure)| by(figure) != Some(0.0));
    for one in moved {
        let is_alike = |sort: &&mut Vec<(&OfficeRecord, &FigureRecord)>| {
            sort.first()
                .is_some_and(|(_, first)| first.of == one.1.of && first.unit == one.1.unit)
        };
        match sorts.iter_mut().find(is_alike) {
            Some(sort) => sort.push(one),
            None => sorts.push(vec![one]),
        }
    }
    sorts.iter().filter_map(|sort| spread(sort)).collect()
}

fn spread<'c>(sort: &[(&'c OfficeRecord, &'c FigureRecord)]) -> Option<MovedFigures<'c>> {
    let worst = sort
        .iter()
        .reduce(|worst, next| if loss(next.1) > loss(worst.1) { next } else { worst })?;
    let mut moves: Vec<f64> = sort.iter().filter_map(|(_, figure)| by(figure)).collect();
    moves.sort_by(f64::total_cmp);
    Some(MovedFigures {
        of: worst.1.of,
        unit: &worst.1.unit,
        offices: offices(sort.iter().map(|(office, _)| *office)),
        figures: sort.len(),
        unknown: sort.len() - moves.len(),
        worst: *worst,
        median: moves.get(moves.len() / 2).copied(),
    })
}

/// The tightest margin to each type of limit, over all changed figures.
pub(super) fn tightest(comparison: &Comparison) -> Vec<Tightest<'_>> {
    let all = all(comparison);
    let mut found: Vec<Tightest<'_>> = Vec::new();
    for limit in LIMITS {
        let mut units: Vec<&str> = all.iter().map(|(_, figure)| figure.unit.as_str()).collect();
        units.sort_unstable();
        units.dedup();
        for unit in units {
            let margins: Vec<_> = all
                .iter()
                .filter(|(_, figure)| figure.unit == unit)
                .flat_map(|(office, figure)| figure.margins.iter().map(move |margin| (*office, *figure, margin)))
                .filter(|(.., margin)| margin.limit == limit && margin.after.is_some())
                .collect();
            let least = margins
                .iter()
                .reduce(|least, next| if next.2.after < least.2.after { next } else { least });
            let Some((office, figure, margin)) = least else {
                continue;
            };
            found.push(Tightest {
                limit,
                unit,
                offices: offices(margins.iter().map(|(office, ..)| *office)),
                figures: margins.len(),
                past: margins.iter().filter(|(.., margin)| margin.after < Some(0.0)).count(),
                office,
                figure,
                margin,
            });
        }
    }
    found
}

/// The reduced margin that is smallest relative to its figure, for the headline.
pub(super) fn worst(comparison: &Comparison) -> Option<(&OfficeRecord, &FigureRecord, &MarginRecord)> {
    let shrank = all(comparison).into_iter().filter(|(_, figure)| figure.margin_shrank);
    let margins = shrank.filter_map(|(office, figure)| {
        let now = |margin: &&MarginRecord| margin.after.is_some();
        let margins = figure.margins.iter().filter(now);
        let least = margins.min_by(|one, other| one.after.unwrap_or(0.0).total_cmp(&other.after.unwrap_or(0.0)))?;
        // Margins in different units are compared relative to the figure.
        let part = least.after? / figure.after?.abs().max(f64::MIN_POSITIVE);
        Some((part, (office, figure, least)))
    });
    let worst = margins.reduce(|worst, next| if next.0 < worst.0 { next } else { worst });
    worst.map(|(_, worst)| worst)
}
