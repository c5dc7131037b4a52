//! The number of the language version that a repository is written in.

use drysheath_office::kinds::{LANGUAGE, first_version};
use drysheath_text::{Edit, TextRange, apply};
use toml_edit::{Document, Item, Table};

use super::{Settings, SettingsProblem, item_range, key_range, problem};
use crate::registry::RuleId;

/// Key of the language version, which precedes all tables.
pub const LANGUAGE_KEY: &str = "language";

impl Settings {
    /// Reads the settings of a repository, which must state its language number. A repository that does not is written
    /// in language 0.
    pub fn of_repository(text: &str) -> (Self, Vec<SettingsProblem>) {
        let (mut settings, mut problems) = Self::read(text);
        let is_stated = settings.language.is_some();
        if settings.language() == 0 || !is_stated {
            settings.language = Some(0);
            let message = if is_stated {
                "this repository is written in language 0, an earlier one"
            } else {
                "this repository does not say the number of the language that it is written in"
            };
            let missing = drysheath_syntax::Problem::new(RuleId::LanguageMissing, TextRange::default(), message);
            problems.push(missing.help("run `drysheath migrate`: it replaces what has changed and writes the number"));
        }
        (settings, problems)
    }

    /// The language number. Files that belong to no repository are written in the language of this program.
    pub fn language(&self) -> u32 {
        self.language.unwrap_or(LANGUAGE)
    }

    /// An error message if the repository's language is newer than this program.
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

    /// Whether settings state a language number. The root file must, others may repeat it.
    pub fn says_language(text: &str) -> bool {
        Document::parse(text).is_ok_and(|document| document.get(LANGUAGE_KEY).is_some())
    }

    /// The settings with today's language number: in place of the stated one, or as a new first line. `None` if they
    /// cannot be parsed, or state something other than a number there.
    pub fn with_language(text: &str) -> Option<String> {
        const MARK: &str = "\u{feff}";
        if let Some(text) = text.strip_prefix(MARK) {
            return Self::with_language(text).map(|text| format!("{MARK}{text}"));
        }
        let document = Document::parse(text).ok()?;
        let is_number = |item: &Item| item.as_integer().is_some_and(|number| number >= 0);
        if document.get(LANGUAGE_KEY).is_some_and(|item| !is_number(item)) {
            return None;
        }
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
        // One mistake, one result.
        assert_eq!(problems("langage = 1\n"), (1, vec!["settings-unreadable"]));
        assert_eq!(problems("language = \n"), (1, vec!["settings-unreadable"]));
    }

    #[test]
    fn the_number_is_written_behind_a_byte_order_mark_and_over_no_text() {
        let written = |text| Settings::with_language(text);
        assert_eq!(
            written("\u{feff}[levels]\n").as_deref(),
            Some("\u{feff}language = 1\n\n[levels]\n")
        );
        assert_eq!(written("language = 0\n").as_deref(), Some("language = 1\n"));
        assert_eq!(written("language = \"1\"\n"), None);
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
