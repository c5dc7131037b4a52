//! Reads the value of a field, a run's end or a `with`, token by token.

use drysheath_engineering::standard::NamedStandardConditions;
use drysheath_syntax::{Fix, Token, TokenKind};
use drysheath_text::TextRange;

use super::annotations::Annotations;
use super::candidates::Candidate;
use crate::kinds::{Domain, FieldSpec, Shape};
use crate::problem::{Problem, ProblemId};
use crate::semantics::Meaning;

/// Result of reading: the value, or the problem.
pub(super) type Read<T> = Result<T, Box<Problem>>;

pub(super) const VALUE: ProblemId = ProblemId::ValueUnreadable;

#[derive(Clone)]
pub(super) struct Reader<'t> {
    pub(super) text: &'t str,
    pub(super) tokens: &'t [Token],
    pub(super) at: usize,
    /// Place before the first token, for reporting something that is missing altogether.
    before: TextRange,
    /// Records the meaning of each token, if the caller needs it.
    pub(super) annotations: Option<&'t Annotations<'t>>,
    /// Conditions that standard volumes refer to.
    pub(super) standard: &'static NamedStandardConditions,
}

/// What is expected, formatted only if it is missing: nearly always it is there.
#[derive(Clone, Copy)]
pub(super) enum Wanted {
    Shape(Shape),
    Words(&'static str),
    /// The other end of a range.
    OtherEnd(Shape),
}

impl Wanted {
    pub(super) fn words(self) -> String {
        match self {
            Self::Shape(shape) => shape.wanted(),
            Self::Words(words) => words.to_owned(),
            Self::OtherEnd(shape) => format!("{}, with both its ends", shape.wanted()),
        }
    }
}

/// Context of a value, for messages and checks.
#[derive(Clone, Copy)]
pub(super) struct Context<'c> {
    /// Subject of a message.
    pub subject: &'c str,
    /// Fields that may follow if a comma is missing.
    pub siblings: &'c [FieldSpec],
    /// Meaning of `yes` and `no`.
    pub doc: &'static str,
    /// Whether a quantity is a difference of two figures rather than a figure on their scale.
    pub is_difference: bool,
    /// Range of plausible figures, if known before reading.
    pub domain: Option<&'static Domain>,
}

impl<'c> Context<'c> {
    pub(super) fn of(subject: &'c str) -> Self {
        Self {
            subject,
            siblings: &[],
            doc: "",
            is_difference: false,
            domain: None,
        }
    }
}

impl<'t> Reader<'t> {
    pub(super) fn new(
        text: &'t str,
        tokens: &'t [Token],
        before: TextRange,
        standard: &'static NamedStandardConditions,
    ) -> Self {
        Self {
            text,
            tokens,
            at: 0,
            before,
            annotations: None,
            standard,
        }
    }

    /// The same reader, but recording the meanings of tokens and candidates.
    pub(super) fn annotating(self, annotations: Option<&'t Annotations<'t>>) -> Self {
        Self { annotations, ..self }
    }

    /// A copy for lookahead, which records nothing.
    pub(super) fn ahead(&self) -> Self {
        Self {
            annotations: None,
            ..self.clone()
        }
    }

    pub(super) fn peek(&self) -> Option<Token> {
        self.tokens.get(self.at).copied()
    }

    pub(super) fn peek_text(&self) -> &'t str {
        self.peek().map_or("", |token| token.range.of(self.text))
    }

    pub(super) fn next(&mut self) -> Option<Token> {
        let token = self.peek()?;
        self.at += 1;
        Some(token)
    }

    pub(super) fn next_if(&mut self, wanted: impl Fn(TokenKind) -> bool) -> Option<(&'t str, TextRange)> {
        let token = self.peek().filter(|token| wanted(token.kind))?;
        self.at += 1;
        Some((token.range.of(self.text), token.range))
    }

    pub(super) fn word(&mut self) -> Option<(&'t str, TextRange)> {
        self.next_if(TokenKind::is_word)
    }

    pub(super) fn word_is(&mut self, wanted: &str) -> bool {
        let found = self.peek().is_some_and(|token| token.kind.is_word()) && self.peek_text() == wanted;
        if found {
            self.at += 1;
            self.annotate(Meaning::Keyword);
        }
        found
    }

    /// Adds a word as candidate, and reads it if it is there.
    pub(super) fn candidate_word(&mut self, wanted: &'static str) -> bool {
        self.candidate(Candidate::Word(wanted));
        self.word_is(wanted)
    }

    /// The last token read, or the place before the first.
    pub(super) fn last(&self) -> TextRange {
        self.at
            .checked_sub(1)
            .and_then(|at| self.tokens.get(at))
            .map_or(self.before, |token| token.range)
    }

    /// The range from token number `from` to the last token read.
    pub(super) fn read_range(&self, from: usize) -> TextRange {
        let first = self.tokens.get(from).map_or(self.before, |token| token.range);
        if self.at > from {
            first.cover(self.last())
        } else {
            first
        }
    }

    /// Number of remaining tokens.
    pub(super) fn left(&self) -> usize {
        self.tokens.len() - self.at.min(self.tokens.len())
    }

    /// Range of the remaining tokens.
    pub(super) fn rest(&self) -> Option<TextRange> {
        let first = self.peek()?;
        Some(
            self.tokens
                .last()
                .map_or(first.range, |last| first.range.cover(last.range)),
        )
    }

    /// The problem of a repeated token: the next one equals the last.
    pub(super) fn again(&self) -> Option<Box<Problem>> {
        let token = self.peek()?;
        let last = self.last();
        let written = token.range.of(self.text);
        if written != last.of(self.text) || last == token.range {
            return None;
        }
        let second = TextRange::new(last.end, token.range.end);
        let problem = Problem::new(VALUE, token.range, format!("`{written}` is written twice"));
        Some(Box::new(problem.fix(Fix::replace(
            second,
            "",
            format!("Delete the second `{written}`"),
        ))))
    }

    pub(super) fn wanted(&self, context: Context<'_>, what: Wanted) -> Box<Problem> {
        if let Some(problem) = self.again() {
            return problem;
        }
        let what = what.words();
        let message = match self.peek() {
            Some(found) => (
                found.range,
                format!(
                    "`{}` expects {what}, found `{}`",
                    context.subject,
                    found.range.of(self.text)
                ),
            ),
            None => (self.last(), format!("`{}` expects {what} after it", context.subject)),
        };
        Box::new(Problem::new(VALUE, message.0, message.1))
    }
}
