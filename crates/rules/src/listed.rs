use std::borrow::Borrow;

/// Joins words: "a", "a and b", "a, b and c".
pub(crate) fn listed<W: Borrow<str>>(words: &[W]) -> String {
    match words {
        [] => String::new(),
        [only] => only.borrow().to_owned(),
        [first @ .., last] => format!("{} and {}", first.join(", "), last.borrow()),
    }
}
