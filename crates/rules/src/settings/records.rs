//! The permitted names of a repository's own facts: those that follow `record` in a thing.

use drysheath_office::Recorded;
use toml_edit::{Item, Table, Value};

use super::layers::Layer;
use super::{Settings, SettingsProblem, item_range, key_range, problem, range, unknown};

/// Name of the table in the settings.
pub(super) const TABLE: &str = "records";
/// The only key of the table.
pub(super) const NAMES: &str = "names";

/// Table, key and meaning, for the reference.
pub const RECORD_NAMES: (&str, &str, &str) = (
    TABLE,
    NAMES,
    "The names that `record` may give to a fact of a thing, such as `[\"serial\", \"asset\"]`; any other is a slip. Where nothing is \
     listed, every name is taken as it is.",
);

impl Settings {
    /// The permitted names. `None` where the settings do not list them.
    pub fn record_names(&self) -> Option<&[Box<str>]> {
        self.record_names.as_deref()
    }

    /// Whether the name of a fact is missing from the list.
    pub(crate) fn is_unlisted(&self, recorded: &Recorded) -> bool {
        self.record_names().is_some_and(|names| !names.contains(&recorded.name))
    }

    pub(super) fn read_record_names(
        &mut self,
        entries: &Table,
        layer: &Layer<'_>,
        problems: &mut Vec<SettingsProblem>,
    ) {
        for (key, item) in entries {
            if key != NAMES {
                problems.push(unknown(key, key_range(entries, key), "key", &[NAMES]));
                continue;
            }
            let place = item_range(item).unwrap_or(key_range(entries, key));
            let Some(listed) = item.as_value().and_then(Value::as_array) else {
                problems.push(problem(
                    place,
                    format!("`{NAMES}` takes a list of names, such as [\"serial\", \"asset\"]"),
                ));
                continue;
            };
            let mut names = Vec::new();
            for one in listed {
                match one.as_str().filter(|name| is_name(name)) {
                    Some(name) => names.push(name.into()),
                    None => problems.push(
                        problem(
                            Item::Value(one.clone()).span().map_or(place, range),
                            format!("`{}` cannot be a name", one.to_string().trim()),
                        )
                        .help("a name is made of letters, digits, `-` and `_`, and starts with a letter"),
                    ),
                }
            }
            // A list that cannot be read in full is not applied, nor is an empty one.
            if !names.is_empty() && names.len() == listed.len() {
                self.record_names = Some(names.into());
                self.stands_in.insert(TABLE, layer.file());
            }
        }
    }
}

/// Whether the lexer accepts it as a name after `record`.
fn is_name(name: &str) -> bool {
    name.starts_with(char::is_alphabetic)
        && name
            .chars()
            .all(|one| one.is_alphanumeric() || matches!(one, '-' | '_'))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_listed() {
        let (settings, problems) = Settings::read("[records]\nnames = [\"serial\", \"asset\"]\n");
        assert_eq!(problems, []);
        let names: Vec<&str> = settings
            .record_names()
            .unwrap_or_default()
            .iter()
            .map(|name| &**name)
            .collect();
        assert_eq!(names, ["serial", "asset"]);
        assert_eq!(Settings::default().record_names(), None);
        let (settings, problems) = Settings::read("[records]\nnames = []\n");
        assert_eq!((settings.record_names(), problems), (None, Vec::new()));
    }

    #[test]
    fn what_cannot_be_a_list_of_names_is_reported_and_lists_nothing() {
        for (text, marked) in [
            ("[records]\nnames = \"serial\"\n", "\"serial\""),
            ("[records]\nnames = [\"serial\", \"no. 2\"]\n", "\"no. 2\""),
            ("[records]\nnames = [\"serial\", 3]\n", "3"),
            ("[records]\nnmes = [\"serial\"]\n", "nmes"),
            ("[record]\nnames = [\"serial\"]\n", "record"),
        ] {
            let (settings, problems) = Settings::read(text);
            let marks: Vec<&str> = problems.iter().map(|problem| problem.range.of(text)).collect();
            assert_eq!(marks, [marked], "{text}");
            assert_eq!(settings.record_names(), None);
        }
    }
}
