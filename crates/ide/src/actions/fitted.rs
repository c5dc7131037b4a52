//! Writing the usage, resistance or pressure that readings tell in place of the declared one, with the day of the readings as a comment.

use std::fmt::Write as _;

use drysheath_office::Date;
use drysheath_office::kinds::Key;
use drysheath_rules::Inspection;
use drysheath_rules::fit::{FigureFit, fit, latest_day};
use drysheath_text::{Edit, Place, TextRange};
use drysheath_workspace::Analysis;

use super::Proposal;
use crate::line_edits::end_of_line;
use crate::new_field::new_field;

/// Digits of a fitted figure.
const DIGITS: i32 = 3;
/// Relative difference below which the usage counts as unchanged.
const SAME: f64 = 0.005;
/// The fields that readings may tell.
const KEYS: [Key; 4] = [Key::Usage, Key::Resistance, Key::Set, Key::Delivers];

/// At a figure that can be fitted, or elsewhere on its line: the figures of that line as the latest readings have them. At a reading: all
/// figures as the readings of that day have them. What a part states is written on the thing that is of it. Nothing is offered that the readings do not tell, or where they are not explained by
/// what is uncertain.
pub(super) fn figures(analysis: &Analysis, range: TextRange) -> Option<Proposal> {
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
    // Most carets are at no such figure, and then nothing need be computed.
    if reading.is_none() && !line_says(&office.text, range.start, &KEYS) {
        return None;
    }
    let day = match reading {
        Some(noted) => noted.date.value,
        None => latest_day(&inspection)?,
    };
    let found = fit(&inspection, day)?;
    let explained = found.systems.iter().filter(|system| system.is_explained());
    let figures = explained.filter_map(|system| system.figures.as_ref().ok()).flatten();
    let told = figures.filter(|figure| KEYS.contains(&figure.key) && figure.is_told() && is_other(figure));
    let mut edits = Vec::new();
    let mut comments: Vec<Comments> = Vec::new();
    let mut names = Vec::new();
    for figure in told {
        // A part may be taken by other things too, which the readings say nothing of: what it states is written on the thing itself.
        let statement = office.thing(figure.thing).range;
        let Some((stated, place)) = figure.stated else { continue };
        let is_here = own(&place) && is_asked(&place);
        let fitted = office.quantity_of(figure.fitted, stated.unit).to_digits(DIGITS);
        let (word, what) = (figure.key.word(), figure.what());
        let behind = if is_here && statement.contains(place.range) {
            edits.push(Edit {
                range: place.range,
                replacement: format!("{word} {fitted}"),
            });
            names.push((what, format!("`{}` {stated} -> {fitted}", figure.of)));
            place.range.end
        } else if let Some(part) = figure.part(office).filter(|_| is_here || reading.is_some()) {
            let Some(mut edit) = on_thing(analysis, statement, figure.key, &fitted.to_string()) else {
                continue;
            };
            let instead = format!("`{}` {stated} -> {fitted}, beside its part `{}`", figure.of, part.name);
            names.push((what, instead));
            let is_line = edit.replacement.starts_with(['\r', '\n']);
            if is_line {
                let _ = write!(edit.replacement, " # {}{day}", by_readings(what));
            }
            let behind = edit.range.end;
            edits.push(edit);
            if is_line {
                continue;
            }
            behind
        } else {
            continue;
        };
        let end = end_of_line(&office.text, behind);
        match comments.iter_mut().find(|line| line.end == end) {
            Some(line) => line.say(what, behind),
            None => comments.push(Comments::new(end, what, behind)),
        }
    }
    edits.extend(comments.iter().flat_map(|line| line.edits(&office.text, day)));
    let title = match names.as_slice() {
        [] => return None,
        [(what, only)] => format!("Write the {what} that the readings of {day} tell: {only}"),
        [(what, one), (other_what, other)] => {
            format!("Write the 2 figures that the readings of {day} tell: {what} of {one}, {other_what} of {other}")
        }
        several => format!("Write the {} figures that the readings of {day} tell", several.len()),
    };
    Some(Proposal::new(title, edits))
}

/// A figure as a field of a thing of this file, in place of what its part states. None for the figures of a section, which is stated as a whole.
fn on_thing(analysis: &Analysis, statement: TextRange, key: Key, figure: &str) -> Option<Edit> {
    if !matches!(key, Key::Set | Key::Delivers) {
        return None;
    }
    let mut statements = analysis.tree.statements.iter();
    let statement = statements.find(|other| other.range == statement && !other.damaged)?;
    new_field(analysis, statement, key.word(), figure)
}

/// What is said of a figure before the day of its readings.
fn by_readings(what: &str) -> String {
    format!("{what} by readings of ")
}

fn is_other(figure: &FigureFit) -> bool {
    (figure.fitted / figure.declared - 1.0).abs() > SAME
}

/// Whether the line of an offset has the word of a field.
fn line_says(text: &str, at: u32, fields: &[Key]) -> bool {
    let start = text
        .get(..at as usize)
        .and_then(|text| text.rfind('\n'))
        .map_or(0, |start| start + 1);
    let line = text.get(start..end_of_line(text, at) as usize);
    let is_field = |word: &str| fields.iter().any(|field| field.word() == word);
    line.is_some_and(|line| line.split([' ', '\t', ',', '{']).any(is_field))
}

/// Whether a text looks like a date, so that nothing else is overwritten.
fn is_day(text: &str) -> bool {
    text.bytes().all(|one| one.is_ascii_digit() || one == b'-')
}

/// What is said at the end of a line about the figures that were fitted on it.
struct Comments {
    /// Where the line ends.
    end: u32,
    /// Where the last of the figures ends: a comment is behind it.
    behind: u32,
    /// What the figures are, in words, each once.
    of: Vec<&'static str>,
}

impl Comments {
    fn new(end: u32, what: &'static str, behind: u32) -> Self {
        Self {
            end,
            behind,
            of: vec![what],
        }
    }

    fn say(&mut self, what: &'static str, behind: u32) {
        self.behind = self.behind.max(behind);
        if !self.of.contains(&what) {
            self.of.push(what);
        }
    }

    /// The day of each figure: in place of another one, or in a comment of its own.
    fn edits(&self, text: &str, day: Date) -> Vec<Edit> {
        let rest = text.get(self.behind as usize..self.end as usize).unwrap_or_default();
        let written = day.to_string();
        let mut edits = Vec::new();
        let mut added: Vec<String> = Vec::new();
        for what in &self.of {
            let said = by_readings(what);
            match earlier_day(rest, &said, written.len()) {
                Some(at) => {
                    let start = self.behind + at as u32;
                    edits.push(Edit {
                        range: TextRange::new(start, start + written.len() as u32),
                        replacement: written.clone(),
                    });
                }
                None => added.push(format!("{said}{written}")),
            }
        }
        if !added.is_empty() {
            let mark = if rest.contains('#') { "; " } else { " # " };
            edits.push(Edit {
                range: TextRange::empty(self.end),
                replacement: format!("{mark}{}", added.join("; ")),
            });
        }
        edits
    }
}

/// Where the day stands that a comment has behind these words.
fn earlier_day(rest: &str, said: &str, length: usize) -> Option<usize> {
    let (_, comment) = rest.split_once('#')?;
    let from = rest.len() - comment.len();
    let starts_word = |at: usize| {
        comment
            .get(..at)
            .is_some_and(|before| !before.ends_with(char::is_alphanumeric))
    };
    let found = comment.match_indices(said).filter(|(at, _)| starts_word(*at));
    found
        .map(|(at, _)| at + said.len())
        .find(|at| comment.get(*at..*at + length).is_some_and(is_day))
        .map(|at| from + at)
}
