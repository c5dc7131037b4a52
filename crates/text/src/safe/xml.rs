use std::borrow::Cow;

use super::is_invisible;

/// Text for XML, before a library escapes its markup. XML 1.0 cannot represent most control characters (section 2.2,
/// `Char`), so they are replaced.
pub fn xml(text: &str) -> Cow<'_, str> {
    let is_refused = |one: char| {
        one.is_control() && !matches!(one, '\n' | '\r' | '\t')
            || matches!(one, '\u{fffe}' | '\u{ffff}')
            || is_invisible(one)
    };
    if text.contains(is_refused) {
        let replaced = text.chars().map(|one| {
            if is_refused(one) {
                char::REPLACEMENT_CHARACTER
            } else {
                one
            }
        });
        return replaced.collect();
    }
    Cow::Borrowed(text)
}
