//! Lookup of units by their spelling.

use std::sync::LazyLock;

use rustc_hash::FxHashMap;

use super::{Dimension, UNITS, Unit};

/// Maximum length of a unit's spelling in bytes; a longer word is not a misspelt unit.
const LONGEST: usize = 24;

static BY_SPELLING: LazyLock<FxHashMap<&'static str, &'static Unit>> = LazyLock::new(|| {
    UNITS
        .iter()
        .flat_map(|unit| unit.spellings().map(move |spelling| (spelling, unit)))
        .collect()
});

impl Unit {
    /// Name of the unit, then its aliases.
    pub fn spellings(&self) -> impl Iterator<Item = &'static str> + use<> {
        core::iter::once(self.name).chain(self.aliases.iter().copied())
    }
}

/// The unit with the name or alias `text`. Case-sensitive: `mW` is not `MW`.
pub fn find(text: &str) -> Option<&'static Unit> {
    BY_SPELLING.get(text).copied()
}

/// The unit that `text` probably means: at most one edit in three letters, ignoring case. With `wanted`, only units of
/// that dimension are considered. At equal distance the first in the table wins. `None` if none is close enough.
pub fn nearest(text: &str, wanted: Option<Dimension>) -> Option<&'static Unit> {
    if text.len() > LONGEST {
        return None;
    }
    let written = text.to_lowercase();
    UNITS
        .iter()
        .filter(|unit| wanted.is_none_or(|dimension| unit.dimension == dimension))
        .flat_map(|unit| unit.spellings().map(move |spelling| (unit, spelling.to_lowercase())))
        .filter_map(|(unit, spelling)| {
            let edits = strsim::osa_distance(&written, &spelling);
            let longer = written.chars().count().max(spelling.chars().count());
            (edits * 3 <= longer).then_some((edits, unit))
        })
        .min_by_key(|(edits, _)| *edits)
        .map(|(_, unit)| unit)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_spelling_belongs_to_one_unit_and_finds_it() {
        let spellings: usize = UNITS.iter().map(|unit| unit.spellings().count()).sum();
        assert_eq!(BY_SPELLING.len(), spellings, "a spelling is listed twice");
        for unit in UNITS {
            for spelling in unit.spellings() {
                assert_eq!(find(spelling).map(|found| found.name), Some(unit.name), "{spelling}");
                assert!(spelling.len() <= LONGEST, "{spelling}");
            }
        }
    }

    #[test]
    fn a_spelling_is_one_word() {
        for spelling in UNITS.iter().flat_map(Unit::spellings) {
            assert!(
                !spelling.starts_with(|first: char| first.is_ascii_digit()),
                "{spelling}"
            );
            assert!(
                spelling.chars().all(|c| c.is_alphanumeric() || "/-%°".contains(c)),
                "{spelling} holds a character that a unit may not hold"
            );
        }
    }

    #[test]
    fn letters_that_mean_several_things_are_no_units() {
        for text in ["C", "F", "f", "c", "MW", "MA", "L/min", "cfm", "", " psi"] {
            assert_eq!(find(text), None, "{text}");
        }
    }

    #[test]
    fn a_misspelling_is_recognised_only_when_close() {
        let cases = [
            ("pis", None, Some("psi")),
            ("scfg", Some(Dimension::Flow), Some("scfh")),
            ("L/min", Some(Dimension::Flow), Some("sl/min")),
            ("inh20", Some(Dimension::Pressure), Some("inH2O")),
            ("v", Some(Dimension::Voltage), Some("V")),
            ("PSI/scfh/kft", None, Some("psi/scfh/kft")),
            ("psi", Some(Dimension::Flow), None),
            ("q", None, None),
            ("", None, None),
            ("gibberish", None, None),
            ("a word much longer than any unit", None, None),
        ];
        for (text, wanted, expected) in cases {
            assert_eq!(nearest(text, wanted).map(|unit| unit.name), expected, "{text}");
        }
    }
}
