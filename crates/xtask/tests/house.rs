//! The house stays as DEVELOPERS.md describes it: what stands at the top, which room may know which, and what must
//! not happen inside them.
#![allow(missing_docs, clippy::unwrap_used)]

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

/// Each room and the rooms that it may know.
const ROOMS: &[(&str, &[&str])] = &[
    ("text", &[]),
    ("engineering", &[]),
    ("syntax", &["text"]),
    ("office", &["text", "engineering", "syntax"]),
    ("prediction", &["text", "engineering", "syntax", "office"]),
    ("rules", &["text", "engineering", "syntax", "office", "prediction"]),
    (
        "report",
        &["text", "engineering", "syntax", "office", "prediction", "rules"],
    ),
    ("disk", &["text", "syntax", "office"]),
    (
        "ide",
        &["text", "engineering", "syntax", "office", "prediction", "rules"],
    ),
    (
        "server",
        &["text", "syntax", "office", "rules", "report", "disk", "ide"],
    ),
    (
        "cli",
        &[
            "text",
            "syntax",
            "office",
            "prediction",
            "rules",
            "report",
            "disk",
            "server",
        ],
    ),
    (
        "xtask",
        &[
            "text",
            "engineering",
            "syntax",
            "office",
            "prediction",
            "rules",
            "report",
            "cli",
        ],
    ),
];

/// Rooms that do no input and output: files are handed to them.
const CORE: &[&str] = &[
    "text",
    "engineering",
    "syntax",
    "office",
    "prediction",
    "rules",
    "report",
];

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../..")
        .canonicalize()
        .unwrap()
}

/// The parts of a manifest from `[section]` to the next section.
fn section<'m>(manifest: &'m str, name: &str) -> &'m str {
    let header = format!("[{name}]\n");
    let rest = manifest.split_once(&header).map_or("", |(_, rest)| rest);
    rest.split("\n[").next().unwrap_or_default()
}

fn sources(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            found.extend(sources(&path));
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            found.push(path);
        }
    }
    found
}

#[test]
fn rooms_know_only_what_they_may() {
    for (room, known) in ROOMS {
        let manifest = fs::read_to_string(root().join("crates").join(room).join("Cargo.toml")).unwrap();
        let dependencies = section(&manifest, "dependencies");
        for (other, _) in ROOMS {
            let depends = dependencies
                .lines()
                .any(|line| line.starts_with(&format!("drysheath-{other} ")));
            assert!(!depends || known.contains(other), "`{room}` must not know `{other}`");
        }
        if *room == "server" {
            continue;
        }
        for protocol in ["tower-lsp", "lsp-types", "tokio"] {
            if *room == "server" {
                continue;
            }
            assert!(!dependencies.contains(protocol), "`{room}` must not know {protocol}");
        }
    }
}

#[test]
fn every_room_is_on_the_list() {
    let rooms: BTreeSet<String> = fs::read_dir(root().join("crates"))
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    let listed: BTreeSet<String> = ROOMS.iter().map(|(room, _)| (*room).to_owned()).collect();
    assert_eq!(rooms, listed);
}

#[test]
fn core_rooms_do_no_input_and_output() {
    for room in CORE {
        for path in sources(&root().join("crates").join(room).join("src")) {
            let text = fs::read_to_string(&path).unwrap();
            for forbidden in [
                "std::fs",
                "std::net",
                "std::env",
                "std::process",
                "println!",
                "eprintln!",
            ] {
                assert!(!text.contains(forbidden), "{} uses {forbidden}", path.display());
            }
        }
    }
}

#[test]
fn the_trade_stays_out_of_syntax() {
    let words: Vec<&str> = drysheath_office::kinds::KINDS.iter().map(|kind| kind.word()).collect();
    for path in sources(&root().join("crates/syntax/src")) {
        let text = fs::read_to_string(&path).unwrap();
        for word in &words {
            let quoted = format!("\"{word}\"");
            assert!(!text.contains(&quoted), "{} knows the kind {word}", path.display());
        }
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
fn the_formal_grammar_names_every_word_of_the_language() {
    let grammar = fs::read_to_string(root().join("grammar/office.ebnf")).unwrap();
    for word in drysheath_syntax::WORDS {
        assert!(
            grammar.contains(&format!("\"{word}\"")),
            "{word} is missing in office.ebnf"
        );
    }
}
