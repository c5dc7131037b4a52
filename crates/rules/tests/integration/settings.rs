//! Settings of several files hold as if one file said the nearest value of each key.

use std::collections::BTreeMap;
use std::fmt::Write;

use drysheath_fixture::check;
use drysheath_rules::{PRACTICES, RULES, Settings};

/// From the least to the gravest.
const LEVELS: [&str; 4] = ["off", "note", "warning", "error"];

/// An entry by a table and a key, with its value.
type Entries = BTreeMap<(&'static str, &'static str), String>;

/// What a file says: any of a few keys, chosen by numbers. Only what is right in a single file is chosen.
fn entries(chosen: &[(u8, u8)]) -> Entries {
    let levels: Vec<&str> = RULES
        .iter()
        .filter(|rule| {
            let text = format!("[levels]\n{} = \"off\"\n", rule.name());
            Settings::read(&text).1.is_empty()
        })
        .map(|rule| rule.name())
        .take(4)
        .collect();
    let mut said = Entries::new();
    for (key, value) in chosen {
        let (key, value) = (usize::from(*key), usize::from(*value));
        let (entry, value) = match key % 4 {
            0 => (
                ("levels", levels[key / 4 % levels.len()]),
                LEVELS[value % LEVELS.len()].to_owned(),
            ),
            1 => (("editor", "hints-parts"), ["yes", "no"][value % 2].to_owned()),
            2 => (("practice", "normal-from"), format!("{} %", value % 50)),
            _ => {
                let practice = &PRACTICES[key / 4 % PRACTICES.len()];
                let text = match practice.dimension {
                    None => format!("{} %", 50 + value % 50),
                    Some(_) => {
                        let sample = practice.default.unwrap_or("5 psi");
                        let unit = sample.split_once(' ').unwrap().1;
                        format!("{value} {unit}")
                    }
                };
                let name: &str = practice.key.into();
                (
                    ("practice", name),
                    if name == "normal-from" { "3 %".to_owned() } else { text },
                )
            }
        };
        said.insert(entry, value);
    }
    said
}

fn text(entries: &Entries) -> String {
    let mut out = String::from("language = 1\n");
    let mut table = "";
    for ((of, key), value) in entries {
        if *of != table {
            let _ = writeln!(out, "[{of}]");
            table = of;
        }
        let _ = writeln!(out, "{key} = \"{value}\"");
    }
    out
}

#[test]
fn layers_hold_as_one_file_that_says_the_nearest_of_each_key() {
    check!(450).with_type::<Vec<Vec<(u8, u8)>>>().for_each(|layers| {
        let (mut settings, _) = Settings::of_repository("language = 1\n");
        let (mut merged, mut stands_in) = (Entries::new(), BTreeMap::new());
        for (depth, chosen) in layers.iter().enumerate() {
            let own = entries(chosen);
            let file = format!("{depth}/drysheath.toml");
            let (below, problems) = settings.with(&text(&own), &file);
            let rank = |word: &str| LEVELS.iter().position(|level| *level == word);
            let mut refused = 0;
            for (entry, value) in own {
                match merged.get(&entry) {
                    Some(above) if entry.0 == "levels" && rank(&value) < rank(above) => refused += 1,
                    _ => {
                        merged.insert(entry, value);
                        stands_in.insert(entry.1, file.clone());
                    }
                }
            }
            assert_eq!(problems.len(), refused, "{problems:?}");
            settings = below;
        }
        let (whole, problems) = Settings::of_repository(&text(&merged));
        assert_eq!(problems, []);
        assert_eq!(settings.in_force(), whole.in_force());
        for (key, file) in stands_in {
            // What an editor shows has no name in results.
            if key != "hints-parts" {
                assert_eq!(settings.file_of(key), file, "{key}");
            }
        }
    });
}
