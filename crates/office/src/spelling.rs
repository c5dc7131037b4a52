use std::cell::Cell;

use drysheath_engineering::units::Quantity;

/// A noun with its article as it is read aloud, also where a figure or a mark comes first: `a regulator`, `an air-pipe`, "an `outlet`",
/// `an 80 A fuse`.
pub fn with_article(noun: &str) -> String {
    let read = noun.trim_start_matches('`');
    let whole: &str = read
        .split_once(|one: char| !one.is_ascii_digit())
        .map_or(read, |(whole, _)| whole);
    let is_open = match whole {
        // Eleven and eighteen, also as thousands and millions.
        _ if whole.starts_with("11") || whole.starts_with("18") => whole.len() % 3 == 2,
        "" => read.starts_with(['a', 'e', 'i', 'o', 'u']),
        _ => whole.starts_with('8'),
    };
    format!("{} {noun}", if is_open { "an" } else { "a" })
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
        assert_eq!(with_article("`outlet`"), "an `outlet`");
        assert_eq!(with_article(""), "a ");
    }

    #[test]
    fn articles_follow_figures_as_they_are_read() {
        for open in [
            "8 A", "8.5 A", "80 A", "800 A", "8000 ft", "11 A", "11.5 A", "18 psi", "18000 ft", "11",
        ] {
            assert_eq!(with_article(open), format!("an {open}"));
        }
        for shut in [
            "1 A",
            "10 A",
            "110 V",
            "1100 ft",
            "180 ft",
            "0.8 A",
            "24 V",
            "-48 V",
            "-8 V",
            "100000 ft",
        ] {
            assert_eq!(with_article(shut), format!("a {shut}"));
        }
    }

    #[test]
    fn inches_are_fractions() {
        let inch = find("in").unwrap();
        for (value, shown) in [(0.375, "3/8 in"), (1.5, "1-1/2 in"), (2.0, "2 in"), (0.17, "0.17 in")] {
            assert_eq!(inches(Quantity { value, unit: inch }), shown);
        }
    }
}
