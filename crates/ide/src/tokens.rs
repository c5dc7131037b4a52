//! Semantic tokens, for editors that colour by meaning.

use drysheath_office::Meaning;
use drysheath_syntax::TokenKind;
use drysheath_text::TextRange;
use drysheath_workspace::Analysis;

/// Colour class of a word.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Class {
    /// A keyword of the language.
    Keyword,
    /// A kind of thing.
    Kind,
    /// The name of a thing.
    Thing,
    /// The name of something inside a thing.
    Inner,
    /// The name of a part.
    Part,
    /// A field or port.
    Field,
    /// A word of a choice.
    Choice,
    /// A number or date.
    Number,
    /// The unit of a number.
    Unit,
    /// A text between quotes.
    Text,
    /// A comment to the end of the line.
    Comment,
    /// The name of a rule.
    Rule,
    /// The path of a file of parts.
    Path,
    /// `->`, `..` and `:`.
    Operator,
}

/// A word with its class.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Coloured {
    /// Range of the word, within one line.
    pub range: TextRange,
    /// Class of the token, which determines its colour.
    pub class: Class,
    /// Whether it is a declaration.
    pub declares: bool,
}

/// The words in a range, in order; all words without a range.
pub fn tokens(analysis: &Analysis, range: Option<TextRange>) -> Vec<Coloured> {
    let whole = TextRange::new(0, analysis.text.len() as u32);
    let wanted = range.unwrap_or(whole);
    let touches = |range: TextRange| range.start < wanted.end && range.end > wanted.start;
    let tree = &analysis.tree;
    let start = tree
        .statements
        .partition_point(|statement| statement.range.end <= wanted.start);
    let statements = tree.statements.iter().skip(start);
    let mut tokens: Vec<Coloured> = statements
        .take_while(|statement| statement.range.start < wanted.end)
        .flat_map(|statement| analysis.office.semantic_tokens(tree, statement))
        .filter(|token| touches(token.range) && !token.range.is_empty())
        .filter_map(|token| {
            let (class, declares) = class(token.meaning, token.range.of(&analysis.text))?;
            Some(Coloured {
                range: token.range,
                class,
                declares,
            })
        })
        .collect();
    let start = tree.tokens.partition_point(|token| token.range.end <= wanted.start);
    let comments = tree.tokens.iter().skip(start);
    let comments = comments
        .take_while(|token| token.range.start < wanted.end)
        .filter(|token| token.kind == TokenKind::Comment);
    tokens.extend(comments.map(|token| Coloured {
        range: without_return(&analysis.text, token.range),
        class: Class::Comment,
        declares: false,
    }));
    tokens.sort_by_key(|token| token.range);
    tokens
}

/// Removes a carriage return, which belongs to the line end, from a comment.
fn without_return(text: &str, range: TextRange) -> TextRange {
    let written = range.of(text).trim_end_matches('\r');
    TextRange::new(range.start, range.start + written.len() as u32)
}

/// The class of a token, and whether it is a declaration.
fn class(meaning: Meaning, written: &str) -> Option<(Class, bool)> {
    let class = match meaning {
        Meaning::Keyword | Meaning::Rest { .. } => Class::Keyword,
        Meaning::Operator => Class::Operator,
        Meaning::Kind(_) => Class::Kind,
        Meaning::Thing { id, declares } => return id.map(|_| (Class::Thing, declares)),
        Meaning::Part { declares } => return Some((Class::Part, declares)),
        Meaning::Named { declares, .. } => return Some((Class::Inner, declares)),
        Meaning::RecordName => Class::Inner,
        Meaning::FormerName | Meaning::Within { .. } => Class::Thing,
        Meaning::Field { .. } | Meaning::Port { .. } => Class::Field,
        Meaning::Numbered { .. } | Meaning::Number(_) | Meaning::Count | Meaning::Date => Class::Number,
        Meaning::Colours { .. } | Meaning::Choice(_) => Class::Choice,
        Meaning::Unit(..) => Class::Unit,
        Meaning::Rule => return drysheath_rules::find(written).map(|_| (Class::Rule, false)),
        Meaning::Path => Class::Path,
        Meaning::Text => Class::Text,
        Meaning::Punctuation | Meaning::Nothing => return None,
    };
    Some((class, false))
}
