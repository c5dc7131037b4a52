//! The number of the language that a repository is written in.

use drysheath_office::kinds::{LANGUAGE, first_version};
use drysheath_text::{Edit, TextRange, apply};
use toml_edit::{Document, Table};

use super::{Settings, SettingsProblem, item_range, key_range, problem};
use crate::registry::RuleId;

/// The key, which stands before all tables.
pub const LANGUAGE_KEY: &str = "language";

impl Settings {
    /// Reads the settings of a repository, which has to say its language. One that does not is written in language 0.
    pub fn of_repository(text: &str) -> (Self, Vec<SettingsProblem>) {
        let (mut settings, mut problems) = Self::read(text);
        let stated = *settings.language.get_or_insert(0);
        if stated == 0 {
            let message = "this repository does not say the number of the language that it is written in";
            let missing = drysheath_syntax::Problem::new(RuleId::LanguageMissing, TextRange::default(), message);
            problems.push(missing.help("run `drysheath migrate`: it replaces what has changed and writes the number"));
        }
        (settings, problems)
    }

    /// The number of the language. Files that belong to no repository are written in that of this program.
    pub fn language(&self) -> u32 {
        self.language.unwrap_or(LANGUAGE)
    }

    /// Why this program cannot read the repository, where its language is newer.
    pub fn too_new(&self) -> Option<String> {
        let language = self.language();
        (language > LANGUAGE).then(|| {
            format!(
                "it is written in language {language}: get drysheath {} or later, since this is {}",
                first_version(language),
                env!("CARGO_PKG_VERSION")
            )
        })
    }

    /// The text of settings with the number of today's language: in place of the number that they say, or as their first line.
    /// None if it cannot be read.
    pub fn with_language(text: &str) -> Option<String> {
        let document = Document::parse(text).ok()?;
        let said = document.get(LANGUAGE_KEY).map(item_range);
        Some(match said {
            Some(place) => {
                let edit = Edit {
                    range: place?,
                    replacement: LANGUAGE.to_string(),
                };
                apply(text, &[edit])?
            }
            None if text.is_empty() => format!("{LANGUAGE_KEY} = {LANGUAGE}\n"),
            None => {
                let end = if text.contains("\r\n") { "\r\n" } else { "\n" };
                format!("{LANGUAGE_KEY} = {LANGUAGE}{end}{end}{text}")
            }
        })
    }

    pub(super) fn read_language(&mut self, table: &Table, problems: &mut Vec<SettingsProblem>) {
        let Some(item) = table.get(LANGUAGE_KEY) else { return };
        let stated = item.as_integer().and_then(|number| u32::try_from(number).ok());
        if stated.is_none() {
            let place = item_range(item).unwrap_or(key_range(table, LANGUAGE_KEY));
            let message = format!("`{LANGUAGE_KEY}` expects a whole number, such as `{LANGUAGE_KEY} = {LANGUAGE}`");
            problems.push(problem(place, message));
        }
        self.language = Some(stated.unwrap_or(LANGUAGE));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_repository_says_its_language() {
        let problems = |text: &str| {
            let (settings, problems) = Settings::of_repository(text);
            let ids: Vec<&str> = problems.iter().map(|problem| problem.id.name()).collect();
            (settings.language(), ids)
        };
        assert_eq!(problems("language = 1\n[levels]\n"), (1, vec![]));
        assert_eq!(problems(""), (0, vec!["language-missing"]));
        assert_eq!(problems("language = 0\n"), (0, vec!["language-missing"]));
        assert_eq!(problems("language = \"1\"\n"), (1, vec!["settings-unreadable"]));
        // One slip, one result.
        assert_eq!(problems("langage = 1\n"), (1, vec!["settings-unreadable"]));
        assert_eq!(problems("language = \n"), (1, vec!["settings-unreadable"]));
    }

    #[test]
    fn a_newer_language_names_the_program_that_reads_it() {
        let (settings, _) = Settings::of_repository("language = 7\n");
        let why = settings.too_new().unwrap_or_default();
        assert!(why.contains("language 7") && why.contains("0.7.0"), "{why}");
        assert_eq!(Settings::of_repository("language = 1\n").0.too_new(), None);
        assert_eq!(Settings::default().too_new(), None);
    }
}
