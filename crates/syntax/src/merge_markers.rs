//! Remains of an unfinished merge in a text: two versions of some lines, between markers.

use drysheath_text::{FileId, Place, TextRange};

use crate::{Fix, Problem, ProblemId, Token, TokenKind};

const MARKER: usize = 7;
const OURS: &str = "<<<<<<<";
const BASE: &str = "|||||||";
const MIDDLE: &str = "=======";
const THEIRS: &str = ">>>>>>>";

/// Length of the merge marker at `start`, if a line starts there and is one.
pub(crate) fn marker_length(text: &str, start: usize) -> Option<usize> {
    let starts_line = start == 0 || text.as_bytes().get(start - 1) == Some(&b'\n');
    let line = text.get(start..).filter(|_| starts_line)?;
    let is_marker = [OURS, BASE, MIDDLE, THEIRS]
        .iter()
        .any(|marker| line.starts_with(marker));
    let line = line.split('\n').next().filter(|_| is_marker)?;
    let line = line.strip_suffix('\r').unwrap_or(line);
    let ends = line
        .get(MARKER..)
        .is_some_and(|rest| rest.is_empty() || rest.starts_with(' '));
    ends.then_some(line.len())
}

/// Merge conflicts in a text.
#[derive(Default)]
pub(crate) struct MergeConflicts {
    /// Ranges of the versions that are skipped: all but the first of each conflict.
    pub left_out: Vec<TextRange>,
    /// One problem per conflict.
    pub conflicts: Vec<Problem>,
    /// Problems of markers that do not form a complete conflict.
    pub stray: Vec<Problem>,
}

impl MergeConflicts {
    /// Finds the conflicts among the tokens of `text`.
    pub(crate) fn find(text: &str, tokens: &[Token]) -> Self {
        let mut merges = Self::default();
        let mut open: Vec<Token> = Vec::new();
        for token in tokens.iter().filter(|token| token.kind == TokenKind::MergeMarker) {
            let written = token.range.of(text);
            let last = open.last().map(|last| last.range.of(text));
            let continues = |after: &str| last.is_some_and(|last| last.starts_with(after));
            let fits = (written.starts_with(BASE) && continues(OURS))
                || (written.starts_with(MIDDLE) && (continues(OURS) || continues(BASE)))
                || (written.starts_with(THEIRS) && continues(MIDDLE));
            if !fits {
                merges.drop_open(text, &mut open);
            }
            if fits || written.starts_with(OURS) {
                open.push(*token);
            } else {
                merges.stray.push(stray(text, *token));
            }
            if written.starts_with(THEIRS) && fits {
                merges.conflict(text, &open);
                open.clear();
            }
        }
        merges.drop_open(text, &mut open);
        merges
    }

    fn drop_open(&mut self, text: &str, open: &mut Vec<Token>) {
        self.stray.extend(open.drain(..).map(|token| stray(text, token)));
    }

    fn conflict(&mut self, text: &str, markers: &[Token]) {
        let [ours, after_ours, .., theirs] = markers else {
            return;
        };
        self.left_out
            .push(TextRange::new(after_ours.range.end, theirs.range.start));
        let version = |token: &Token, otherwise: &str| match token.range.of(text).get(MARKER..).map(str::trim) {
            Some(name) if !name.is_empty() => format!("the version of `{name}`"),
            _ => otherwise.to_owned(),
        };
        let place = |range| Place {
            file: FileId::default(),
            range,
        };
        self.conflicts.push(
            Problem::new(
                ProblemId::StatementUnreadable,
                ours.range,
                "a merge was not finished: both versions of these lines are in the file",
            )
            .related(place(ours.range), version(ours, "one version"))
            .related(place(theirs.range), version(theirs, "the other version"))
            .help("keep the lines that are right, and delete the others together with the marker lines"),
        );
    }
}

/// Problem of a marker without the others of its conflict.
fn stray(text: &str, token: Token) -> Problem {
    let after = text.get(token.range.end as usize..).unwrap_or_default();
    let ending = ["\r\n", "\n"].iter().find(|ending| after.starts_with(**ending));
    let line = TextRange::new(
        token.range.start,
        token.range.end + ending.map_or(0, |ending| ending.len() as u32),
    );
    Problem::new(
        ProblemId::StatementUnreadable,
        token.range,
        "this line is left over from a merge",
    )
    .help("delete the line, once the lines around it are right")
    .fix(Fix::replace(line, "", "Delete the line"))
}
