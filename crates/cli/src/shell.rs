//! Words of commands that people copy into a shell.

/// A text as one word of a shell, as people copy it there: whoever names a branch must not have them run something.
pub(crate) fn shell_word(text: &str) -> String {
    let is_plain = |letter: char| letter.is_ascii_alphanumeric() || "-_./@^~:".contains(letter);
    // At its beginning `~` stands for a folder of somebody.
    if !text.is_empty() && !text.starts_with('~') && text.chars().all(is_plain) {
        text.to_owned()
    } else if cfg!(windows) && !text.contains(['"', '$', '`', '%', '!', '\'']) {
        // The command prompt takes nothing else, and within these nothing is run by any shell.
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
