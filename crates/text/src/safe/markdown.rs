use super::{is_line_end, terminal};

/// Invisible separator: prevents a host from recognizing a mention, a reference or a link.
const NOTHING: &str = "&#8203;";

/// Text within a line of Markdown. Text between two backticks is code; the rest is plain text and cannot become a link,
/// image, mention, reference, HTML or command to the host.
pub fn markdown(text: &str) -> String {
    Writer::default().text(text)
}

/// Text for a Markdown table cell.
pub fn markdown_cell(text: &str) -> String {
    Writer {
        in_table: true,
        ..Writer::default()
    }
    .text(text)
}

#[derive(Default)]
struct Writer {
    safe: String,
    in_table: bool,
}

impl Writer {
    fn text(mut self, text: &str) -> String {
        let text: String = text.trim().chars().map(on_one_line).collect();
        let text = terminal(&text);
        let mut rest = &*text;
        while let Some((words, behind)) = rest.split_once('`') {
            self.words(words);
            match behind.split_once('`') {
                Some((code, after)) if self.holds_code(code) => {
                    self.safe.extend(["`", code, "`"]);
                    rest = after;
                }
                _ => {
                    self.safe.push_str("\\`");
                    rest = behind;
                }
            }
        }
        self.words(rest);
        self.safe
    }

    /// A bar separates cells even within code, and escaping it there depends on the characters before it.
    fn holds_code(&self, code: &str) -> bool {
        let divides = self.in_table && code.contains('|');
        !divides && !code.trim().is_empty()
    }

    fn words(&mut self, words: &str) {
        let mut before = self.safe.chars().next_back();
        for (at, one) in words.char_indices() {
            let after = words.get(at + one.len_utf8()..).unwrap_or_default();
            let next = after.chars().next();
            match one {
                '\\' | '*' | '[' | ']' | '|' | '$' => self.safe.extend(['\\', one]),
                '~' if before == Some('~') || next == Some('~') => self.safe.push_str("\\~"),
                '_' if !(is_word(before) && is_word(next)) => self.safe.push_str("\\_"),
                '<' => self.safe.push_str("&lt;"),
                '&' if is_word(next) || next == Some('#') => self.safe.push_str("&amp;"),
                // Would start a heading, a list, a quotation, a rule, or a command to a review host.
                '#' | '-' | '+' | '>' | '=' | '/' | ':' if before.is_none() && !self.in_table => {
                    self.safe.extend(['\\', one]);
                }
                '.' | ')' if next.is_none_or(char::is_whitespace) && self.is_number() => self.safe.extend(['\\', one]),
                '@' | '#' if is_word(next) => self.safe.extend([one.to_string().as_str(), NOTHING]),
                ':' if after.starts_with("//") => self.safe.extend([":", NOTHING]),
                '.' if self.safe.to_ascii_lowercase().ends_with("www") => self.safe.extend([NOTHING, "."]),
                _ => self.safe.push(one),
            }
            before = Some(one);
        }
    }

    /// Whether the text so far is a number, which a point would turn into the start of a list.
    fn is_number(&self) -> bool {
        !self.safe.is_empty() && self.safe.chars().all(|one| one.is_ascii_digit())
    }
}

fn is_word(character: Option<char>) -> bool {
    character.is_some_and(char::is_alphanumeric)
}

fn on_one_line(character: char) -> char {
    if is_line_end(character) || character == '\t' {
        ' '
    } else {
        character
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_comes_of_words_but_words() {
        for (text, safe) in [
            ("[a](http://192.0.2.1)", "\\[a\\](http:&#8203;//192.0.2.1)"),
            ("![a](x)", "!\\[a\\](x)"),
            ("see @all, #12", "see @&#8203;all, #&#8203;12"),
            ("<img src=x> &lt;", "&lt;img src=x> &amp;lt;"),
            ("/close", "\\/close"),
            ("# head\n- list", "\\# head - list"),
            ("1. one", "1\\. one"),
            ("a ` b", "a \\` b"),
            ("a `b` c ` d", "a `b` c \\` d"),
            ("www.example.org", "www&#8203;.example.org"),
            ("a_b and _c_", "a_b and \\_c\\_"),
            ("c1 -> r1: 3 < 4", "c1 -> r1: 3 &lt; 4"),
            ("~~gone~~", "\\~\\~gone\\~\\~"),
            ("~2 m or ~ 3 m", "~2 m or ~ 3 m"),
        ] {
            assert_eq!(markdown(text), safe);
        }
        assert_eq!(markdown_cell("a | `b|c` \\| `d`"), "a \\| \\`b\\|c\\` \\\\\\| `d`");
    }
}
