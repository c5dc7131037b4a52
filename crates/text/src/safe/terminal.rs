use std::borrow::Cow;

use super::{is_invisible, is_line_end, picture};

/// Text of several lines for a terminal or a log. Control characters are shown as pictures, and commands to the CI
/// system are broken up: these start a line with `::`, or are `##name[…]` anywhere in it.
pub fn terminal(text: &str) -> Cow<'_, str> {
    let is_harmless =
        |one: char| matches!(one, '\n' | '\t') || !(one.is_control() || is_invisible(one) || is_line_end(one));
    if text.chars().all(is_harmless) && !text.contains("::") && !text.contains("##") {
        return Cow::Borrowed(text);
    }
    let mut safe = String::with_capacity(text.len() + 8);
    for piece in text.split_inclusive('\n') {
        let start = piece.len() - piece.trim_start().len();
        let orders = piece.get(start..).is_some_and(|rest| rest.starts_with("::"));
        let order = piece
            .char_indices()
            .scan(CiCommandStart::default(), |order, (at, one)| {
                Some((at, one, order.opens(one)))
            });
        for (at, one, opens) in order {
            safe.push(match one {
                '[' if opens => '(',
                _ if is_harmless(one) => one,
                // Windows line end.
                '\r' if piece.get(at..) == Some("\r\n") => one,
                _ => picture(one),
            });
            if orders && at == start {
                safe.push(' ');
            }
        }
    }
    Cow::Owned(safe)
}

/// Text for one line of a terminal or a log, such as a file's name.
pub fn line(text: &str) -> Cow<'_, str> {
    if text.contains(|one: char| is_line_end(one) || one == '\t') {
        let pictures: String = text
            .chars()
            .map(|one| {
                if is_line_end(one) || one == '\t' {
                    picture(one)
                } else {
                    one
                }
            })
            .collect();
        return Cow::Owned(terminal(&pictures).into_owned());
    }
    terminal(text)
}

/// Source text for an excerpt: every character that a terminal would not simply show is replaced by one with the same
/// number of bytes, so that ranges and columns stay correct. Only `\n` and `\r\n` end a line.
pub fn excerpt(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    let mut characters = text.chars().peekable();
    let mut order = CiCommandStart::default();
    while let Some(one) = characters.next() {
        let ends_line = one == '\n' || one == '\r' && characters.peek() == Some(&'\n');
        let opens = order.opens(one);
        if opens {
            safe.push('(');
        } else if ends_line || one == '\t' || !(one.is_control() || is_invisible(one) || is_line_end(one)) {
            safe.push(one);
        } else {
            safe.push(match one.len_utf8() {
                1 => '?',
                2 => '\u{bf}',
                3 => char::REPLACEMENT_CHARACTER,
                _ => '\u{1f7e5}',
            });
        }
    }
    safe
}

/// Recognizes the start of `##name[…]`, which CI systems take as a command anywhere in a line.
#[derive(Default)]
pub(super) struct CiCommandStart {
    hashes: u32,
    in_name: bool,
}

impl CiCommandStart {
    /// Whether the next character is the bracket that completes a command.
    pub(super) fn opens(&mut self, next: char) -> bool {
        let opens = next == '[' && (self.in_name || self.hashes >= 2);
        self.in_name = next.is_ascii_alphabetic() && (self.in_name || self.hashes >= 2);
        self.hashes = if next == '#' { self.hashes + 1 } else { 0 };
        opens
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_may_end_as_on_windows() {
        assert_eq!(
            terminal("red\u{1b}\r\none\rline\r\n"),
            "red\u{241b}\r\none\u{240d}line\r\n"
        );
    }

    #[test]
    fn only_a_bracket_after_two_hashes_is_an_order() {
        for (text, safe) in [
            ("##error[x]", "##error(x]"),
            ("a ##[x]", "a ##(x]"),
            ("#error[x]", "#error[x]"),
            ("error[x]", "error[x]"),
            ("## error[x]", "## error[x]"),
        ] {
            assert_eq!(excerpt(text), safe);
        }
    }
}
