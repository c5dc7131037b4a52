//! Makes text from a repository safe to show.
//!
//! Files, their names and their settings may be untrusted. Their contents are data: they must not move a cursor, start
//! a formula, make a link or give a command to the CI system. There is one function for each type of output, and all
//! output goes through one of them:
//!
//! * a terminal or a log: [`terminal`], [`line()`], [`excerpt`];
//! * Markdown: [`markdown`], [`markdown_cell`];
//! * printed JSON: [`json`];
//! * CSV cells: [`csv_cell`];
//! * XML, such as SVG: [`xml`].

mod csv;
mod json;
mod markdown;
mod terminal;
mod xml;

pub use csv::csv_cell;
pub use json::json;
pub use markdown::{markdown, markdown_cell};
pub use terminal::{excerpt, line, terminal};
pub use xml::xml;

/// Whether a character changes the display order of others or is invisible, so that what is read differs from the
/// contents (Unicode Technical Standard 55, "Unicode Source Code Handling").
fn is_invisible(character: char) -> bool {
    matches!(
        character,
        '\u{ad}'
            | '\u{61c}'
            | '\u{180e}'
            | '\u{200b}'..='\u{200f}'
            | '\u{202a}'..='\u{202e}'
            | '\u{2060}'..='\u{206f}'
            | '\u{feff}'
            | '\u{fff9}'..='\u{fffb}'
            | '\u{e0000}'..='\u{e007f}'
    )
}

/// Whether some readers take a character as a line end.
fn is_line_end(character: char) -> bool {
    matches!(
        character,
        '\n' | '\r' | '\u{b}' | '\u{c}' | '\u{85}' | '\u{2028}' | '\u{2029}'
    )
}

/// Visible replacement for a character that must not be written: the Unicode picture of the control character.
fn picture(character: char) -> char {
    match character {
        '\0'..='\u{1f}' => char::from_u32(0x2400 + character as u32).unwrap_or(char::REPLACEMENT_CHARACTER),
        '\u{7f}' => '\u{2421}',
        _ => char::REPLACEMENT_CHARACTER,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Possible contents of a hostile file, name or title.
    const HOSTILE: [&str; 12] = [
        "\u{1b}]0;title\u{7}",
        "\u{9b}31mred",
        "a\rb\u{8}c",
        "\u{202e}cba",
        "::error file=x::y",
        "##vso[task.setvariable variable=x]y",
        "[a](http://192.0.2.1)",
        "![a](http://192.0.2.1/x.png)",
        "@everyone #1 <script>alert(1)</script>",
        "`` ` ``",
        "=cmd|' /C calc'!A0",
        "&amp; ]]> \0",
    ];

    #[test]
    fn nothing_that_acts_on_a_terminal_is_left() {
        for text in HOSTILE {
            for safe in [terminal(text), line(text)] {
                assert!(
                    safe.chars().all(|one| !one.is_control() && !is_invisible(one)),
                    "{safe:?}"
                );
                assert!(!safe.contains("##vso[") && !safe.starts_with("::"), "{safe:?}");
            }
            let drawn = excerpt(text);
            assert_eq!(drawn.len(), text.len(), "{drawn:?}");
            assert!(
                drawn.chars().all(|one| !one.is_control() && !is_invisible(one)),
                "{drawn:?}"
            );
        }
    }

    #[test]
    fn plain_text_stays_as_it_is() {
        let text = "10.2 psi at `c101 3.2 km`, 5 °C: 3 of 4 → see note\n\tnext line";
        assert_eq!(terminal(text), text);
        assert_eq!(excerpt(text), text);
        assert_eq!(json(text), text);
        assert_eq!(xml(text), text);
        assert_eq!(
            markdown("10.2 psi at `c101 3.2 km` -> `r1`"),
            "10.2 psi at `c101 3.2 km` -> `r1`"
        );
    }
}
