use std::cell::Cell;

use drysheath_engineering::units::Quantity;

/// A noun with its article: `a regulator`, `an air-pipe`.
pub fn with_article(noun: &str) -> String {
    let article = if noun.starts_with(['a', 'e', 'i', 'o', 'u']) {
        "an"
    } else {
        "a"
    };
    format!("{article} {noun}")
}

/// The candidate that `written` was probably meant to be: the same word in other case, or at most one edit in three
/// letters. At equal distance the first wins. `None` if none is close enough.
pub fn nearest<'c>(written: &str, candidates: impl IntoIterator<Item = &'c str>) -> Option<&'c str> {
    const LONGEST: usize = 64;
    if written.len() > LONGEST {
        return None;
    }
    let length = written.chars().count();
    candidates
        .into_iter()
        .filter(|candidate| candidate.len() <= LONGEST && *candidate != written)
        .filter_map(|candidate| {
            if written.eq_ignore_ascii_case(candidate) {
                return Some((0, candidate));
            }
            let edits = strsim::osa_distance(written, candidate);
            (edits * 3 <= length.max(candidate.chars().count())).then_some((edits, candidate))
        })
        .min_by_key(|(edits, _)| *edits)
        .map(|(_, candidate)| candidate)
}

/// Limits the number of unknown names for which a suggestion is searched. A file with more of them does not just have
/// typing errors, and each search costs time in proportion to the number of names.
#[derive(Default)]
pub(crate) struct Suggestions(Cell<u32>);

impl Suggestions {
    /// Twice as many as are shown for one rule.
    const MOST: u32 = 100;

    /// Whether one more may be searched.
    pub fn next(&self) -> bool {
        let before = self.0.get();
        self.0.set(before.saturating_add(1));
        before < Self::MOST
    }
}

/// A length as the trade writes it: inches as fractions where they are whole 64ths, other units unchanged.
#[expect(clippy::cast_sign_loss, reason = "the range is checked first")]
pub fn inches(length: Quantity) -> String {
    const FINEST: f64 = 64.0;
    let sixty_fourths = length.value * FINEST;
    if length.unit.name != "in" || sixty_fourths.fract() != 0.0 || !(0.0..1e6).contains(&sixty_fourths) {
        return length.to_string();
    }
    let mut numerator = sixty_fourths as u64;
    let mut denominator = FINEST as u64;
    while numerator.is_multiple_of(2) && denominator > 1 {
        numerator /= 2;
        denominator /= 2;
    }
    match (numerator / denominator, numerator % denominator) {
        (whole, 0) => format!("{whole} in"),
        (0, part) => format!("{part}/{denominator} in"),
        (whole, part) => format!("{whole}-{part}/{denominator} in"),
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use drysheath_engineering::units::find;

    use super::*;

    #[test]
    fn near_names_are_found_and_far_ones_are_not() {
        let names = ["mf", "ps-101a", "ps-101b", "monitor"];
        assert_eq!(nearest("monitr", names), Some("monitor"));
        assert_eq!(nearest("ps-101c", names), Some("ps-101a"));
        assert_eq!(nearest("dryer", names), None);
        assert_eq!(nearest("x", ["y"]), None);
        assert_eq!(nearest("F1", ["p1", "f1"]), Some("f1"));
    }

    #[test]
    fn articles_follow_the_noun() {
        assert_eq!(with_article("air-pipe"), "an air-pipe");
        assert_eq!(with_article("cable"), "a cable");
    }

    #[test]
    fn inches_are_fractions() {
        let inch = find("in").unwrap();
        for (value, shown) in [(0.375, "3/8 in"), (1.5, "1-1/2 in"), (2.0, "2 in"), (0.17, "0.17 in")] {
            assert_eq!(inches(Quantity { value, unit: inch }), shown);
        }
    }
}
