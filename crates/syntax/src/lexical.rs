//! Problems of single tokens, independent of the grammar.

use drysheath_text::TextRange;

use crate::parse::LONGEST_NUMBER;
use crate::pasted::ForeignCharacter;
use crate::tree::Statement;
use crate::{Problem, ProblemId, StatementKind, Token, TokenKind};

/// Problems of the tokens of a text.
#[derive(Default)]
pub(crate) struct LexicalProblems {
    pub problems: Vec<Problem>,
    /// Positions damaged without a problem of their own.
    pub damage: Vec<u32>,
    /// Lines with a problem here: grammar problems on them are consequences.
    lines: Vec<TextRange>,
}

impl LexicalProblems {
    /// Examines the tokens of a text with these statements. `last` is a token that may be cut off by the end of the
    /// text.
    pub(crate) fn find(text: &str, tokens: &[Token], statements: &[Statement], last: Option<TextRange>) -> Self {
        let mut lexical = Self::default();
        let mut lone_return = false;
        for line in tokens.split_inclusive(|token| token.kind == TokenKind::Newline) {
            let mut slip: Option<Problem> = None;
            for (at, token) in line.iter().enumerate() {
                match token.kind {
                    // The block that is open at the end of the file is already reported.
                    TokenKind::OpenText | TokenKind::Unknown if last == Some(token.range) => {}
                    // If all lines of a file end this way there is one result, but each line is damaged.
                    TokenKind::Unknown if is_lone_return(text, token.range) => {
                        if lone_return {
                            lexical.damage.push(token.range.start);
                        } else {
                            lone_return = true;
                            lexical.problems.push(self::lone_return(token.range));
                        }
                    }
                    TokenKind::Unknown => {
                        let in_run = statement_at(text, statements, token.range.start)
                            .and_then(|at| statements.get(at))
                            .is_some_and(|statement| matches!(statement.kind, StatementKind::Run(_)));
                        let problem = ForeignCharacter { text, line, at, in_run }.problem();
                        lexical.damage.push(token.range.start);
                        match &mut slip {
                            None => slip = Some(problem),
                            Some(first) => join(first, problem),
                        }
                    }
                    TokenKind::OpenText if slip.is_none() => slip = Some(open_text(token.range)),
                    TokenKind::Number if token.range.len() > LONGEST_NUMBER => {
                        lexical.problems.push(too_long(token.range));
                    }
                    _ => {}
                }
            }
            if let (Some(problem), Some(first), Some(last)) = (slip, line.first(), line.last()) {
                lexical.lines.push(first.range.cover(last.range));
                lexical.problems.push(problem);
            }
        }
        lexical
    }

    /// Whether a problem is on a line with a problem here.
    pub(crate) fn explains(&self, problem: &Problem) -> bool {
        let at = self.lines.partition_point(|line| line.end <= problem.range.start);
        self.lines.get(at).is_some_and(|line| line.start <= problem.range.start)
    }
}

/// Whether a token can be wrong by itself. In nearly every text none can.
pub(crate) fn is_suspect(token: &Token) -> bool {
    match token.kind {
        TokenKind::Unknown | TokenKind::OpenText | TokenKind::MergeMarker => true,
        TokenKind::Number => token.range.len() > LONGEST_NUMBER,
        _ => false,
    }
}

/// Merges a further problem of the same kind on a line: one fix corrects both.
fn join(first: &mut Problem, other: Problem) {
    if let (Some(fix), Some(more)) = (&mut first.fix, other.fix)
        && fix.title == more.title
    {
        fix.edits.extend(more.edits);
    }
}

/// The statement that contains `place`, or else one before or after it on the same line.
pub(crate) fn statement_at(text: &str, statements: &[Statement], place: u32) -> Option<usize> {
    let after = statements.partition_point(|statement| statement.range.start <= place);
    let on_one_line = |from: u32, to: u32| !TextRange::new(from, to).of(text).contains('\n');
    let before = after.checked_sub(1).filter(|before| {
        let end = statements.get(*before).map_or(0, |statement| statement.range.end);
        end > place || on_one_line(end, place)
    });
    let next = statements
        .get(after)
        .filter(|next| on_one_line(place, next.range.start));
    before.or(next.map(|_| after))
}

/// Whether an unknown token is a carriage return without a line feed.
fn is_lone_return(text: &str, range: TextRange) -> bool {
    range.of(text).bytes().all(|byte| byte == b'\r')
}

fn lone_return(range: TextRange) -> Problem {
    let message =
        "a carriage return without a line feed does not end a line, although many editors show it as a line end";
    Problem::new(ProblemId::StatementUnreadable, range, message).help("save the file with LF or CRLF line ends")
}

fn open_text(range: TextRange) -> Problem {
    Problem::new(
        ProblemId::StatementUnreadable,
        range,
        "this text has no closing quote on its line",
    )
    .help("put `\"` where the text ends")
}

fn too_long(range: TextRange) -> Problem {
    let message = format!(
        "this number has {} characters, and at most {LONGEST_NUMBER} are read",
        range.len()
    );
    Problem::new(ProblemId::NumberTooLong, range, message)
}
