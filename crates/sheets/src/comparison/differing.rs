//! Marks the words that differ between two texts.

use maud::{Markup, html};

/// A text split into the common beginning, the part that differs, and the common end.
type Pieces<'t> = (&'t str, &'t str, &'t str);

/// The texts before and now, with the differing words marked.
pub fn marked(before: Option<&str>, after: Option<&str>) -> (Markup, Markup) {
    let (Some(before), Some(after)) = (before, after) else {
        let whole = |text: Option<&str>| html! { @if let Some(text) = text { (text) } @else { "–" } };
        return (whole(before), whole(after));
    };
    let (was, now) = pieces(before, after);
    let drawn = |(start, middle, end): Pieces<'_>, is_now: bool| {
        // The blank after the last word is not marked.
        let word = middle.trim_end();
        let blank = middle.get(word.len()..).unwrap_or_default();
        html! {
            (start)
            @if !word.is_empty() { @if is_now { ins { (word) } } @else { del { (word) } } }
            (blank) (end)
        }
    };
    (drawn(was, false), drawn(now, true))
}

/// Splits both texts by the words they have in common at both ends. A word includes the blank after it.
fn pieces<'t>(one: &'t str, other: &'t str) -> (Pieces<'t>, Pieces<'t>) {
    let (left, right): (Vec<&str>, Vec<&str>) =
        (one.split_inclusive(' ').collect(), other.split_inclusive(' ').collect());
    let same = |pairs: &mut dyn Iterator<Item = (&&str, &&str)>| -> usize {
        pairs
            .take_while(|(one, other)| one == other)
            .map(|(one, _)| one.len())
            .sum()
    };
    let start = same(&mut left.iter().zip(&right));
    let shorter = one.len().min(other.len()) - start;
    let end = same(&mut left.iter().rev().zip(right.iter().rev()));
    // Words that would count for both ends of the shorter text count for the beginning.
    let end = if end > shorter { 0 } else { end };
    let cut = |text: &'t str| {
        let (head, rest) = text.split_at_checked(start).unwrap_or((text, ""));
        let (middle, tail) = rest
            .split_at_checked(rest.len().saturating_sub(end))
            .unwrap_or((rest, ""));
        (head, middle, tail)
    };
    (cut(one), cut(other))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_differs_stands_between_what_is_common() {
        assert_eq!(
            pieces("0 .. 15 psi", "0 .. 9 psi"),
            (("0 .. ", "15 ", "psi"), ("0 .. ", "9 ", "psi"))
        );
        assert_eq!(
            pieces("ps1 -> tb pair 3", "ps1 -> tb pair 5"),
            (("ps1 -> tb pair ", "3", ""), ("ps1 -> tb pair ", "5", ""))
        );
    }

    #[test]
    fn no_letter_is_lost_or_counted_twice() {
        let texts = ["", "a", "a a", "a a a", "a b a", "b", "ü a", "a ü a", "  ", "a  a"];
        for one in texts {
            for other in texts {
                let (was, now) = pieces(one, other);
                assert_eq!([was.0, was.1, was.2].concat(), one);
                assert_eq!([now.0, now.1, now.2].concat(), other);
                assert_eq!((was.0, was.2), (now.0, now.2));
            }
        }
    }
}
