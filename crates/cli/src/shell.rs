//! Quoting for commands that users copy into a shell.

/// Quotes a text as one shell word, so that for example a branch name cannot run a command.
pub(crate) fn shell_word(text: &str) -> String {
    let is_plain = |letter: char| letter.is_ascii_alphanumeric() || "-_./@^~:".contains(letter);
    // A leading `~` is expanded to a home folder.
    if !text.is_empty() && !text.starts_with('~') && text.chars().all(is_plain) {
        text.to_owned()
    } else if cfg!(windows) && !text.contains(['"', '$', '`', '%', '!', '\'']) {
        // The Windows command prompt accepts only double quotes, and no shell runs anything in this text between them.
        format!("\"{text}\"")
    } else {
        format!("'{}'", text.replace('\'', r"'\''"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_text_is_more_than_a_word_of_a_shell() {
        for plain in ["HEAD~1", "origin/main", "v1.2-rc_3", "C:/offices"] {
            assert_eq!(shell_word(plain), plain);
        }
        let quote = if cfg!(windows) { '"' } else { '\'' };
        let quoted = |text: &str| format!("{quote}{text}{quote}");
        for text in ["x;id>y", "main@{1}", "~root", "two words", r"C:\offices", ""] {
            assert_eq!(shell_word(text), quoted(text));
        }
        assert_eq!(shell_word("it's $(id) `id`"), r"'it'\''s $(id) `id`'");
    }
}
