//! Folding ranges: blocks, groups of comments, and groups of similar statements.

use drysheath_syntax::{Medium, Statement, StatementKind, TokenKind};
use drysheath_text::{Encoding, TextRange};
use drysheath_workspace::Analysis;

/// A foldable range of lines.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Fold {
    /// The line that stays visible, from 0.
    pub first: u32,
    /// The last hidden line.
    pub last: u32,
    /// What is folded, which decides how an editor treats it.
    pub kind: FoldKind,
}

/// Kind of a foldable range.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum FoldKind {
    /// A block, or a statement of several lines.
    Block,
    /// Comments on lines of their own.
    Comment,
    /// Consecutive statements of one kind: runs of one medium, spares, acceptances.
    Row,
    /// Consecutive `use` statements.
    Uses,
}

/// The folding ranges of a file, in order.
pub fn folding(analysis: &Analysis) -> Vec<Fold> {
    let mut folds = blocks(analysis);
    folds.extend(comments(analysis));
    folds.extend(rows(analysis));
    folds.retain(|fold| fold.first < fold.last);
    folds.sort_unstable();
    folds.dedup_by_key(|fold| (fold.first, fold.last));
    folds
}

fn line_of(analysis: &Analysis, offset: u32) -> u32 {
    analysis.lines.position(&analysis.text, offset, Encoding::Utf8).line
}

/// Blocks, from the line of the opening brace to the line before the closing one, and runs that span several lines.
fn blocks(analysis: &Analysis) -> Vec<Fold> {
    let mut open = Vec::new();
    let mut folds = Vec::new();
    for token in &analysis.tree.words {
        match token.kind {
            TokenKind::OpenBrace => open.push(token.range),
            TokenKind::CloseBrace => {
                if let Some(start) = open.pop() {
                    folds.push(Fold {
                        first: line_of(analysis, start.start),
                        last: last_inside(analysis, token.range),
                        kind: FoldKind::Block,
                    });
                }
            }
            _ => {}
        }
    }
    let runs = analysis.tree.statements.iter();
    let runs = runs.filter(|statement| matches!(statement.kind, StatementKind::Run(_)));
    folds.extend(runs.map(|run| Fold {
        first: line_of(analysis, run.range.start),
        last: line_of(analysis, run.range.end),
        kind: FoldKind::Block,
    }));
    folds
}

/// The last line of a folded block: the closing brace's own line stays visible if nothing of the block is on it.
fn last_inside(analysis: &Analysis, brace: TextRange) -> u32 {
    let line = line_of(analysis, brace.start);
    let start = analysis.lines.line(&analysis.text, line).start;
    let before = TextRange::new(start, brace.start).of(&analysis.text);
    if before.trim().is_empty() && !brace.is_empty() {
        line.saturating_sub(1)
    } else {
        line
    }
}

/// Consecutive comments on lines of their own.
fn comments(analysis: &Analysis) -> Vec<Fold> {
    let mut folds: Vec<Fold> = Vec::new();
    let mut is_first_on_line = true;
    for token in &analysis.tree.tokens {
        match token.kind {
            TokenKind::Space => {}
            TokenKind::Newline => is_first_on_line = true,
            TokenKind::Comment if is_first_on_line => {
                let line = line_of(analysis, token.range.start);
                match folds.last_mut().filter(|fold| fold.last + 1 == line) {
                    Some(fold) => fold.last = line,
                    None => folds.push(Fold {
                        first: line,
                        last: line,
                        kind: FoldKind::Comment,
                    }),
                }
            }
            _ => is_first_on_line = false,
        }
    }
    folds
}

/// The kinds of statements that fold together.
#[derive(PartialEq, Eq)]
enum RowKind {
    Runs(Medium),
    Uses,
    Spares,
    Stated,
    Accepted,
    Readings,
    Expectations,
}

fn row_kind(statement: &Statement) -> Option<RowKind> {
    match &statement.kind {
        StatementKind::Run(run) => Some(RowKind::Runs(run.medium)),
        StatementKind::Use(_) => Some(RowKind::Uses),
        StatementKind::Spare(_) => Some(RowKind::Spares),
        StatementKind::Pairs(_) => Some(RowKind::Stated),
        StatementKind::Accept(_) => Some(RowKind::Accepted),
        StatementKind::Reading(_) => Some(RowKind::Readings),
        StatementKind::When(_) => Some(RowKind::Expectations),
        StatementKind::Part(_) | StatementKind::Thing(_) | StatementKind::Unreadable => None,
    }
}

/// Statements of one kind on consecutive lines.
fn rows(analysis: &Analysis) -> Vec<Fold> {
    let follows = |one: &Statement, other: &Statement| {
        let between = TextRange::new(one.range.end, other.range.start).of(&analysis.text);
        row_kind(one).is_some_and(|own| Some(own) == row_kind(other)) && between.matches('\n').count() == 1
    };
    let rows = analysis.tree.statements.chunk_by(follows);
    rows.filter_map(|row| {
        let [first, .., last] = row else { return None };
        let is_uses = matches!(first.kind, StatementKind::Use(_));
        Some(Fold {
            first: line_of(analysis, first.range.start),
            last: line_of(analysis, last.range.end),
            kind: if is_uses { FoldKind::Uses } else { FoldKind::Row },
        })
    })
    .collect()
}
