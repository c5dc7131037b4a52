//! The repository stays as DEVELOPERS.md describes it: what is at the top, which crate may use which, and what must not
//! happen inside them.
#![allow(missing_docs, clippy::unwrap_used, clippy::expect_used, clippy::indexing_slicing)]
#![allow(clippy::disallowed_methods, clippy::disallowed_types)]

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use serde_json::Value;

const CRATE: &str = "drysheath-";

/// The row of the table that says what tests may use besides what their crate may.
const TESTS: &str = "tests";

/// What a crate may use, as the table in DEVELOPERS.md says.
struct ListedCrate {
    name: String,
    crates: BTreeSet<String>,
    libraries: BTreeSet<String>,
    does_input_and_output: bool,
}

/// A dependency that a manifest declares.
struct Dependency {
    name: String,
    /// `dev`, `build`, or empty for one of the library itself.
    kind: String,
}

/// A crate of the workspace.
struct Member {
    name: String,
    folder: PathBuf,
    dependencies: Vec<Dependency>,
}

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../..")
        .canonicalize()
        .unwrap()
}

/// The words in backticks.
fn words(cell: &str) -> BTreeSet<String> {
    cell.split('`').skip(1).step_by(2).map(str::to_owned).collect()
}

fn listed_crates() -> Vec<ListedCrate> {
    let text = fs::read_to_string(root().join("DEVELOPERS.md")).unwrap();
    let (_, section) = text.split_once("### What each may use\n").expect("the table's heading");
    let rows = section
        .lines()
        .skip_while(|line| !line.starts_with('|'))
        .take_while(|line| line.starts_with('|'));
    rows.skip(2)
        .map(|row| {
            let cells: Vec<&str> = row.split('|').map(str::trim).collect();
            let &[_, name, crates, libraries, io, _] = cells.as_slice() else {
                unreachable!("a row has four cells: {row}")
            };
            ListedCrate {
                name: name.trim_matches('`').to_owned(),
                crates: words(crates),
                libraries: words(libraries),
                does_input_and_output: io == "yes",
            }
        })
        .collect()
}

/// The crates as cargo sees them, with the dependencies of every target platform.
fn members() -> Vec<Member> {
    let output = Command::new(env!("CARGO"))
        .args(["metadata", "--format-version", "1", "--no-deps", "--offline"])
        .current_dir(root())
        .output()
        .unwrap();
    let metadata: Value = serde_json::from_slice(&output.stdout).unwrap();
    let text = |value: &Value| value.as_str().unwrap_or_default().to_owned();
    let member = |package: &Value| Member {
        name: text(&package["name"]).strip_prefix(CRATE).unwrap().to_owned(),
        folder: Path::new(&text(&package["manifest_path"])).parent().unwrap().to_owned(),
        dependencies: package["dependencies"]
            .as_array()
            .unwrap()
            .iter()
            .map(|dependency| Dependency {
                name: text(&dependency["name"]),
                kind: text(&dependency["kind"]),
            })
            .collect(),
    };
    metadata["packages"].as_array().unwrap().iter().map(member).collect()
}

/// The Rust files below a folder, which need not be there.
fn sources(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).into_iter().flatten() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            found.extend(sources(&path));
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            found.push(path);
        }
    }
    found
}

/// The code below a folder, without comments that take whole lines.
fn code(folder: &Path) -> String {
    let files = sources(folder)
        .into_iter()
        .map(|path| fs::read_to_string(path).unwrap());
    let lines: Vec<String> = files
        .flat_map(|text| text.lines().map(str::to_owned).collect::<Vec<_>>())
        .filter(|line| !line.trim_start().starts_with("//"))
        .collect();
    lines.join("\n")
}

#[test]
fn every_crate_is_in_the_table() {
    let listed: BTreeSet<String> = listed_crates()
        .into_iter()
        .map(|row| row.name)
        .filter(|name| name != TESTS)
        .collect();
    let there: BTreeSet<String> = members().into_iter().map(|member| member.name).collect();
    assert_eq!(there, listed);
}

#[test]
fn crates_use_only_those_above_them() {
    let mut above = BTreeSet::new();
    for row in listed_crates() {
        for used in &row.crates {
            assert!(
                above.contains(used),
                "`{}` may not use `{used}`, which is not above it",
                row.name
            );
        }
        above.insert(row.name);
    }
}

#[test]
fn crates_use_what_the_table_says() {
    let crates = listed_crates();
    let tests = crates.iter().find(|row| row.name == TESTS).unwrap();
    for member in members() {
        let row = crates.iter().find(|row| row.name == member.name).unwrap();
        let may = |row: &ListedCrate, name: &str| match name.strip_prefix(CRATE) {
            Some(other) => row.crates.contains(other),
            None => row.libraries.contains(name),
        };
        for Dependency { name, kind } in &member.dependencies {
            let allowed = match kind.as_str() {
                "" => may(row, name),
                "dev" => may(row, name) || may(tests, name),
                _ => false,
            };
            assert!(allowed, "`{}` must not use `{name}` {kind}", row.name);
        }
    }
}

#[test]
fn every_dependency_is_used() {
    for member in members() {
        for Dependency { name, kind } in &member.dependencies {
            let folders: &[&str] = if kind == "dev" {
                &["src", "tests", "benches", "examples"]
            } else {
                &["src"]
            };
            let word = name.replace('-', "_");
            let is_part = |character: Option<char>| character.is_some_and(|it| it.is_alphanumeric() || it == '_');
            let used = folders.iter().any(|folder| {
                let code = code(&member.folder.join(folder));
                code.match_indices(&word).any(|(at, _)| {
                    let (before, after) = code.split_at(at);
                    !is_part(before.chars().next_back()) && !is_part(after.chars().nth(word.len()))
                })
            });
            assert!(used, "`{}` does not use `{name}`", member.name);
        }
    }
}

/// Clippy holds the rest: `.clippy.toml` lists what does input and output.
#[test]
fn only_crates_that_do_input_and_output_may_call_it() {
    let crates = listed_crates();
    for member in members() {
        let row = crates.iter().find(|row| row.name == member.name).unwrap();
        let allows = code(&member.folder.join("src")).contains("clippy::disallowed");
        assert_eq!(allows, row.does_input_and_output, "`{}`", row.name);
    }
}

#[test]
fn the_trade_stays_out_of_syntax() {
    let kinds: Vec<&str> = drysheath_office::kinds::KINDS.iter().map(|kind| kind.word()).collect();
    let code = code(&root().join("crates/syntax/src"));
    for kind in kinds {
        assert!(!code.contains(&format!("\"{kind}\"")), "`syntax` knows the kind {kind}");
    }
}

#[test]
fn the_top_level_is_the_agreed_one() {
    const AGREED: [&str; 9] = [
        "Cargo.lock",
        "Cargo.toml",
        "DEVELOPERS.md",
        "LICENSE",
        "README.md",
        "crates",
        "editors",
        "grammar",
        "tests",
    ];
    let top: BTreeSet<String> = fs::read_dir(root())
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .filter(|name| !name.starts_with('.') && name != "target")
        .collect();
    assert_eq!(top, AGREED.iter().map(|name| (*name).to_owned()).collect());
}

#[test]
fn what_the_documentation_points_at_exists() {
    let text = fs::read_to_string(root().join("DEVELOPERS.md")).unwrap();
    let folders = ["crates/", "tests/", "grammar/", "editors/"];
    let is_path = |word: &&String| {
        folders.iter().any(|folder| word.starts_with(folder))
            && !word.contains(|it: char| it.is_ascii_uppercase() || it == ' ')
    };
    for path in words(&text).iter().filter(is_path) {
        assert!(root().join(path).exists(), "there is no {path}");
    }
}

#[test]
fn the_formal_grammar_names_every_word_of_the_language() {
    let grammar = fs::read_to_string(root().join("grammar/office.ebnf")).unwrap();
    for word in drysheath_syntax::WORDS {
        assert!(
            grammar.contains(&format!("\"{word}\"")),
            "{word} is missing in office.ebnf"
        );
    }
}
