//! Code lenses above an office's first line: results, free numbers, the worst margin.

use drysheath_engineering::units::Dimension;
use drysheath_office::{Allocation, Office, UnitPreferences};
use drysheath_prediction::position_name;
use drysheath_rules::{Check, Finding, ResultCount};
use drysheath_text::TextRange;
use drysheath_workspace::{Analysis, Snapshot};

use crate::explainer::explainer;

/// A code lens, shown above a line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Lens {
    /// Range of the statement above which it is shown.
    pub range: TextRange,
    /// Text shown above the line.
    pub title: String,
}

/// The lenses of a file; none in a file of parts.
pub fn lenses(snapshot: &Snapshot, analysis: &Analysis) -> Vec<Lens> {
    let office = &analysis.office;
    let Some(itself) = office.itself.map(|id| office.thing(id)) else {
        return Vec::new();
    };
    let range = TextRange::new(itself.range.start, itself.name.end);
    let all = snapshot.findings(analysis.file);
    let wide = all
        .iter()
        .filter(|finding| matches!(finding.rule.check, Check::Repository(_)));
    let results = results(analysis.findings().iter().chain(wide));
    let titles = [
        Some(results),
        left_out(analysis),
        free(analysis),
        worst_margin(analysis),
    ];
    let lens = |title| Lens { range, title };
    titles.into_iter().flatten().map(lens).collect()
}

/// Formats results: "2 errors, 1 warning, 1 accepted".
fn results<'f>(findings: impl Iterator<Item = &'f Finding>) -> String {
    let count = ResultCount::of(findings);
    let mut parts: Vec<String> = count.present().collect();
    if parts.is_empty() {
        parts.push("no results".to_owned());
    }
    if count.accepted > 0 {
        parts.push(format!("{} accepted", count.accepted));
    }
    parts.join(", ")
}

/// Formats excluded things: "left out: p9 (planned), ps1 (disused)".
fn left_out(analysis: &Analysis) -> Option<String> {
    const SHOWN: usize = 8;
    let things = &analysis.office.excluded.things;
    let named = things.iter().take(SHOWN).map(|(id, stage)| {
        let name = analysis.office.name(*id);
        format!("{name} ({})", stage.word())
    });
    let mut named: Vec<String> = named.collect();
    if things.len() > SHOWN {
        named.push(format!("{} more", things.len() - SHOWN));
    }
    (!named.is_empty()).then(|| format!("left out: {}", named.join(", ")))
}

/// Formats free numbers: "free: 21 pairs of tb, 5 sensor inputs of m1".
fn free(analysis: &Analysis) -> Option<String> {
    const SHOWN: usize = 8;
    let office: &Office = &analysis.office;
    let allocation = Allocation::new(office, &analysis.networks);
    let mut shown = Vec::new();
    for (id, thing) in office.things() {
        for port in thing.kind.map_or(&[][..], |kind| kind.ports) {
            let Some(free) = allocation
                .count(office, id, port)
                .map(|count| count.free)
                .filter(|free| *free > 0)
            else {
                continue;
            };
            let plural = if free == 1 { "" } else { "s" };
            shown.push(format!("{free} {}{plural} of {}", port.noun(), office.name(id)));
        }
    }
    let more = shown.len().saturating_sub(SHOWN);
    shown.truncate(SHOWN);
    if more > 0 {
        shown.push(format!("more on {more} others"));
    }
    (!shown.is_empty()).then(|| format!("free: {}", shown.join(", ")))
}

/// Formats the worst margin: "worst margin of pressure: 0.53 psi at 3.2 km on c101".
fn worst_margin(analysis: &Analysis) -> Option<String> {
    let (office, explainer) = (&analysis.office, explainer(analysis));
    let lines = analysis.prediction.air.lines().iter();
    let margins = lines.flat_map(|line| explainer.sections(line)).filter_map(|section| {
        let (metres, _) = section.lowest?;
        Some((section.margin()?, position_name(office, section.line, metres)))
    });
    let (margin, place) = margins.min_by(|(one, _), (other, _)| one.total_cmp(other))?;
    let margin = UnitPreferences::of(office).show(Dimension::Pressure, margin);
    Some(format!("worst margin of pressure: {margin} {}", place.replace('`', "")))
}
