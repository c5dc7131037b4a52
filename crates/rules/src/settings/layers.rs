//! Settings of folders in a repository: a file says what is other in its folder and below, and the rest holds as it is above.
//!
//! The nearest file wins key by key, with two exceptions. What is one for all offices is said at the root: the number of the
//! language, and the conditions of standard volumes, since offices share parts and routes. And a level that a file above states
//! is the least: whoever requires a rule of a whole repository must not lose it to a file further down.

use std::sync::Arc;

use drysheath_engineering::standard::KnownStandard;
use drysheath_office::SETTINGS;
use toml_edit::Table;

use super::{LANGUAGE_KEY, PracticeKey, Settings, SettingsProblem, Stated, document, item_range, key_range, problem};
use crate::rule::Rule;

/// One of the files whose settings hold in a folder.
pub(super) struct Layer<'s> {
    file: Arc<str>,
    /// What holds above it; none for that of the root.
    above: Option<&'s Settings>,
}

/// What is wrong with an entry that the settings above do not allow, and what to do.
type Refusal = (String, String);

impl Layer<'_> {
    /// The settings of the root.
    pub fn top() -> Self {
        Self {
            file: SETTINGS.into(),
            above: None,
        }
    }

    pub fn is_top(&self) -> bool {
        self.above.is_none()
    }

    /// The path of the file from the root.
    pub fn file(&self) -> Arc<str> {
        Arc::clone(&self.file)
    }

    /// Why a rule cannot have a level here.
    pub fn refuses(&self, rule: &Rule, stated: Stated, settings: &Settings) -> Option<Refusal> {
        let above = self.above?;
        let required = above.level(rule.id)?;
        (stated < required).then(|| {
            let (name, stated, required) = (rule.name(), stated.word(), required.word());
            let file = settings.file_of(name);
            (
                format!("`{name}` is \"{required}\" by {file}, and cannot be \"{stated}\" in a folder below"),
                format!(
                    "delete this line, or change {file}: a folder may only make a level that is stated above it graver"
                ),
            )
        })
    }

    /// Why standard volumes cannot count at these conditions here.
    pub fn refuses_standard(&self, standard: &KnownStandard, settings: &Settings) -> Option<Refusal> {
        let above = self.above?.standard();
        (above.name != standard.name).then(|| {
            let file = settings.file_of(super::conditions::STANDARD);
            (
                format!(
                    "the repository counts standard volumes at {}, this folder cannot count them at {}",
                    above.name, standard.name
                ),
                format!("delete this line: offices share parts and routes, so that {file} says it for all"),
            )
        })
    }
}

impl Settings {
    /// The settings in a folder that has a file of its own: what `text` says, and the rest as it is here. `file` is its path from
    /// the root. Errors are in the list; the rest applies.
    #[must_use]
    pub fn with(&self, text: &str, file: &str) -> (Self, Vec<SettingsProblem>) {
        let mut settings = self.clone();
        let mut problems = Vec::new();
        let layer = Layer {
            file: file.into(),
            above: Some(self),
        };
        if let Some(document) = document(text, &mut problems) {
            self.require_language(&document, &mut problems);
            settings.read_conditions(&document, &layer, &mut problems);
            settings.tables(&document, &layer, &mut problems);
        }
        (settings, problems)
    }

    /// The path from the root of the file in which a key stands. Keys that are not set have their place at the root.
    pub fn file_of(&self, key: &str) -> &str {
        self.stands_in.get(key).map_or(SETTINGS, |file| file)
    }

    /// The file in which a practice number stands, as an addition to a message; nothing where its default holds.
    pub(crate) fn said_in(&self, key: PracticeKey) -> String {
        let name: &str = key.into();
        self.stated_file(key)
            .map_or_else(String::new, |file| format!(" (`{name}` in {file})"))
    }

    /// The file in which a practice number stands; none where its default holds.
    pub(crate) fn stated_file(&self, key: PracticeKey) -> Option<&str> {
        self.stands_in.get(<&str>::from(key)).map(|file| &**file)
    }

    /// A folder may repeat the number of the language, and say no other.
    fn require_language(&self, table: &Table, problems: &mut Vec<SettingsProblem>) {
        let Some(item) = table.get(LANGUAGE_KEY) else { return };
        let own = self.language();
        if item.as_integer() == Some(i64::from(own)) {
            return;
        }
        let place = item_range(item).unwrap_or_else(|| key_range(table, LANGUAGE_KEY));
        let message = match own {
            0 => format!("{SETTINGS} at the root of this repository says the number of its language, for all folders"),
            _ => format!(
                "this repository is written in language {own}, which {SETTINGS} at its root says for all folders"
            ),
        };
        problems.push(problem(place, message).help("delete this line"));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::registry::RuleId;
    use crate::rule::Level;

    const COUNTY: &str = "north/drysheath.toml";

    fn below(top: &str, text: &str) -> (Settings, Vec<String>) {
        let (top, problems) = Settings::of_repository(top);
        assert_eq!(problems, []);
        let (settings, problems) = top.with(text, COUNTY);
        (settings, problems.into_iter().map(|problem| problem.message).collect())
    }

    #[test]
    fn the_nearest_file_wins_key_by_key() {
        let top = "language = 1\n[practice]\ndryer-margin = \"30 %\"\nleak-size = \"8 scfh\"\n";
        let (settings, problems) = below(top, "[practice]\nleak-size = \"3 scfh\"\n");
        assert_eq!(problems, [""; 0]);
        let leak = settings.quantity(PracticeKey::LeakSize).map(|leak| leak.to_string());
        assert_eq!(leak.as_deref(), Some("3 scfh"));
        assert!((settings.fraction(PracticeKey::DryerMargin) - 0.3).abs() < 1e-12);
        assert_eq!(settings.file_of("leak-size"), COUNTY);
        assert_eq!(settings.file_of("dryer-margin"), SETTINGS);
    }

    #[test]
    fn a_folder_may_make_a_stated_level_graver_and_not_lesser() {
        let top = "language = 1\n[levels]\nelevation-missing = \"warning\"\n";
        for (word, holds, count) in [
            ("error", Level::Error, 0),
            ("warning", Level::Warning, 0),
            ("note", Level::Warning, 1),
            ("off", Level::Warning, 1),
        ] {
            let (settings, problems) = below(top, &format!("[levels]\nelevation-missing = \"{word}\"\n"));
            assert_eq!(problems.len(), count, "{word}");
            assert_eq!(
                settings.level(RuleId::ElevationMissing),
                Some(Stated::At(holds)),
                "{word}"
            );
        }
        let (settings, problems) = below("language = 1\n", "[levels]\nelevation-missing = \"off\"\n");
        assert_eq!(
            (settings.level(RuleId::ElevationMissing), problems.len()),
            (Some(Stated::Off), 0)
        );
    }

    #[test]
    fn language_and_conditions_are_said_for_the_whole_repository() {
        let top = "language = 1\n[conditions]\nstandard = \"14.696 psia, 70 degF\"\n";
        assert_eq!(below(top, "language = 1\n").1, [""; 0]);
        for other in ["language = 0\n", "language = 2\n", "language = \"1\"\n"] {
            let (settings, problems) = below(top, other);
            let told =
                "this repository is written in language 1, which drysheath.toml at its root says for all folders";
            assert_eq!(problems, [told], "{other}");
            assert_eq!(settings.language(), 1);
        }
        let (settings, problems) = below(top, "[conditions]\nstandard = \"14.696 psia, 60 degF\"\n");
        assert_eq!(problems.len(), 1);
        assert_eq!(settings.standard().name, below(top, "").0.standard().name);
    }

    #[test]
    fn a_file_that_cannot_be_read_changes_nothing() {
        let top = "language = 1\n[practice]\ndryer-margin = \"30 %\"\n";
        let (settings, problems) = below(top, "[practice\n");
        assert_eq!(problems.len(), 1);
        assert_eq!(settings.in_force(), Settings::read(top).0.in_force());
    }
}
