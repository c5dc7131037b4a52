//! One result with excerpts of the source from every place it speaks of.

use std::io::{self, Write};
use std::ops::Range;

use ariadne::{Cache, CharSet, Color, Config, IndexType, Label, LabelAttach, Report, ReportKind, Source};
use drysheath_rules::{Finding, Level};
use drysheath_text::{FileId, Place};

use crate::Files;

type Span = (FileId, Range<usize>);

/// Writes a result, with colours or without.
///
/// # Errors
///
/// If `out` cannot be written to.
pub fn write_finding(out: &mut dyn Write, finding: &Finding, files: &dyn Files, colour: bool) -> io::Result<()> {
    let mut excerpts = Excerpts::default();
    for place in places(finding) {
        excerpts.add(place.file, files);
    }
    let main = excerpts.span(finding.place);
    let (own_colour, code) = match finding.level {
        Level::Error => (Color::Red, 31),
        Level::Warning => (Color::Yellow, 33),
        Level::Note => (Color::Cyan, 36),
    };
    // The renderer colours its header whether colours are wanted or not, so the header is ours.
    let (on, off) = if colour {
        (format!("\u{1b}[1;{code}m"), "\u{1b}[0m")
    } else {
        (String::new(), "")
    };
    writeln!(
        out,
        "{on}{}:{off} {} [{}]",
        finding.level.word(),
        finding.message,
        finding.rule.name()
    )?;
    if excerpts.text(finding.place.file).is_empty() {
        return writeln!(out, "  in {}", files.path(finding.place.file));
    }
    let mut labels = vec![(main.clone(), None)];
    labels.extend(
        finding
            .related
            .iter()
            .map(|related| (excerpts.span(related.place), Some(related.label.as_str()))),
    );
    // One excerpt holds all that lies in the result's own file, and only if it comes in the order of the lines.
    labels.sort_by_key(|((file, range), _)| (*file != main.0, *file, range.start));
    let config = Config::default()
        .with_index_type(IndexType::Byte)
        .with_color(colour)
        .with_char_set(CharSet::Unicode)
        .with_label_attach(LabelAttach::Start);
    let mut report = Report::build(ReportKind::Custom("", own_colour), main).with_config(config);
    for (span, message) in labels {
        let label = Label::new(span);
        report.add_label(match message {
            None => label.with_color(own_colour).with_message("here"),
            Some(message) => label.with_color(Color::Blue).with_message(message),
        });
    }
    if let Some(help) = &finding.help {
        report.set_help(help);
    }
    let mut drawn = Vec::new();
    report.finish().write(&mut excerpts, &mut drawn)?;
    let header = drawn.iter().position(|byte| *byte == b'\n').map_or(0, |at| at + 1);
    out.write_all(drawn.get(header..).unwrap_or_default())
}

fn places(finding: &Finding) -> impl Iterator<Item = Place> {
    std::iter::once(finding.place).chain(finding.related.iter().map(|related| related.place))
}

/// The sources of the files that one result speaks of.
#[derive(Default)]
struct Excerpts {
    sources: Vec<(FileId, String, Source<String>)>,
}

impl Excerpts {
    fn add(&mut self, file: FileId, files: &dyn Files) {
        if self.sources.iter().all(|(other, ..)| *other != file) {
            self.sources
                .push((file, files.path(file).to_owned(), Source::from(plain(files.text(file)))));
        }
    }

    fn text(&self, file: FileId) -> &str {
        self.sources
            .iter()
            .find(|(other, ..)| *other == file)
            .map_or("", |(_, _, source)| source.text())
    }

    /// A range that the renderer can draw: within the text and on character bounds, whatever it was given.
    fn span(&self, place: Place) -> Span {
        let text = self.text(place.file);
        let bound = |at: u32| {
            let mut at = (at as usize).min(text.len());
            while !text.is_char_boundary(at) {
                at -= 1;
            }
            at
        };
        let (start, end) = (bound(place.range.start), bound(place.range.end));
        // A range that ends behind a line end is drawn up to it.
        let drawn = text.get(start..end).unwrap_or_default().trim_end_matches(['\n', '\r']);
        (place.file, start..start + drawn.len())
    }
}

/// The text with every character that the renderer would take for a line end, but no editor does, blanked out. Each blank
/// is one character of as many bytes, so that ranges and columns stay true.
fn plain(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut characters = text.chars().peekable();
    while let Some(character) = characters.next() {
        let is_end = matches!(character, '\u{b}' | '\u{c}' | '\u{85}' | '\u{2028}' | '\u{2029}')
            || character == '\r' && characters.peek() != Some(&'\n');
        if is_end {
            out.push(match character.len_utf8() {
                1 => ' ',
                2 => '\u{a0}',
                _ => '\u{2003}',
            });
        } else {
            out.push(character);
        }
    }
    out
}

impl Cache<FileId> for &mut Excerpts {
    type Storage = String;

    fn fetch(&mut self, file: &FileId) -> Result<&Source<String>, impl std::fmt::Debug> {
        let found = self.sources.iter().find(|(other, ..)| other == file);
        found
            .map(|(_, _, source)| source)
            .ok_or("the file is not among the result's files")
    }

    fn display<'a>(&self, file: &'a FileId) -> Option<impl std::fmt::Display + 'a> {
        self.sources
            .iter()
            .find(|(other, ..)| other == file)
            .map(|(_, path, _)| path.clone())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn blanked_text_keeps_its_length_and_its_lines() {
        let text = "a\u{2028}b\u{c}\rc\r\nd\n";
        let plain = plain(text);
        assert_eq!(plain.len(), text.len());
        assert_eq!(plain.chars().count(), text.chars().count());
        assert_eq!(plain, "a\u{2003}b  c\r\nd\n");
    }
}
