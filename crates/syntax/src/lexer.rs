use drysheath_text::TextRange;
use logos::Logos;

use crate::{merge_markers, misread};

/// Class of a token. White space and comments are tokens too, for the formatter.
#[derive(Logos, Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[repr(u8)]
pub enum TokenKind {
    /// Blanks and tabs, and a byte order mark at the start of the file. No-break blanks are pasted ones.
    // Two expressions, since ASCII blanks alone are lexed twice as fast.
    #[regex(r"[ \t]+")]
    #[regex(r"[\u{a0}\u{2007}\u{2009}\u{202f}\u{3000}]")]
    Space,
    /// Line end. It ends a statement or a field.
    #[regex(r"\r?\n")]
    Newline,
    /// From `#` to the end of the line.
    #[regex(r"#[^\n\r]*", allow_greedy = true)]
    Comment,
    /// Kind, name, field, unit or path.
    #[regex(r"[\p{L}_%°][\p{L}\p{M}0-9_²³%]*(-[\p{L}0-9_]+)*(/[\p{L}_%°][\p{L}\p{M}0-9_²³%]*(-[\p{L}0-9_]+)*)*")]
    // A path with a file extension, which should be left out; accepted here so that it can be reported.
    #[regex(
        r"[\p{L}_%°][\p{L}\p{M}0-9_²³%]*(-[\p{L}0-9_]+)*(/[\p{L}_%°][\p{L}\p{M}0-9_²³%]*(-[\p{L}0-9_]+)*)+\.office"
    )]
    Word,
    /// `12`, `-48`, `0.5`, `3/8`, `1-1/2`, `1e3`. The sign may be a pasted character.
    #[regex(r"[+\-\u{2212}\u{fe63}\u{ff0d}]?[0-9]+(\.[0-9]+)?([eE][+-]?[0-9]+)?", priority = 5)]
    #[regex(r"[0-9]+(-[0-9]+)?/[0-9]+", priority = 6)]
    Number,
    /// Date, such as `2027-04-30`.
    #[regex(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", priority = 7)]
    Date,
    /// Text between double quotes, on one line. The quotes may be pasted characters.
    #[regex(r#""([^"\\\n\r]|\\[^\n\r])*""#)]
    #[regex(r"[\u{201c}\u{201e}\u{ab}\u{bb}]([^\u{22}\u{201c}\u{201d}\u{201e}\u{ab}\u{bb}\\\n\r]|\\[^\n\r])*[\u{201c}\u{201d}\u{ab}\u{bb}]")]
    Text,
    /// Text without a closing quote.
    #[regex(r#""([^"\\\n\r]|\\[^\n\r])*\\?"#)]
    OpenText,
    /// `->`, the arrow between two ends of a run.
    #[token("->")]
    Arrow,
    /// `..`, between the two ends of a range.
    #[token("..")]
    DotDot,
    /// `:`, before the name of a part.
    #[token(":")]
    Colon,
    /// `,`, between fields on one line.
    #[token(",")]
    Comma,
    /// `{`, opens a block.
    #[token("{")]
    OpenBrace,
    /// `}`, closes a block.
    #[token("}")]
    CloseBrace,
    /// `use`: imports the parts of another file.
    #[token("use", priority = 20)]
    Use,
    /// `part`: starts the declaration of a part.
    #[token("part", priority = 20)]
    Part,
    /// `air`: starts an air run.
    #[token("air", priority = 20)]
    Air,
    /// `wire`: starts a run of signal pairs.
    #[token("wire", priority = 20)]
    Wire,
    /// `power`: starts a run of battery power.
    #[token("power", priority = 20)]
    Power,
    /// `ground`: starts a run of a ground conductor.
    #[token("ground", priority = 20)]
    Ground,
    /// `spare`: starts a statement about unused numbers.
    #[token("spare", priority = 20)]
    Spare,
    /// `assigned`: starts a statement about pairs used by another service.
    #[token("assigned", priority = 20)]
    Assigned,
    /// `defective`: starts a statement about unusable pairs.
    #[token("defective", priority = 20)]
    Defective,
    /// `bunched`: starts a statement about pairs that carry one signal together.
    #[token("bunched", priority = 20)]
    Bunched,
    /// `tapped`: starts a statement about pairs with a third wire.
    #[token("tapped", priority = 20)]
    Tapped,
    /// `accept`: starts an acceptance of a result.
    #[token("accept", priority = 20)]
    Accept,
    /// `reading`: starts a recorded reading.
    #[token("reading", priority = 20)]
    Reading,
    /// `when`: starts a statement about a state other than the normal one.
    #[token("when", priority = 20)]
    When,
    /// `expect`: precedes the expectations for such a state.
    #[token("expect", priority = 20)]
    Expect,
    /// `with`: precedes the sizes of a run.
    #[token("with", priority = 20)]
    With,
    /// `then`: precedes the sizes of the next piece of a run.
    #[token("then", priority = 20)]
    Then,
    /// `on`: precedes the thing of an acceptance.
    #[token("on", priority = 20)]
    On,
    /// `because`: precedes the reason of an acceptance.
    #[token("because", priority = 20)]
    Because,
    /// `until`: precedes the last day of an acceptance.
    #[token("until", priority = 20)]
    Until,
    /// Marker of an unfinished merge, such as `<<<<<<< HEAD`, without its line end.
    MergeMarker,
    /// A character that has no meaning at its position, such as a carriage return without a line feed, or the comma in
    /// `1,020 ft`.
    Unknown,
}

impl TokenKind {
    /// Whether it is white space or a comment, which do not affect the meaning. (A line end does.)
    pub fn is_trivia(self) -> bool {
        matches!(self, Self::Space | Self::Comment)
    }

    /// Whether it is a word, including keywords.
    pub fn is_word(self) -> bool {
        self == Self::Word || self.is_keyword()
    }

    /// Whether it is a keyword that starts a statement.
    pub fn starts_statement(self) -> bool {
        matches!(
            self,
            Self::Use
                | Self::Part
                | Self::Air
                | Self::Wire
                | Self::Power
                | Self::Ground
                | Self::Spare
                | Self::Assigned
                | Self::Defective
                | Self::Bunched
                | Self::Tapped
                | Self::Accept
                | Self::Reading
                | Self::When
        )
    }

    /// Whether it is a keyword of the language.
    pub fn is_keyword(self) -> bool {
        self.starts_statement()
            || matches!(
                self,
                Self::With | Self::Then | Self::On | Self::Because | Self::Until | Self::Expect
            )
    }
}

/// Keywords of the language, in the order of the reference.
pub const WORDS: [&str; 20] = [
    "use",
    "part",
    "air",
    "wire",
    "power",
    "ground",
    "spare",
    "assigned",
    "defective",
    "bunched",
    "tapped",
    "accept",
    "reading",
    "when",
    "expect",
    "with",
    "then",
    "on",
    "because",
    "until",
];

/// Invisible character that some editors write at the start of a file.
pub(crate) const BYTE_ORDER_MARK: char = '\u{feff}';

/// Whether a token consists only of byte order marks.
pub(crate) fn is_byte_order_mark(written: &str) -> bool {
    written.chars().all(|char| char == BYTE_ORDER_MARK)
}

/// A token and its range.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Token {
    /// The class of the token.
    pub kind: TokenKind,
    /// Range in the text. Empty for a brace inserted by the parser.
    pub range: TextRange,
}

fn is_blank(kind: TokenKind) -> bool {
    matches!(kind, TokenKind::Space | TokenKind::Newline)
}

/// Tokens of `text`, in order and without gaps. Adjacent unknown characters form one token.
pub fn lex(text: &str) -> Vec<Token> {
    let mut tokens: Vec<Token> = Vec::with_capacity(text.len() / 3);
    let mut lexer = TokenKind::lexer(text);
    while let Some(read) = lexer.next() {
        let start = lexer.span().start;
        let kind = match read {
            Err(()) if is_byte_order_mark(lexer.slice()) && tokens.iter().all(|token| is_blank(token.kind)) => {
                TokenKind::Space
            }
            Err(()) => match merge_markers::marker_length(text, start) {
                Some(length) => {
                    lexer.bump(length - lexer.slice().len());
                    TokenKind::MergeMarker
                }
                None => TokenKind::Unknown,
            },
            Ok(kind) if misread::is_misread(text, &tokens, kind, start) => {
                // Only its first character; the rest is lexed again.
                let first = lexer.slice().chars().next().map_or(1, char::len_utf8);
                lexer = TokenKind::lexer(text);
                lexer.bump(start + first);
                TokenKind::Unknown
            }
            Ok(kind) => kind,
        };
        let range = TextRange::new(start as u32, lexer.span().end as u32);
        let joins = matches!(kind, TokenKind::Unknown | TokenKind::Space);
        match tokens.last_mut() {
            Some(last) if joins && last.kind == kind => last.range.end = range.end,
            _ => tokens.push(Token { kind, range }),
        }
    }
    tokens
}

#[cfg(test)]
mod tests {
    use super::*;

    fn kinds(text: &str) -> Vec<(TokenKind, &str)> {
        lex(text)
            .into_iter()
            .filter(|token| token.kind != TokenKind::Space)
            .map(|token| (token.kind, token.range.of(text)))
            .collect()
    }

    #[test]
    fn numbers_dates_and_units() {
        use TokenKind::{Date, DotDot, Number, Word};
        assert_eq!(
            kinds("0..15 psi 47scfh 1-1/2 in 3/8 -48 2027-04-30 0.09 psi/scfh/kft 5 °C 40 %rh 1e3"),
            [
                (Number, "0"),
                (DotDot, ".."),
                (Number, "15"),
                (Word, "psi"),
                (Number, "47"),
                (Word, "scfh"),
                (Number, "1-1/2"),
                (Word, "in"),
                (Number, "3/8"),
                (Number, "-48"),
                (Date, "2027-04-30"),
                (Number, "0.09"),
                (Word, "psi/scfh/kft"),
                (Number, "5"),
                (Word, "°C"),
                (Number, "40"),
                (Word, "%rh"),
                (Number, "1e3"),
            ]
        );
    }

    #[test]
    fn words_of_the_language_are_listed() {
        for word in WORDS {
            assert!(lex(word).iter().all(|token| token.kind.is_keyword()), "{word}");
        }
    }

    #[test]
    fn arrows_need_no_blanks() {
        use TokenKind::{Arrow, Ground, Word};
        assert_eq!(
            kinds("ground m1->ogb-2"),
            [(Ground, "ground"), (Word, "m1"), (Arrow, "->"), (Word, "ogb-2")]
        );
    }

    #[test]
    fn tokens_tile_any_text() {
        for text in [
            "\u{feff}a\r\n\t# c\n\"x\\\"y\" \"open\n\"\\",
            "€€ é\0\r",
            "-",
            "",
            "a->",
            "\"\\",
        ] {
            let mut at = 0;
            for token in lex(text) {
                assert_eq!(token.range.start, at, "{text:?}");
                assert!(!token.range.of(text).is_empty(), "{text:?}");
                at = token.range.end;
            }
            assert_eq!(at as usize, text.len(), "{text:?}");
        }
    }

    #[test]
    fn a_byte_order_mark_is_a_blank_only_at_the_start() {
        use TokenKind::{Unknown, Word};
        assert_eq!(
            kinds("\u{feff}\u{feff} a\u{feff}b"),
            [(Word, "a"), (Unknown, "\u{feff}"), (Word, "b")]
        );
    }

    #[test]
    fn a_carriage_return_alone_is_no_blank() {
        use TokenKind::{Comment, Newline, Unknown, Word};
        assert_eq!(
            kinds("# a\rb \r\nc"),
            [
                (Comment, "# a"),
                (Unknown, "\r"),
                (Word, "b"),
                (Newline, "\r\n"),
                (Word, "c")
            ]
        );
    }

    #[test]
    fn a_merge_marker_is_a_whole_line() {
        use TokenKind::{MergeMarker, Newline, Word};
        assert_eq!(
            kinds("<<<<<<< HEAD\r\na\n=======\n>>>>>>> other branch"),
            [
                (MergeMarker, "<<<<<<< HEAD"),
                (Newline, "\r\n"),
                (Word, "a"),
                (Newline, "\n"),
                (MergeMarker, "======="),
                (Newline, "\n"),
                (MergeMarker, ">>>>>>> other branch"),
            ]
        );
        for text in ["a =======", "========", "<<<<<<<<", "=======a"] {
            assert!(lex(text).iter().all(|token| token.kind != MergeMarker), "{text}");
        }
    }

    #[test]
    fn inches_thousands_and_numbered_wire_are_not_what_they_look_like() {
        use TokenKind::{Comma, Comment, Newline, Number, Unknown, With, Word};
        assert_eq!(
            kinds("3/8\" tube, 1,020 ft"),
            [
                (Number, "3/8"),
                (Unknown, "\""),
                (Word, "tube"),
                (Comma, ","),
                (Number, "1"),
                (Unknown, ","),
                (Number, "020"),
                (Word, "ft"),
            ]
        );
        assert_eq!(
            kinds("gauge #24, with #6"),
            [
                (Word, "gauge"),
                (Unknown, "#"),
                (Number, "24"),
                (Comma, ","),
                (With, "with"),
                (Unknown, "#"),
                (Number, "6")
            ]
        );
        assert_eq!(
            kinds("with 5 m, #2 of three\n#2\nspare tb pair 5 #2"),
            [
                (With, "with"),
                (Number, "5"),
                (Word, "m"),
                (Comma, ","),
                (Comment, "#2 of three"),
                (Newline, "\n"),
                (Comment, "#2"),
                (Newline, "\n"),
                (TokenKind::Spare, "spare"),
                (Word, "tb"),
                (Word, "pair"),
                (Number, "5"),
                (Comment, "#2"),
            ]
        );
    }

    #[test]
    fn unknown_characters_join() {
        let text = "€€ x";
        assert_eq!(kinds(text), [(TokenKind::Unknown, "€€"), (TokenKind::Word, "x")]);
    }
}
