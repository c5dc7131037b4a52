//! Writes each format of records to its file or to standard output, office by office.

use std::io::{self, BufWriter, Seek, SeekFrom, Write};
use std::path::Path;

use drysheath_disk::Replacement;
use drysheath_report::{CsvRow, CsvRows, Difference, OfficeRecords, RecordsFormat, RecordsWriter};

use crate::arguments::{RecordsArguments, RecordsForm};
use crate::standard_streams::print;

use super::temporary::Temporary;

/// Requested formats, in the order of the arguments.
pub(crate) struct Forms<'d> {
    all: Vec<FormOf<'d>>,
    difference: Option<&'d Difference>,
}

enum FormOf<'d> {
    Pieces(RecordsWriter<'d>),
    Csv,
}

/// Contribution of an office to one format.
pub(crate) enum OfficeOutput {
    Text(String),
    Rows(Vec<CsvRow>),
}

impl<'d> Forms<'d> {
    /// Formats of records, with the difference to a revision.
    pub fn new(arguments: &RecordsArguments, since: Option<(&str, &'d Difference)>) -> Self {
        let pieces = |wording| FormOf::Pieces(RecordsWriter::new(wording, since, arguments.all));
        let asked = |form| match form {
            RecordsForm::Markdown => pieces(RecordsFormat::Markdown),
            RecordsForm::Json => pieces(RecordsFormat::Json),
            RecordsForm::Csv => FormOf::Csv,
        };
        Self {
            all: if arguments.note {
                vec![pieces(RecordsFormat::Note)]
            } else {
                arguments.output.iter().map(|output| asked(output.form)).collect()
            },
            difference: since.map(|(_, difference)| difference),
        }
    }

    /// Contribution of an office to each format. May be called from any thread.
    pub fn of(&self, office: &OfficeRecords) -> Vec<OfficeOutput> {
        let of = |form: &FormOf<'d>| match form {
            FormOf::Pieces(pieces) => OfficeOutput::Text(pieces.of(office)),
            FormOf::Csv => OfficeOutput::Rows(CsvRow::of(office, self.difference)),
        };
        self.all.iter().map(of).collect()
    }
}

/// Outputs being written. An error in one does not stop the others.
pub(crate) struct Outputs<'f> {
    all: Vec<Output<'f>>,
    offices: usize,
    is_any_ready: bool,
}

struct Output<'f> {
    form: &'f FormOf<'f>,
    /// For CSV: rows, until all are known.
    rows: Option<CsvRows<'f, Temporary>>,
    to: Destination,
    /// What failed in this output, in words.
    troubles: Vec<String>,
    path: Option<&'f Path>,
}

/// Destination of an output.
enum Destination {
    Standard,
    /// Standard output, after everything that precedes it there.
    Later(Temporary),
    File(Replacement),
    /// Writing failed; the rest is dropped.
    Failed,
}

impl Write for Destination {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        match self {
            Self::Standard => print(bytes).map(|()| bytes.len()),
            Self::Later(file) => file.write(bytes),
            Self::File(file) => file.write(bytes),
            Self::Failed => Ok(bytes.len()),
        }
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

impl<'f> Outputs<'f> {
    /// Opens all outputs and writes what precedes the first office.
    pub fn begin(forms: &'f Forms<'f>, arguments: &'f RecordsArguments) -> Self {
        let paths = arguments.output.iter().map(|output| output.to.as_deref());
        let paths: Vec<_> = if arguments.note { vec![None] } else { paths.collect() };
        let first = paths.iter().position(Option::is_none);
        let all = forms.all.iter().zip(paths).enumerate();
        let all = all.map(|(at, (form, path))| {
            let mut output = Output {
                form,
                rows: None,
                to: Destination::Failed,
                troubles: Vec::new(),
                path,
            };
            let opened = match path {
                Some(path) => Replacement::begin(path).map(Destination::File),
                None if first == Some(at) => Ok(Destination::Standard),
                None => Ok(Destination::Later(Temporary::new())),
            };
            output.attempt(|output| {
                output.to = opened?;
                match form {
                    FormOf::Pieces(pieces) => output.to.write_all(pieces.start().as_bytes()),
                    FormOf::Csv => {
                        output.rows = Some(CsvRows::new(Temporary::new(), forms.difference));
                        Ok(())
                    }
                }
            });
            output
        });
        Self {
            all: all.collect(),
            offices: 0,
            is_any_ready: false,
        }
    }

    /// Adds the contributions of an office to all formats. The office is ready if nothing is missing in it.
    pub fn put(&mut self, pieces: Vec<OfficeOutput>, is_ready: bool) {
        let before = self.offices;
        for (output, piece) in self.all.iter_mut().zip(pieces) {
            output.attempt(|output| match (piece, output.form, &mut output.rows) {
                (OfficeOutput::Text(text), FormOf::Pieces(pieces), _) => output
                    .to
                    .write_all(format!("{}{text}", pieces.before(before)).as_bytes()),
                (OfficeOutput::Rows(rows), _, Some(all)) => all.put(&rows),
                _ => Ok(()),
            });
        }
        self.offices += 1;
        self.is_any_ready |= is_ready;
    }

    /// Ends all outputs and puts their files in place. Returns error messages.
    pub fn finish(self) -> Vec<String> {
        let (offices, is_any_ready) = (self.offices, self.is_any_ready);
        let finished = self.all.into_iter().flat_map(|mut output| {
            output.attempt(|output| {
                if let FormOf::Pieces(pieces) = output.form {
                    output.to.write_all(pieces.end(offices, is_any_ready).as_bytes())?;
                }
                if let Some(rows) = output.rows.take() {
                    let mut to = BufWriter::new(&mut output.to);
                    rows.finish(&mut to)?;
                    to.flush()?;
                }
                match std::mem::replace(&mut output.to, Destination::Failed) {
                    Destination::File(file) => {
                        let lost = file.finish()?.into_iter().map(|lost| output.named(&lost));
                        output.troubles.extend(lost.collect::<Vec<_>>());
                    }
                    Destination::Later(mut file) => {
                        file.seek(SeekFrom::Start(0))?;
                        io::copy(&mut file, &mut Destination::Standard)?;
                    }
                    Destination::Standard | Destination::Failed => {}
                }
                Ok(())
            });
            output.troubles
        });
        finished.collect()
    }
}

impl Output<'_> {
    /// Runs an operation, unless one has failed before.
    fn attempt(&mut self, work: impl FnOnce(&mut Self) -> io::Result<()>) {
        if let Err(error) = work(self) {
            let why = self.named(&error.to_string());
            self.troubles.push(why);
            (self.to, self.rows) = (Destination::Failed, None);
        }
    }

    /// Prefixes a message with the path of the output.
    fn named(&self, why: &str) -> String {
        self.path
            .map_or_else(|| why.to_owned(), |path| format!("{}: {why}", path.display()))
    }
}
