//! Settings of folders in a repository: a file overrides keys for its folder and below; all other keys hold as above
//! it.
//!
//! The nearest file wins key by key, with two exceptions. Keys that must be the same for all offices are set at the
//! root: the language number, and the conditions of standard volumes, since offices share parts and routes. And a level
//! set by a file above is a minimum: a rule that is required of a whole repository must not be lowered by a file
//! further down.

use std::sync::Arc;

use drysheath_engineering::standard::NamedStandardConditions;
use drysheath_office::SETTINGS;
use toml_edit::Table;

use super::{
    LANGUAGE_KEY, PracticeKey, Settings, SettingsProblem, StatedLevel, document, item_range, key_range, problem,
};
use crate::rule::Rule;

/// A settings file in the chain that holds for a folder.
pub(super) struct Layer<'s> {
    file: Arc<str>,
    /// The settings above it. `None` for the root.
    above: Option<&'s Settings>,
}

/// Message and advice for an entry that the settings above do not allow.
type Refusal = (String, String);

impl Layer<'_> {
    /// The layer of the root.
    pub fn top() -> Self {
        Self {
            file: SETTINGS.into(),
            above: None,
        }
    }

    pub fn is_top(&self) -> bool {
        self.above.is_none()
    }

    /// Path of the file from the root.
    pub fn file(&self) -> Arc<str> {
        Arc::clone(&self.file)
    }

    /// The refusal if a rule cannot have a level here.
    pub fn refuses(&self, rule: &Rule, stated: StatedLevel, settings: &Settings) -> Option<Refusal> {
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

    /// The refusal if these standard conditions cannot be set here.
    pub fn refuses_standard(&self, standard: &NamedStandardConditions, settings: &Settings) -> Option<Refusal> {
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
    /// The settings of a folder with a file of its own: those here, overridden by `text`. `file` is its path from the
    /// root. Errors are returned in the list; all other entries apply.
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

    /// Path from the root of the file that sets a key; the root's file for keys that are not set.
    pub fn file_of(&self, key: &str) -> &str {
        self.stands_in.get(key).map_or(SETTINGS, |file| file)
    }

    /// The file that sets a practice number, as a suffix for messages; empty where its default holds.
    pub(crate) fn said_in(&self, key: PracticeKey) -> String {
        let name: &str = key.into();
        self.stated_file(key)
            .map_or_else(String::new, |file| format!(" (`{name}` in {file})"))
    }

    /// The file that sets a practice number. `None` where its default holds.
    pub(crate) fn stated_file(&self, key: PracticeKey) -> Option<&str> {
        self.stands_in.get(<&str>::from(key)).map(|file| &**file)
    }

    /// Checks that a folder does not change the language number; it may repeat it.
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
                Some(StatedLevel::At(holds)),
                "{word}"
            );
        }
        let (settings, problems) = below("language = 1\n", "[levels]\nelevation-missing = \"off\"\n");
        assert_eq!(
            (settings.level(RuleId::ElevationMissing), problems.len()),
            (Some(StatedLevel::Off), 0)
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
