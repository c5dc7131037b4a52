//! What only Windows has: drive letters, back slashes, line ends of two characters, and names that mean the same in capitals.

use std::fs;
use std::path::Path;

use tempfile::TempDir;

use crate::common::{CLEAN, code, err, out, run};

/// A repository whose files end their lines as editors on Windows do.
fn repository() -> TempDir {
    let folder = TempDir::new().unwrap();
    fs::create_dir(folder.path().join("offices")).unwrap();
    fs::write(folder.path().join("drysheath.toml"), "language = 1\r\n").unwrap();
    fs::write(folder.path().join("offices/elm.office"), CLEAN.replace('\n', "\r\n")).unwrap();
    folder
}

fn shown(path: &Path) -> String {
    path.display().to_string()
}

#[test]
fn a_file_may_be_named_in_any_way_and_is_one_file() {
    let folder = repository();
    let office = folder.path().join("offices").join("elm.office");
    let whole = shown(&office);
    assert!(whole.contains(":\\"), "{whole}");
    let slashes = whole.replace('\\', "/");
    let capitals = shown(&folder.path().join("OFFICES").join("Elm.office"));
    let long = format!(
        r"\\?\{}",
        fs::canonicalize(&office)
            .unwrap()
            .display()
            .to_string()
            .trim_start_matches(r"\\?\")
    );
    for name in [
        r"offices\elm.office",
        r".\offices\elm.office",
        "offices/elm.office",
        &whole,
        &slashes,
        &capitals,
        &long,
    ] {
        let output = run(folder.path(), &["lint", name]);
        assert_eq!(code(&output), 0, "{name}: {}{}", out(&output), err(&output));
        assert!(out(&output).contains(" in 1 file\n"), "{name}: {}", out(&output));
    }
    let all = [
        r"offices\elm.office",
        "offices/elm.office",
        &whole,
        &slashes,
        &capitals,
        &long,
        "offices",
        ".",
    ];
    let output = run(folder.path(), &[&["lint"][..], &all[..]].concat());
    assert!(out(&output).contains(" in 1 file\n"), "{}", out(&output));
}

#[test]
fn line_ends_stay_and_places_are_those_that_editors_show() {
    let folder = repository();
    let office = folder.path().join("offices").join("elm.office");
    assert_eq!(code(&run(folder.path(), &["format", "--check"])), 0);
    let text = fs::read_to_string(&office).unwrap();
    fs::write(&office, text.replacen("regulator r1", "regulator   r1", 1)).unwrap();
    assert_eq!(code(&run(folder.path(), &["format", r"offices\elm.office"])), 0);
    let after = fs::read_to_string(&office).unwrap();
    assert_eq!(after.matches('\n').count(), after.matches("\r\n").count());
    assert_eq!(after, text);
}

#[test]
fn results_name_files_with_slashes_for_programs() {
    let folder = repository();
    let office = folder.path().join("offices").join("elm.office");
    let text = fs::read_to_string(&office).unwrap();
    fs::write(&office, text.replacen("tb pair 3", "tb pair 2", 1)).unwrap();
    for form in ["sarif", "junit", "code-quality", "annotations", "json"] {
        let output = run(folder.path(), &["lint", "--output", form]);
        let told = out(&output);
        assert_eq!(code(&output), 1, "{form}: {}", err(&output));
        assert!(
            told.contains("offices/elm.office") && !told.contains(r"offices\"),
            "{form}: {told}"
        );
    }
}

#[test]
fn a_thing_may_have_the_name_of_a_device() {
    let folder = repository();
    fs::write(folder.path().join("offices/elm.office"), CLEAN.replace("c101", "nul")).unwrap();
    let output = run(folder.path(), &["predict", "offices", "--pictures", r"drawn\here"]);
    assert_eq!(code(&output), 0, "{}{}", out(&output), err(&output));
    assert!(folder.path().join(r"drawn\here\offices\elm\nul_.svg").is_file());
}

#[test]
fn a_use_in_other_capitals_leads_nowhere_as_on_other_systems() {
    let folder = repository();
    fs::create_dir(folder.path().join("parts")).unwrap();
    fs::write(
        folder.path().join("parts/blocks.office"),
        "part block block-5 { pairs 5 }\r\n",
    )
    .unwrap();
    let office = |name: &str| {
        format!(
            "use {name}\r\noffice oak {{ title \"Oak\", site \"OAK01\", stage planned }}\r\nblock tb2 : block-5\r\n"
        )
    };
    for (name, is_found) in [("parts/blocks", true), ("parts/Blocks", false), ("Parts/blocks", false)] {
        fs::write(folder.path().join("offices/oak.office"), office(name)).unwrap();
        let told = out(&run(folder.path(), &["lint", r"offices\oak.office"]));
        assert_eq!(told.contains("use-not-found"), !is_found, "{name}: {told}");
        assert_eq!(told.contains("there is no file"), !is_found, "{name}: {told}");
    }
}
