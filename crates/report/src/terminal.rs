//! A result on a terminal, with source excerpts for all its places.

mod excerpt;

use std::io::{self, Write};
use std::ops::Range;

use ariadne::{Cache, CharSet, Color, Config, IndexType, Label, LabelAttach, Report, ReportKind, Source};
use drysheath_rules::{Finding, Level};
use drysheath_text::safe::{line, terminal};
use drysheath_text::{FileId, Place};

use self::excerpt::Excerpt;
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
        excerpts.add(place.file, finding, files);
    }
    let main = excerpts.span(finding.place);
    let (own_colour, code) = match finding.level {
        Level::Error => (Color::Red, 31),
        Level::Warning => (Color::Yellow, 33),
        Level::Note => (Color::Cyan, 36),
    };
    // The renderer colours its header even without colours, so the header is written here.
    let (on, off) = if colour {
        (format!("\u{1b}[1;{code}m"), "\u{1b}[0m")
    } else {
        (String::new(), "")
    };
    writeln!(
        out,
        "{on}{}:{off} {} [{}]",
        finding.level.word(),
        terminal(&finding.message),
        finding.rule.name()
    )?;
    if excerpts.text(finding.place.file).is_empty() {
        return writeln!(out, "  in {}", line(files.path(finding.place.file)));
    }
    let mut labels = vec![(main.clone(), None)];
    labels.extend(
        finding
            .related
            .iter()
            .map(|related| (excerpts.span(related.place), Some(related.label.as_str()))),
    );
    // Labels in one file share an excerpt only if they are in the order of the lines. Files are in the order in which
    // the result names them, its own first: their ids depend on the thread that found them.
    labels.sort_by_key(|((file, range), _)| (excerpts.position(*file), range.start));
    let config = Config::default()
        .with_index_type(IndexType::Char)
        .with_color(colour)
        .with_char_set(CharSet::Unicode)
        .with_label_attach(LabelAttach::Start);
    let mut report = Report::build(ReportKind::Custom("", own_colour), main).with_config(config);
    // The header has the message, so the label of the result's own place has the rule's name.
    let said = finding.rule.name().replace('-', " ");
    for (span, message) in labels {
        let label = Label::new(span);
        report.add_label(match message {
            None => label.with_color(own_colour).with_message(&said),
            Some(message) => label.with_color(Color::Blue).with_message(terminal(message)),
        });
    }
    if let Some(help) = &finding.help {
        report.set_help(terminal(help));
    }
    let mut drawn = Vec::new();
    report.finish().write(&mut excerpts, &mut drawn)?;
    let header = drawn.iter().position(|byte| *byte == b'\n').map_or(0, |at| at + 1);
    let mut drawn = drawn.get(header..).unwrap_or_default();
    // The true position is followed by the renderer's own, up to the next blank: skip that.
    while let Some(at) = drawn.iter().position(|byte| *byte == POSITION_ENDS) {
        let (before, behind) = drawn.split_at(at);
        out.write_all(before)?;
        let blank = behind.iter().position(|byte| *byte == b' ').unwrap_or(behind.len());
        drawn = behind.get(blank..).unwrap_or_default();
    }
    out.write_all(drawn)
}

/// Marks the end of a position written here. It cannot occur in drawn text, which is all safe for a terminal.
const POSITION_ENDS: u8 = 1;

fn places(finding: &Finding) -> impl Iterator<Item = Place> {
    std::iter::once(finding.place).chain(finding.related.iter().map(|related| related.place))
}

/// The excerpts of the files that a result refers to.
#[derive(Default)]
struct Excerpts {
    files: Vec<Drawn>,
}

struct Drawn {
    file: FileId,
    /// Heading of the excerpt: the path, with line and column where the renderer cannot know them.
    title: String,
    excerpt: Excerpt,
}

impl Excerpts {
    fn add(&mut self, file: FileId, finding: &Finding, files: &dyn Files) {
        if self.files.iter().any(|drawn| drawn.file == file) {
            return;
        }
        let text = files.text(file);
        let marks = || {
            places(finding)
                .filter(|place| place.file == file)
                .map(|place| place.range)
        };
        let excerpt = Excerpt::of(text, marks());
        let path = line(files.path(file));
        let first = if file == finding.place.file {
            finding.place.range.start
        } else {
            marks().map(|mark| mark.start).min().unwrap_or_default()
        };
        self.files.push(Drawn {
            file,
            title: match excerpt.position(text, first) {
                Some(position) => format!("{path}:{position}{}", char::from(POSITION_ENDS)),
                None => path.into_owned(),
            },
            excerpt,
        });
    }

    /// Index of the file among those of the result, its own being the first.
    fn position(&self, file: FileId) -> Option<usize> {
        self.files.iter().position(|drawn| drawn.file == file)
    }

    fn of(&self, file: FileId) -> Option<&Drawn> {
        self.files.iter().find(|drawn| drawn.file == file)
    }

    fn text(&self, file: FileId) -> &str {
        self.of(file).map_or("", |drawn| drawn.excerpt.source.text())
    }

    /// A range for the renderer: within the text, in characters. It takes bytes as well, but then panics if a second
    /// file has a character of several bytes above its label.
    fn span(&self, place: Place) -> Span {
        let text = self.text(place.file);
        let before = |at: u32| {
            let at = self.of(place.file).map_or(0, |drawn| drawn.excerpt.drawn_at(at));
            text.get(..text.floor_char_boundary(at)).unwrap_or_default()
        };
        let (before_start, before_end) = (before(place.range.start), before(place.range.end));
        // A range is drawn only up to a final line end.
        let drawn = before_end.get(before_start.len()..).unwrap_or_default();
        let start = before_start.chars().count();
        let length = drawn.trim_end_matches(['\n', '\r']).chars().count();
        (place.file, start..start + length)
    }
}

impl Cache<FileId> for &mut Excerpts {
    type Storage = String;

    fn fetch(&mut self, file: &FileId) -> Result<&Source<String>, impl std::fmt::Debug> {
        let found = self.of(*file);
        found
            .map(|drawn| &drawn.excerpt.source)
            .ok_or("the file is not among the result's files")
    }

    fn display<'a>(&self, file: &'a FileId) -> Option<impl std::fmt::Display + 'a> {
        self.of(*file).map(|drawn| drawn.title.clone())
    }
}

#[cfg(test)]
#[allow(clippy::expect_used, reason = "a test fails by a panic")]
mod tests {
    use drysheath_rules::RuleId;
    use drysheath_text::TextRange;

    use super::*;

    struct Two;

    impl Files for Two {
        fn path(&self, file: FileId) -> &str {
            if file == FileId(0) { "one.office" } else { "two.office" }
        }

        fn text(&self, file: FileId) -> &str {
            if file == FileId(0) {
                "site A\n"
            } else {
                "# ééé 漏漏\nsite A\n"
            }
        }
    }
    #[test]
    fn characters_of_several_bytes_above_a_second_file_s_label_do_no_harm() {
        let place = |file, start| Place {
            file: FileId(file),
            range: TextRange::new(start, start + 4),
        };
        let rule = RuleId::SiteCodeTwice.rule();
        let mut finding = Finding::new(rule, rule.level, place(0, 0), "twice".to_owned());
        finding.related(place(1, 16), "first");
        let mut out = Vec::new();
        assert!(write_finding(&mut out, &finding, &Two, false).is_ok());
        let out = String::from_utf8_lossy(&out);
        assert!(out.contains("site code twice") && out.contains("first"), "{out}");
        assert!(
            out.contains("one.office:1:1") && out.contains("two.office:2:1"),
            "{out}"
        );
    }

    /// File ids depend on the order in which threads find the files.
    #[test]
    fn files_come_in_the_order_of_the_result_whatever_their_numbers() {
        struct Numbered([&'static str; 3]);
        impl Files for Numbered {
            fn path(&self, file: FileId) -> &str {
                self.0.get(file.0 as usize).copied().unwrap_or_default()
            }

            fn text(&self, _: FileId) -> &'static str {
                "site A\n"
            }
        }
        let shown = |names: [&'static str; 3]| {
            let number = |name| names.iter().position(|own| *own == name).unwrap_or_default() as u32;
            let place = |name| Place {
                file: FileId(number(name)),
                range: TextRange::new(0, 4),
            };
            let rule = RuleId::SiteCodeTwice.rule();
            let mut finding = Finding::new(rule, rule.level, place("b"), "twice".to_owned());
            finding.related(place("c"), "second");
            finding.related(place("a"), "third");
            let mut out = Vec::new();
            assert!(write_finding(&mut out, &finding, &Numbered(names), false).is_ok());
            String::from_utf8_lossy(&out).into_owned()
        };
        assert_eq!(shown(["a", "b", "c"]), shown(["c", "a", "b"]));
        assert_eq!(shown(["a", "b", "c"]), shown(["b", "c", "a"]));
    }
}
