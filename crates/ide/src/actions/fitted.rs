//! Replaces the declared usage by the usage fitted to readings, with the date of the readings as a comment.

use drysheath_office::Date;
use drysheath_office::kinds::Key;
use drysheath_rules::Inspection;
use drysheath_rules::fit::{FigureFit, fit, latest_day};
use drysheath_text::{Edit, Place, TextRange};
use drysheath_workspace::Analysis;

use super::Proposal;
use crate::line_edits::end_of_line;

/// Significant digits of a fitted usage.
const DIGITS: i32 = 3;
/// Relative difference below which the usage counts as unchanged.
const SAME: f64 = 0.005;
/// The comment before the date.
const COMMENT: &str = "usage by readings of ";

/// At a usage, or elsewhere on its line: replaces that usage using the latest readings. At a reading: replaces all
/// usages using the readings of that day. Offers nothing that the readings do not determine, or if the uncertainties do
/// not explain the readings.
pub(super) fn usage(analysis: &Analysis, range: TextRange) -> Option<Proposal> {
    let office = analysis.present();
    if office.readings.is_empty() {
        return None;
    }
    let Analysis {
        networks,
        prediction,
        settings,
        ..
    } = analysis;
    let inspection = Inspection::new(office, networks, prediction, settings);
    let touches = |other: TextRange| other.start <= range.end && range.start <= other.end;
    let own = |place: &Place| place.file == office.file && office.is_own(place.range);
    let reading = office.readings.iter().find(|noted| touches(noted.range));
    let is_asked = |place: &Place| {
        let start = place.range.start as usize;
        let before = office.text.get(..start).and_then(|text| text.rfind('\n'));
        let line = TextRange::new(
            before.map_or(0, |at| at as u32 + 1),
            end_of_line(&office.text, place.range.end),
        );
        reading.is_some() || touches(line)
    };
    // Most positions are not at a usage; then nothing needs to be computed.
    if reading.is_none() && !line_says(&office.text, range.start, "usage") {
        return None;
    }
    let day = match reading {
        Some(noted) => noted.date.value,
        None => latest_day(&inspection)?,
    };
    let found = fit(&inspection, day)?;
    let explained = found.systems.iter().filter(|system| system.is_explained());
    let figures = explained.filter_map(|system| system.figures.as_ref().ok()).flatten();
    let told = figures.filter(|figure| figure.key == Key::Usage && figure.is_told() && is_other(figure));
    let mut edits = Vec::new();
    let mut names = Vec::new();
    for figure in told {
        let Some((stated, place)) = figure.stated.filter(|(_, place)| own(place) && is_asked(place)) else {
            continue;
        };
        let fitted = office.quantity_of(figure.fitted, stated.unit).to_digits(DIGITS);
        edits.push(Edit {
            range: place.range,
            replacement: format!("usage {fitted}"),
        });
        let comment = comment(&office.text, place.range.end, day);
        if !edits.contains(&comment) {
            edits.push(comment);
        }
        names.push(format!("`{}` {stated} -> {fitted}", figure.of));
    }
    let title = match names.as_slice() {
        [] => return None,
        [only] => format!("Write the usage that the readings of {day} tell: {only}"),
        several => format!("Write the {} usages that the readings of {day} tell", several.len()),
    };
    Some(Proposal::new(title, edits))
}

fn is_other(figure: &FigureFit) -> bool {
    (figure.fitted / figure.declared - 1.0).abs() > SAME
}

/// Whether the line at an offset contains a word.
fn line_says(text: &str, at: u32, word: &str) -> bool {
    let start = text
        .get(..at as usize)
        .and_then(|text| text.rfind('\n'))
        .map_or(0, |start| start + 1);
    let line = text.get(start..end_of_line(text, at) as usize);
    line.is_some_and(|line| line.contains(word))
}

/// Whether a text looks like a date, so that nothing else is overwritten.
fn is_day(text: &str) -> bool {
    text.bytes().all(|one| one.is_ascii_digit() || one == b'-')
}

/// Edit that puts the date at the end of a line: replacing another one, or as a new comment.
fn comment(text: &str, at: u32, day: Date) -> Edit {
    let end = end_of_line(text, at);
    let rest = text.get(at as usize..end as usize).unwrap_or_default();
    let written = day.to_string();
    if let Some((before, after)) = rest.split_once(COMMENT)
        && before.contains('#')
        && after.get(..written.len()).is_some_and(is_day)
    {
        let start = at + (before.len() + COMMENT.len()) as u32;
        return Edit {
            range: TextRange::new(start, start + written.len() as u32),
            replacement: written,
        };
    }
    let mark = if rest.contains('#') { ";" } else { " #" };
    Edit {
        range: TextRange::empty(end),
        replacement: format!("{mark} {COMMENT}{written}"),
    }
}
