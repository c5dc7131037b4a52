//! Comparison of texts by their words.

use drysheath_syntax::{TokenKind, lex};

use super::record::What;

/// How a text differs that changed without changing its meaning.
pub(super) fn wording(before: &str, after: &str) -> What {
    let words = |text: &str, with_comments: bool| -> Vec<String> {
        lex(text)
            .into_iter()
            .filter(|token| match token.kind {
                // A field ends with a comma or at the end of its line, so these are equivalent.
                TokenKind::Space | TokenKind::Newline | TokenKind::Comma => false,
                TokenKind::Comment => with_comments,
                _ => true,
            })
            .map(|token| token.range.of(text).trim_end().to_owned())
            .collect()
    };
    if before == after {
        What::Moved
    } else if words(before, true) == words(after, true) {
        What::Layout
    } else if words(before, false) == words(after, false) {
        What::Comments
    } else {
        What::Reworded
    }
}

/// A piece of a file joined to one line, without comments.
pub(super) fn written(text: &str) -> String {
    let mut out = String::new();
    let (mut blank, mut line_end) = (false, false);
    for token in lex(text) {
        match token.kind {
            TokenKind::Space => blank = true,
            TokenKind::Newline => line_end = true,
            TokenKind::Comment => {}
            kind => {
                let opens = out.is_empty() || out.ends_with(['{', ',']) || out.ends_with("->");
                let goes_on = matches!(
                    kind,
                    TokenKind::CloseBrace | TokenKind::Comma | TokenKind::Arrow | TokenKind::With | TokenKind::Then
                );
                if line_end && !opens && !goes_on {
                    out.push_str(", ");
                } else if (blank || line_end) && !out.is_empty() && kind != TokenKind::Comma {
                    out.push(' ');
                }
                out.push_str(token.range.of(text));
                (blank, line_end) = (false, false);
            }
        }
    }
    out
}

/// The range of lines, from 1, between the first and the last conflict marker of an unfinished merge.
pub(super) fn conflict(text: &str) -> Option<(usize, usize)> {
    if !text.contains("<<<<<<<") {
        return None;
    }
    let is_mark = |line: &str, mark: &str| {
        line.strip_prefix(mark)
            .is_some_and(|rest| rest.is_empty() || rest.starts_with([' ', '\r']))
    };
    let mut lines = (1..).zip(text.lines());
    let (first, _) = lines.find(|(_, line)| is_mark(line, "<<<<<<<"))?;
    let marks = lines.filter(|(_, line)| is_mark(line, "=======") || is_mark(line, ">>>>>>>"));
    marks.last().map(|(last, _)| (first, last))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn layout_and_comments_are_told_from_words() {
        let before = "manifold mf { ports 4, rating 30 psi }\n";
        assert_eq!(
            wording(before, "manifold   mf {\n ports 4\n rating 30 psi\n}\n"),
            What::Layout
        );
        assert_eq!(
            wording(before, "# by the door\nmanifold mf { ports 4, rating 30 psi }\n"),
            What::Comments
        );
        assert_eq!(
            wording(before, "manifold mf { rating 30 psi, ports 4 }\n"),
            What::Reworded
        );
    }

    #[test]
    fn a_piece_stands_on_one_line() {
        let text = "cable c1 {\n  pairs 50 # old\n  section s1 { buried 2 km,  usage 3 scfh }\n}";
        assert_eq!(
            written(text),
            "cable c1 { pairs 50, section s1 { buried 2 km, usage 3 scfh } }"
        );
        assert_eq!(written("air d1\n  -> r1\n  with 4 m"), "air d1 -> r1 with 4 m");
    }

    #[test]
    fn marks_of_a_merge_are_found() {
        let text = "a\n<<<<<<< ours\nb\n=======\nc\n>>>>>>> theirs\n";
        assert_eq!(conflict(text), Some((2, 6)));
        assert_eq!(conflict("# =======\n=======\n"), None);
    }
}
