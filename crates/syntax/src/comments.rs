//! Comments attached to a statement.

use drysheath_text::TextRange;

/// Range of the comment lines directly above what starts at `start`, without a blank line between: they belong to it.
/// `None` if something else precedes it on its line, or there is no comment above it.
pub fn comments_above(text: &str, start: u32) -> Option<TextRange> {
    let before = text.get(..start as usize)?;
    let (mut above, line) = at_line_start(before);
    if !line.trim_start_matches('\u{feff}').trim().is_empty() {
        return None;
    }
    let mut found: Option<TextRange> = None;
    while let Some(rest) = above.strip_suffix('\n') {
        let (earlier, line) = at_line_start(rest);
        let comment = line.trim_start_matches('\u{feff}').trim_start();
        if !comment.starts_with('#') {
            break;
        }
        let first = rest.len() - comment.len();
        let last = found.map_or(rest.trim_end_matches('\r').len() as u32, |found| found.end);
        found = Some(TextRange::new(first as u32, last));
        above = earlier;
    }
    found
}

/// Range of a statement and the comments attached to it, which are moved or deleted together.
pub fn with_comments(text: &str, statement: TextRange) -> TextRange {
    comments_above(text, statement.start).map_or(statement, |comments| comments.cover(statement))
}

/// Text of the comments, line by line.
pub fn comment_lines(comments: &str) -> impl Iterator<Item = &str> {
    let lines = comments.lines().map(str::trim);
    lines.map(|line| line.trim_start_matches('#').trim())
}

/// Splits a text at the start of its last line.
fn at_line_start(text: &str) -> (&str, &str) {
    text.split_at(text.rfind('\n').map_or(0, |at| at + 1))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn above(text: &str) -> Option<&str> {
        let start = text.find("block tb").unwrap_or_default() as u32;
        comments_above(text, start).map(|range| range.of(text))
    }

    #[test]
    fn comments_belong_to_what_follows_them_at_once() {
        assert_eq!(above("# by the door\nblock tb"), Some("# by the door"));
        assert_eq!(above("\u{feff}# one\r\n  # two\r\nblock tb"), Some("# one\r\n  # two"));
        assert_eq!(above("spare tc # why\n# two\nblock tb"), Some("# two"));
        assert_eq!(above("#\n# a\nblock tb"), Some("#\n# a"));
        for none in [
            "block tb",
            "# of the file\n\nblock tb",
            "spare tc pair 1 # why\nblock tb",
            "# a\n} block tb",
        ] {
            assert_eq!(above(none), None, "{none}");
        }
    }

    #[test]
    fn what_comments_say_is_without_their_marks() {
        let said: Vec<&str> = comment_lines("# by the door\r\n  ## left").collect();
        assert_eq!(said, ["by the door", "left"]);
    }
}
