//! An office that is edited, for the benchmarks of that.

use std::path::Path;
use std::sync::Arc;

use drysheath_office::Date;
use drysheath_text::{Encoding, LineIndex, Position};
use drysheath_workspace::{Change, Content, Memory, Workspace};
use drysheath_xtask::county::{self, Options};

const TODAY: Date = Date {
    year: 2026,
    month: 11,
    day: 1,
};

/// An office that an editor has open, beside the parts that it uses.
pub struct Editing {
    workspace: Workspace,
    path: String,
    /// Behind digits all over the file.
    places: Vec<Position>,
    edits: usize,
}

impl Editing {
    /// An office of about so many lines.
    pub fn new(lines: u32) -> Self {
        let options = Options {
            offices: 1,
            seed: 1,
            lines,
            faults: false,
        };
        let office = county::office(&options, 0);
        let path = format!("/county/{}", office.path);
        let shared = county::shared_files(std::slice::from_ref(&office)).into_iter();
        let files = shared.map(|(path, text)| (format!("/county/{path}"), content(&text)));
        let mut workspace = Workspace::new(Arc::new(files.collect::<Memory>()), TODAY);
        workspace.set_folders(vec!["/county".into()]);
        let lines = LineIndex::new(&office.text);
        let digits = office.text.match_indices(|character: char| character.is_ascii_digit());
        let behind = digits.map(|(at, _)| lines.position(&office.text, at as u32 + 1, Encoding::Utf16));
        let places = behind.skip(20).step_by(7).collect();
        workspace.set_buffer(Path::new(&path), Some(0), content(&office.text));
        Self {
            workspace,
            path,
            places,
            edits: 0,
        }
    }

    /// Puts a digit in, or takes it out again, and takes in the results. Their number.
    pub fn edit(&mut self) -> usize {
        let (number, takes) = (self.edits / 2, self.edits % 2 == 1);
        self.edits += 1;
        let start = self.places.get(number % self.places.len()).copied();
        let start = start.unwrap_or(Position { line: 0, column: 0 });
        let end = Position {
            column: start.column + u32::from(takes),
            ..start
        };
        let change = Change::Part {
            start,
            end,
            text: if takes { String::new() } else { "7".to_owned() },
        };
        let path = Path::new(&self.path);
        let version = i32::try_from(self.edits).unwrap_or(i32::MAX);
        let edited = self.workspace.edit(path, version, [change], Encoding::Utf16);
        edited.map_or(0, |(file, _)| {
            let results = self.workspace.now().lint(file);
            let found = results.findings.len();
            self.workspace.put(results);
            self.workspace.sweep();
            found
        })
    }
}

fn content(text: &str) -> Content {
    Content {
        text: text.into(),
        problem: None,
    }
}
