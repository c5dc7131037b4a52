//! Completion: what the grammar allows after the words of an incomplete statement.

use chumsky::Parser;
use chumsky::error::{Rich, RichPattern, RichReason};
use drysheath_text::TextRange;

use crate::{Token, TokenKind, grammar};

/// Something the grammar allows outside blocks, in the order in which completion offers them.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[allow(missing_docs, reason = "the labels say it")]
pub enum Expected {
    ThingKind,
    ThingName,
    Colon,
    PartName,
    OpenBrace,
    PartsFile,
    RuleName,
    On,
    AcceptedThing,
    Because,
    Reason,
    Until,
    Date,
    Expect,
}

impl Expected {
    const ALL: [Self; 14] = [
        Self::ThingKind,
        Self::ThingName,
        Self::Colon,
        Self::PartName,
        Self::OpenBrace,
        Self::PartsFile,
        Self::RuleName,
        Self::On,
        Self::AcceptedThing,
        Self::Because,
        Self::Reason,
        Self::Until,
        Self::Date,
        Self::Expect,
    ];

    /// Label in the grammar and its messages.
    pub(crate) const fn label(self) -> &'static str {
        match self {
            Self::ThingKind => "a kind of thing",
            Self::ThingName => "a name",
            Self::Colon => "`:`",
            Self::PartName => "the name of a part",
            Self::OpenBrace => "`{`",
            Self::PartsFile => "the path of a file of parts",
            Self::RuleName => "the name of a rule",
            Self::On => "`on`",
            Self::AcceptedThing => "the name of a thing",
            Self::Because => "`because`",
            Self::Expect => "`expect`",
            Self::Reason => "the reason in quotes",
            Self::Until => "`until`",
            Self::Date => "a date such as 2027-04-30",
        }
    }

    /// What the grammar allows after `tokens`, which begin a statement. Empty if they cannot be parsed.
    pub(crate) fn after(tokens: &[Token]) -> Vec<Self> {
        let end = tokens.last().map_or(0, |last| last.range.end);
        // No statement contains an unknown token, so the parser fails there and lists what it would have accepted.
        let unknown = Token {
            kind: TokenKind::Unknown,
            range: TextRange::empty(end),
        };
        let words: Vec<Token> = tokens.iter().copied().chain([unknown]).collect();
        let statement = grammar::statement::<Rich<'_, Token>>();
        let errors = statement.parse(&*words).into_errors();
        let mut expected: Vec<Self> = match errors.first() {
            Some(error) if error.span().start == tokens.len() => labels(error).filter_map(Self::find).collect(),
            _ => Vec::new(),
        };
        expected.sort_unstable();
        expected.dedup();
        expected
    }

    fn find(label: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|expected| expected.label() == label)
    }
}

/// Labels of what the grammar expected where it failed.
fn labels<'e>(error: &'e Rich<'_, Token>) -> impl Iterator<Item = &'e str> {
    let expected = match error.reason() {
        RichReason::ExpectedFound { expected, .. } => expected.as_slice(),
        RichReason::Custom(_) => &[],
    };
    expected.iter().filter_map(|pattern| match pattern {
        RichPattern::Label(label) => Some(&**label),
        _ => None,
    })
}
