use drysheath_syntax::{IncompleteStatement, Token, TokenKind};
use drysheath_text::TextRange;
use drysheath_workspace::Analysis;

/// The word being written at the caret, and the tokens before it.
pub(super) struct Caret {
    /// Range of the word; the chosen item replaces it. Empty after a blank.
    pub word: TextRange,
    /// Token kind so far, if any.
    pub kind: Option<TokenKind>,
    /// The statement's tokens before the word.
    pub before: Vec<Token>,
    /// The statement of the tree that contains it, if any.
    pub statement: TextRange,
}

impl Caret {
    /// Finds the caret at an offset, and the unfinished statement. `None` within comments and texts, where nothing is
    /// offered.
    pub fn new(analysis: &Analysis, at: u32) -> Option<(Self, IncompleteStatement)> {
        let tokens = &*analysis.tree.tokens;
        let next = tokens.partition_point(|token| token.range.end < at);
        let current = tokens.get(next).filter(|token| token.range.start < at);
        let (word, kind) = match current {
            None => (TextRange::empty(at), None),
            Some(token) => match token.kind {
                TokenKind::Comment | TokenKind::OpenText => return None,
                TokenKind::Text if at < token.range.end => return None,
                TokenKind::Number | TokenKind::Date => (whole(tokens, next, token.range.end), Some(token.kind)),
                kind if kind.is_word() => (token.range, Some(kind)),
                // `ps-`, `parts/` and `2027-` are beginnings of words, and `-` that of an arrow.
                TokenKind::Unknown => {
                    let before = next
                        .checked_sub(1)
                        .and_then(|before| tokens.get(before))
                        .map(|before| before.kind);
                    match before.filter(|before| before.is_word() || is_numeric(*before)) {
                        Some(before) => (whole(tokens, next, at), Some(before)),
                        None => (TextRange::new(token.range.start, at), Some(TokenKind::Unknown)),
                    }
                }
                _ => (TextRange::empty(at), None),
            },
        };
        let statements = &analysis.tree.statements;
        let after = statements.partition_point(|statement| statement.range.start < word.start);
        let statement = after.checked_sub(1).and_then(|at| statements.get(at));
        let start = statement.map_or(word.start, |statement| statement.range.start);
        let first = tokens.partition_point(|token| token.range.start < start);
        let end = tokens.partition_point(|token| token.range.end <= word.start);
        let unfinished = IncompleteStatement::read(&analysis.text, tokens.get(first..end)?)?;
        let caret = Self {
            word,
            kind,
            statement: statement.map_or(word, |statement| statement.range),
            before: unfinished.before().to_vec(),
        };
        Some((caret, unfinished))
    }
}

fn is_numeric(kind: TokenKind) -> bool {
    matches!(kind, TokenKind::Number | TokenKind::Date)
}

/// Range of the word up to `end`, whose last token has index `last`. An unfinished date consists of several numbers.
fn whole(tokens: &[Token], last: usize, end: u32) -> TextRange {
    let mut before = tokens.get(..last).unwrap_or_default().iter().rev().peekable();
    let own = tokens.get(last).filter(|own| is_numeric(own.kind));
    let word = before.next_if(|token| own.is_none() && token.kind.is_word());
    let numbers = before.take_while(|token| word.is_none() && is_numeric(token.kind));
    let first = numbers.last().or(word).or(own);
    TextRange::new(first.map_or(end, |first| first.range.start), end)
}
