//! What an office comes to, above its first line: results, what is free, the worst margin.

use drysheath_engineering::units::Dimension;
use drysheath_office::{Office, UnitPreferences};
use drysheath_prediction::{minimum_pressure, position_name};
use drysheath_rules::{Check, Finding, Level};
use drysheath_text::TextRange;

use crate::analysis::Analysis;
use crate::in_use::{InUse, noun};
use crate::world::World;

/// A line of its own above a place in the text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Lens {
    /// Above what.
    pub range: TextRange,
    /// What is read.
    pub title: String,
}

/// The lenses of a file: none in a file of parts.
pub fn lenses(world: &World, analysis: &Analysis) -> Vec<Lens> {
    let office = &analysis.office;
    let Some(itself) = office.itself.map(|id| office.thing(id)) else {
        return Vec::new();
    };
    let range = TextRange::new(itself.range.start, itself.name.end);
    let all = world.findings(analysis.file);
    let wide = all
        .iter()
        .filter(|finding| matches!(finding.rule.check, Check::Repository(_)));
    let results = results(analysis.findings.iter().chain(wide));
    let titles = [Some(results), free(analysis), worst_margin(analysis)];
    let lens = |title| Lens { range, title };
    titles.into_iter().flatten().map(lens).collect()
}

/// "2 errors, 1 warning, 1 accepted".
fn results<'f>(findings: impl Iterator<Item = &'f Finding>) -> String {
    let (mut counts, mut accepted) = ([0_u32; 3], 0_u32);
    for finding in findings {
        let at = match finding.level {
            Level::Error => 0,
            Level::Warning => 1,
            Level::Note => 2,
        };
        match counts.get_mut(at).filter(|_| finding.accepted.is_none()) {
            Some(count) => *count += 1,
            None => accepted += 1,
        }
    }
    let words = ["error", "warning", "note"].into_iter().zip(counts);
    let mut parts: Vec<String> = words
        .filter(|(_, count)| *count > 0)
        .map(|(word, count)| format!("{count} {word}{}", if count == 1 { "" } else { "s" }))
        .collect();
    if parts.is_empty() {
        parts.push("no results".to_owned());
    }
    if accepted > 0 {
        parts.push(format!("{accepted} accepted"));
    }
    parts.join(", ")
}

/// "free: 21 pairs of tb, 5 sensor inputs of m1".
fn free(analysis: &Analysis) -> Option<String> {
    const SHOWN: usize = 8;
    let office: &Office = &analysis.office;
    let in_use = InUse::of(office, &analysis.networks);
    let mut shown = Vec::new();
    for (id, thing) in office.things() {
        for port in thing.kind.map_or(&[][..], |kind| kind.ports) {
            let Some(free) = in_use.free(id, port).filter(|free| free.count > 0) else {
                continue;
            };
            let (one, many) = noun(port);
            let noun = if free.count == 1 { one } else { many };
            shown.push(format!("{} {noun} of {}", free.count, office.name(id)));
        }
    }
    let more = shown.len().saturating_sub(SHOWN);
    shown.truncate(SHOWN);
    if more > 0 {
        shown.push(format!("more on {more} others"));
    }
    (!shown.is_empty()).then(|| format!("free: {}", shown.join(", ")))
}

/// "worst margin of pressure: 0.53 psi at 3.2 km on c101".
fn worst_margin(analysis: &Analysis) -> Option<String> {
    let (office, air) = (&analysis.office, &analysis.prediction.air);
    let practice = analysis.settings.minimums();
    let mut worst: Option<(f64, String)> = None;
    for line in air.routes() {
        for reach in &line.sections {
            let (Some(wanted), Some((metres, pressure))) = (
                minimum_pressure(office, &practice, line, reach),
                air.lowest(line, reach),
            ) else {
                continue;
            };
            let margin = pressure.pascals() - office.figure(wanted.quantity);
            if worst.as_ref().is_none_or(|(least, _)| margin < *least) {
                worst = Some((margin, position_name(office, line, metres)));
            }
        }
    }
    let (margin, spot) = worst?;
    let margin = UnitPreferences::of(office).show(Dimension::Pressure, margin);
    Some(format!("worst margin of pressure: {margin} {}", spot.replace('`', "")))
}
