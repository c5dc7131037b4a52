//! Suggests replacements for characters that the language does not use.

use drysheath_text::{Edit, TextRange};

use crate::error_message::shown;
use crate::lexer::is_byte_order_mark;
use crate::{Fix, Problem, ProblemId, Token, TokenKind};

/// A character that the language does not use, with the tokens of its line.
pub(crate) struct ForeignCharacter<'t> {
    pub text: &'t str,
    /// The tokens of its line.
    pub line: &'t [Token],
    /// Index of its token.
    pub at: usize,
    /// Whether the line is part of a run.
    pub in_run: bool,
}

/// Characters that other programs write instead of the keyboard's hyphen and minus sign.
const HYPHENS: [char; 5] = ['\u{2212}', '\u{2010}', '\u{2011}', '\u{fe63}', '\u{ff0d}'];

/// Names of characters, and their replacements.
const INSTEAD: &[(&[char], &str, &str)] = &[
    (&HYPHENS, "a typographic minus sign or hyphen", "-"),
    (
        &['\u{a0}', '\u{202f}', '\u{2007}', '\u{2009}', '\u{3000}', '\u{200b}'],
        "a no-break space or another special blank",
        " ",
    ),
    (
        &['\u{201c}', '\u{201d}', '\u{201e}', '\u{ab}', '\u{bb}'],
        "a typographic quotation mark",
        "\"",
    ),
    (&['\u{2192}', '\u{21d2}'], "not the arrow of this language", "->"),
    (&['\u{2026}'], "an ellipsis character", " .. "),
    (&['\u{2044}', '\u{2215}'], "a typographic fraction bar", "/"),
    (&['\u{ff0c}', ';'], "not a separator of fields", ","),
    (&['\u{bc}'], "a fraction in one character", "1/4"),
    (&['\u{bd}'], "a fraction in one character", "1/2"),
    (&['\u{be}'], "a fraction in one character", "3/4"),
    (&['\u{215b}'], "a fraction in one character", "1/8"),
    (&['\u{215c}'], "a fraction in one character", "3/8"),
    (&['\u{215d}'], "a fraction in one character", "5/8"),
    (&['\u{215e}'], "a fraction in one character", "7/8"),
];

impl ForeignCharacter<'_> {
    /// Problem for the character.
    pub(crate) fn problem(&self) -> Problem {
        let written = self.written();
        if is_byte_order_mark(written) {
            let message = "a byte order mark, which cannot be seen, is in the middle of the file";
            return problem(self.range(), message)
                .help("delete it; it may be only at the start of a file")
                .fix(Fix::replace(self.range(), "", "Delete the byte order mark"));
        }
        self.number()
            .or_else(|| self.hyphen())
            .or_else(|| self.dash())
            .or_else(|| self.mark())
            .or_else(|| self.instead())
            .unwrap_or_else(|| {
                let shown = shown(&written.escape_debug().to_string().replace("\\'", "'"));
                problem(self.range(), format!("{shown} has no meaning in this language"))
                    .help("names are letters, digits, `-` and `_`; anything else goes into quotes or after `#`")
            })
    }

    fn range(&self) -> TextRange {
        self.line.get(self.at).map_or(TextRange::default(), |token| token.range)
    }

    fn written(&self) -> &str {
        self.range().of(self.text)
    }

    /// The token directly before it, without a blank between.
    fn before(&self) -> Option<Token> {
        let before = self.line.get(self.at.checked_sub(1)?).copied();
        before.filter(|token| token.kind != TokenKind::Space)
    }

    /// The token directly after it, without a blank between.
    fn after(&self) -> Option<Token> {
        let after = self.line.get(self.at + 1).copied();
        after.filter(|token| token.kind != TokenKind::Space)
    }

    /// Range including the tokens that touch it on either side.
    fn around(&self) -> TextRange {
        let range = self.range();
        let before = self.before().map_or(range, |token| token.range);
        let after = self.after().map_or(range, |token| token.range);
        before.cover(range).cover(after)
    }

    /// A character in or at a number: a decimal comma, a thousands separator, the sign for feet or inches.
    fn number(&self) -> Option<Problem> {
        let number = |token: Option<Token>| token.filter(|token| token.kind == TokenKind::Number);
        let (before, after) = (number(self.before()), number(self.after()));
        let written = |token: Token| token.range.of(self.text);
        let here = self.range();
        match (self.written(), before, after) {
            (",", Some(before), Some(after)) => {
                let whole = self.around();
                let (whole_part, rest) = (written(before), written(after));
                let decimal = format!("{whole_part}.{rest}");
                // Three digits after the comma may be thousands or decimals.
                let thousands = rest.split('.').next().is_some_and(|group| group.len() == 3) && whole_part != "0";
                let shown = whole.of(self.text);
                Some(if thousands {
                    problem(whole, format!("`{shown}` has a comma inside a number")).help(format!(
                        "write `{whole_part}{rest}`, or `{decimal}` if the comma is the decimal point"
                    ))
                } else {
                    problem(whole, format!("`{shown}` has a comma for a decimal point"))
                        .help(format!("write `{decimal}`"))
                        .fix(Fix::replace(whole, decimal.clone(), format!("Write `{decimal}`")))
                })
            }
            ("\"" | "\u{2033}" | "\u{201d}", Some(before), _) => Some(self.unit_mark(before, "an inch mark", "in")),
            ("'" | "\u{2032}" | "\u{2019}", Some(before), _) => Some(self.unit_mark(before, "a foot mark", "ft")),
            ("\u{2da}" | "\u{ba}", Some(_), _) => {
                Some(problem(here, format!("`{}` is not a degree sign", self.written())).help("write `degC` or `degF`"))
            }
            ("#", _, Some(after)) => Some(self.wire_size(after)),
            (".", None, Some(after)) => Some(self.letter_o(after).unwrap_or_else(|| {
                let whole = here.cover(after.range);
                let better = format!("0.{}", written(after));
                problem(
                    whole,
                    format!("`{}` has no digit before its decimal point", whole.of(self.text)),
                )
                .help(format!("write `{better}`"))
                .fix(Fix::replace(whole, better.clone(), format!("Write `{better}`")))
            })),
            (".", None, None) if self.before().is_some_and(|before| before.kind == TokenKind::DotDot) => Some(
                problem(self.around(), "a range is written with two dots")
                    .help("write `..`")
                    .fix(Fix::replace(here, "", "Write `..`")),
            ),
            (".", Some(before), None) => Some(
                problem(here, format!("`{}.` ends with a decimal point", written(before)))
                    .help("delete the point, or write the digits after it")
                    .fix(Fix::replace(here, "", "Delete the point")),
            ),
            ("/", Some(_), Some(_)) => Some(
                problem(
                    self.around(),
                    format!("`{}` is not a number", self.around().of(self.text)),
                )
                .help("a date is written year first, such as 2027-04-30"),
            ),
            (".", Some(_), Some(_)) => Some(
                problem(
                    self.around(),
                    format!("`{}` is not a number", self.around().of(self.text)),
                )
                .help("an address or another text goes between double quotes"),
            ),
            ("\u{b1}", _, Some(_)) => Some(
                problem(here, "`\u{b1}` is not written: a tolerance is its amount alone")
                    .help("delete the sign")
                    .fix(Fix::replace(here, "", "Delete the sign")),
            ),
            ("\u{d7}", _, _) => Some(
                problem(here, "`\u{d7}` has no meaning: nothing is multiplied in this language")
                    .help("write the figure itself"),
            ),
            _ => None,
        }
    }

    fn unit_mark(&self, number: Token, name: &str, unit: &str) -> Problem {
        let whole = number.range.cover(self.range());
        let better = format!("{} {unit}", number.range.of(self.text));
        let problem = problem(whole, format!("`{}` has {name}", whole.of(self.text)));
        let after = self.after().map(|after| after.kind);
        // Feet and inches are one length in two units.
        if after == Some(TokenKind::Number) {
            return problem.help(format!("write one number and `{unit}`"));
        }
        let gap = if after.is_some_and(TokenKind::is_word) { " " } else { "" };
        problem.help(format!("write `{better}`")).fix(Fix::replace(
            self.range(),
            format!(" {unit}{gap}"),
            format!("Write `{unit}`"),
        ))
    }

    /// `#14`, which would have become a comment.
    fn wire_size(&self, number: Token) -> Problem {
        let unit = self
            .line
            .iter()
            .skip(self.at + 2)
            .find(|token| token.kind != TokenKind::Space)
            .filter(|token| token.kind.is_word());
        let whole = self.range().cover(unit.map_or(number.range, |unit| unit.range));
        let better = format!("{} awg", number.range.of(self.text));
        let shown = self.range().cover(number.range);
        problem(
            whole,
            format!(
                "`#` starts a comment, and `{}` looks like a wire size",
                shown.of(self.text)
            ),
        )
        .help(format!("write `{better}`; a comment has a blank after its `#`"))
        .fix(Fix::replace(whole, better.clone(), format!("Write `{better}`")))
    }

    /// `O.2`: a letter O instead of a zero.
    fn letter_o(&self, after: Token) -> Option<Problem> {
        let letter = self.before().filter(|token| token.kind == TokenKind::Word)?;
        if !matches!(letter.range.of(self.text), "O" | "o") {
            return None;
        }
        let better = format!("0.{}", after.range.of(self.text));
        let problem = problem(self.around(), "the letter O is in the place of a zero");
        Some(
            problem
                .help(format!("write `{better}`"))
                .fix(Fix::replace(letter.range, "0", "Write the digit `0`")),
        )
    }

    /// A typographic hyphen or minus in a name or a date, instead of the keyboard's.
    fn hyphen(&self) -> Option<Problem> {
        let written = self.written();
        let is_hyphen = HYPHENS
            .iter()
            .chain(&['\u{2013}'])
            .any(|char| written.chars().eq([*char]));
        let (before, after) = (self.before()?, self.after()?);
        let is_part = |token: &Token| token.kind.is_word() || token.kind == TokenKind::Number;
        if !is_hyphen || !is_part(&before) || !is_part(&after) {
            return None;
        }
        let range = match before.kind {
            TokenKind::Number => self.date()?,
            // Between two figures with units it means a range, and in a run an en dash is more likely half an arrow.
            _ if self.follows_number() || (self.in_run && written == "\u{2013}") => return None,
            _ => self.around(),
        };
        let shown = range.of(self.text);
        let better: String = shown
            .chars()
            .map(|char| {
                if HYPHENS.contains(&char) || char == '\u{2013}' {
                    '-'
                } else {
                    char
                }
            })
            .collect();
        Some(
            problem(range, format!("`{shown}` has a typographic minus sign or hyphen"))
                .help(format!("write `{better}`"))
                .fix(Fix::replace(range, better.clone(), format!("Write `{better}`"))),
        )
    }

    /// Range of year, month and day around the first of the two hyphens.
    fn date(&self) -> Option<TextRange> {
        let [year, _, month, second, day] = self.line.get(self.at.checked_sub(1)?..)?.first_chunk()?;
        let digits = |token: &Token| token.range.of(self.text).trim_start_matches(HYPHENS).len();
        let are_numbers = [year, month, day].iter().all(|token| token.kind == TokenKind::Number);
        let is_dash = second
            .range
            .of(self.text)
            .chars()
            .all(|char| HYPHENS.contains(&char) || char == '\u{2013}');
        let is_date = are_numbers && is_dash && [year, month, day].map(digits) == [4, 2, 2];
        is_date.then(|| year.range.cover(day.range))
    }

    /// Whether the word before it is the unit of a figure.
    fn follows_number(&self) -> bool {
        let earlier = self.line.iter().take(self.at.saturating_sub(1));
        let earlier = earlier.rev().find(|token| token.kind != TokenKind::Space);
        earlier.is_some_and(|token| token.kind == TokenKind::Number)
    }

    /// A dash, which may be a sign, half an arrow, or a range.
    fn dash(&self) -> Option<Problem> {
        let written = self.written();
        let is_dash = matches!(written, "-" | "\u{2013}" | "\u{2014}" | "--" | "\u{2212}");
        let here = self.range();
        let before = self.before().map(|token| token.kind);
        let after = self.after();
        if self.in_run && (is_dash || matches!(written, ">" | "=>" | "=" | "\u{2013}>" | "\u{2014}>" | "\u{2212}>")) {
            let goes_on = after.filter(|after| matches!(after.kind, TokenKind::Arrow));
            let whole = goes_on.map_or(here, |arrow| here.cover(arrow.range));
            let is_number = |kind: Option<TokenKind>| kind == Some(TokenKind::Number);
            if !is_number(after.map(|token| token.kind)) {
                return Some(
                    problem(whole, format!("`{}` is not an arrow", whole.of(self.text)))
                        .help("write `->`")
                        .fix(Fix::replace(whole, "->", "Write `->`")),
                );
            }
        }
        if !is_dash {
            return None;
        }
        let solid = |token: &&Token| token.kind != TokenKind::Space;
        let earlier = self.line.iter().take(self.at).rfind(solid).map(|token| token.kind);
        let later = self.line.iter().skip(self.at + 1).find(solid).map(|token| token.kind);
        let is_end = |kind: Option<TokenKind>| matches!(kind, Some(TokenKind::Number | TokenKind::Word));
        let number_follows = later == Some(TokenKind::Number);
        // `10 −5` is a sign; `0–5`, `0 - 5` and `0 psi – 5 psi` are ranges.
        let is_sign = before.is_none() && after.is_some();
        if number_follows && is_end(earlier) && !is_sign {
            return Some(
                problem(self.around(), format!("`{written}` does not make a range"))
                    .help("a range is written with two dots, such as `0 .. 15 psi`")
                    .fix(Fix::replace(here, " .. ", "Write `..`")),
            );
        }
        (is_sign && written != "-").then(|| {
            problem(here, format!("`{written}` is not the minus sign of a keyboard"))
                .help("type `-`")
                .fix(Fix::replace(here, "-", "Write `-`"))
        })
    }

    /// Punctuation of other languages: for comments, blocks, values and texts.
    fn mark(&self) -> Option<Problem> {
        let here = self.range();
        let written = self.written();
        let is_last =
            self.line.iter().skip(self.at + 1).all(|token| {
                token.kind.is_trivia() || matches!(token.kind, TokenKind::Newline | TokenKind::CloseBrace)
            });
        Some(match written {
            "@" => {
                let [before, after] = [self.before(), self.after()].map(|near| if near.is_some() { " " } else { "" });
                let example = if self.is_in("loss") {
                    "a loss is stated at a flow, as in `loss 0.5 psi at 20 scfh`"
                } else {
                    "a place is written as in `at c101 1.2 km`"
                };
                problem(here, "`@` is not written: the word is `at`")
                    .help(example)
                    .fix(Fix::replace(here, format!("{before}at{after}"), "Write `at`"))
            }
            "+" | "*" => {
                let done = if written == "+" { "added up" } else { "multiplied" };
                let message = format!("`{written}` has no meaning: nothing is {done} in this language");
                problem(here, message).help(if self.is_in("loss") {
                    "write each loss as a field of its own: `loss 0.1 psi at 10 scfh, loss 0.2 psi at 20 scfh`"
                } else {
                    "write the figure itself"
                })
            }
            "//" => problem(here, "`//` starts no comment")
                .help("a comment starts with `#`")
                .fix(Fix::replace(here, "#", "Write `#`")),
            "(" | ")" | "[" | "]" => {
                problem(here, format!("`{written}` does not mark a block")).help("a block is between `{` and `}`")
            }
            "=" => problem(here, "`=` is not written between a field and its value")
                .help("delete it")
                .fix(Fix::replace(here, "", "Delete `=`")),
            ";" if is_last => problem(here, "`;` ends nothing: a field ends with its line or a comma")
                .help("delete it")
                .fix(Fix::replace(here, "", "Delete `;`")),
            "'" | "\u{2018}" | "\u{2019}" | "`" => {
                problem(here, format!("`{written}` does not mark a text")).help("text goes between double quotes")
            }
            "." => problem(here, "this full stop belongs to no number and no text")
                .help("delete it; units and names are written without one"),
            _ => return None,
        })
    }

    /// Whether `word` precedes it on its line.
    fn is_in(&self, word: &str) -> bool {
        let mut before = self.line.iter().take(self.at);
        before.any(|token| token.kind.is_word() && token.range.of(self.text) == word)
    }

    /// A character with a fixed replacement.
    fn instead(&self) -> Option<Problem> {
        let written = self.written();
        let (_, name, better) = INSTEAD
            .iter()
            .find(|(characters, ..)| written.chars().all(|char| characters.contains(&char)))?;
        let shown = if *better == " " {
            String::new()
        } else {
            format!("`{written}` is ")
        };
        let (help, title) = if *better == " " {
            (
                "type an ordinary blank".to_owned(),
                "Put an ordinary blank in its place".to_owned(),
            )
        } else {
            let better = better.trim();
            (format!("type `{better}`"), format!("Write `{better}`"))
        };
        let message = if shown.is_empty() {
            format!("this is {name}")
        } else {
            format!("{shown}{name}")
        };
        let whole = self.before().filter(|before| before.kind == TokenKind::Number);
        // `1½` is one and a half.
        let joint = if better.contains('/') && better.len() > 1 && whole.is_some() {
            "-"
        } else {
            ""
        };
        let fix = Fix::replace(self.range(), format!("{joint}{better}"), title);
        Some(problem(self.range(), message).help(help).fix(fix))
    }
}

/// Whether a text contains only printable ASCII characters, tabs and line ends, so that no character is pasted or
/// invisible. True for nearly every file. Checks all bytes without branches, which compilers vectorize.
pub(crate) fn is_plain(text: &str) -> bool {
    let is_usual = |byte: u8| matches!(byte, b' '..=b'~' | b'\n' | b'\r' | b'\t');
    text.bytes().fold(true, |all, byte| all & is_usual(byte))
}

/// Pasted characters that are understood, wherever they are in the file, as one warning with one fix.
pub(crate) fn read_as_meant(text: &str, tokens: &[Token]) -> Option<Problem> {
    let mut edits: Vec<Edit> = Vec::new();
    for token in tokens {
        let written = token.range.of(text);
        // A byte order mark at the start is allowed.
        if written.is_ascii() || is_byte_order_mark(written) {
            continue;
        }
        let mut replace = |at: usize, char: char, better: &str| {
            let start = token.range.start + at as u32;
            let range = TextRange::new(start, start + char.len_utf8() as u32);
            let replacement = better.to_owned();
            edits.push(Edit { range, replacement });
        };
        let mut chars = written.char_indices();
        match token.kind {
            TokenKind::Space => {
                let strange =
                    chars.filter(|(_, char)| !char.is_ascii() && !is_byte_order_mark(char.encode_utf8(&mut [0; 4])));
                strange.for_each(|(at, char)| replace(at, char, " "));
            }
            TokenKind::Number => chars.next().into_iter().for_each(|(at, char)| replace(at, char, "-")),
            TokenKind::Text if !written.starts_with('"') => {
                let outer = [chars.next(), chars.next_back()];
                outer
                    .into_iter()
                    .flatten()
                    .for_each(|(at, char)| replace(at, char, "\""));
            }
            _ => {}
        }
    }
    let first = edits.first()?.range;
    let shown = match first.of(text) {
        blank if blank.trim().is_empty() => "a blank that does not break a line is read as an ordinary one".to_owned(),
        quote
            if quote
                .chars()
                .all(|char| ['\u{201c}', '\u{201e}', '\u{ab}', '\u{bb}'].contains(&char)) =>
        {
            format!("the typographic quotation mark `{quote}` is read as `\"`")
        }
        minus => format!("the typographic minus sign `{minus}` is read as `-`"),
    };
    let message = match edits.len() - 1 {
        0 => shown,
        1 => format!("{shown}; this file has 1 more such character"),
        more => format!("{shown}; this file has {more} more such characters"),
    };
    let problem = Problem::new(ProblemId::CharacterPasted, first, message);
    let problem = problem.help("write them as a keyboard does, so that a search finds them");
    Some(problem.fix(Fix {
        title: "Write the characters of a keyboard in the whole file".to_owned(),
        edits,
    }))
}

/// Invisible characters in texts, wherever they are in the file, as one warning with one fix.
pub(crate) fn invisible(text: &str, tokens: &[Token]) -> Option<Problem> {
    let mut edits: Vec<Edit> = Vec::new();
    let is_text = |token: &&Token| matches!(token.kind, TokenKind::Text | TokenKind::OpenText);
    for token in tokens.iter().filter(is_text) {
        let written = token.range.of(text);
        for (at, char) in written.char_indices().filter(|(_, char)| is_invisible(*char)) {
            let start = token.range.start + at as u32;
            edits.push(Edit {
                range: TextRange::new(start, start + char.len_utf8() as u32),
                replacement: String::new(),
            });
        }
    }
    let first = edits.first()?.range;
    let code = first.of(text).chars().next().map_or(0, u32::from);
    let message = match edits.len() {
        1 => format!("this text has an invisible character, U+{code:04X}"),
        more => format!("this text has an invisible character, U+{code:04X}; there are {more} in this file"),
    };
    let problem = Problem::new(ProblemId::CharacterInvisible, first, message);
    Some(
        problem
            .help("delete it: two texts that look the same would differ")
            .fix(Fix {
                title: "Delete the invisible characters in the whole file".to_owned(),
                edits,
            }),
    )
}

/// Whether a character is invisible and moves or reverses what is around it. Joiners are excluded: some scripts need
/// them.
fn is_invisible(char: char) -> bool {
    (char.is_control() && char != '\t')
        || matches!(
            char,
            '\u{ad}' | '\u{61c}' | '\u{180e}' | '\u{200b}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}'
                | '\u{2060}'..='\u{206f}' | '\u{feff}' | '\u{fff9}'..='\u{fffb}'
        )
}

fn problem(range: TextRange, message: impl Into<String>) -> Problem {
    Problem::new(ProblemId::StatementUnreadable, range, message)
}
