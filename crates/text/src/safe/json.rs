use std::borrow::Cow;
use std::fmt::Write;

use super::terminal::CiCommandStart;
use super::{is_invisible, is_line_end};

/// A JSON document for printing. Terminal control characters, and brackets that would form a command to the CI system,
/// are escaped, which does not change the meaning. They only occur in strings.
pub fn json(document: &str) -> Cow<'_, str> {
    let acts = |one: char| {
        one != '\n' && one != '\r' && one != '\t' && (one.is_control() || is_invisible(one) || is_line_end(one))
    };
    if !document.contains("##") && !document.contains(acts) {
        return Cow::Borrowed(document);
    }
    let mut safe = String::with_capacity(document.len() + 8);
    let mut order = CiCommandStart::default();
    for one in document.chars() {
        if order.opens(one) || acts(one) {
            for unit in one.encode_utf16(&mut [0; 2]) {
                let _ = write!(safe, "\\u{unit:04x}");
            }
        } else {
            safe.push(one);
        }
    }
    Cow::Owned(safe)
}

#[cfg(test)]
mod tests {
    use super::json;

    #[test]
    fn escapes_mean_what_was_there() {
        assert_eq!(
            json("\"\u{9b}m ##vso[a] \u{e0041} ## b\""),
            "\"\\u009bm ##vso\\u005ba] \\udb40\\udc41 ## b\""
        );
    }
}
