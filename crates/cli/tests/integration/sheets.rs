//! The sheets: which files are written where, what a work order holds, and that nothing is written or read outside.

use std::fs;
use std::path::Path;

use crate::common::{CLEAN, SECRET, code, commit, contents, err, git, office, out, repository, run};

const DAY: &[&str] = &["--today", "2026-03-01"];

fn sheets(folder: &Path, arguments: &[&str]) -> std::process::Output {
    run(folder, &[&["sheets"], arguments, DAY].concat())
}

fn page(folder: &Path, name: &str) -> String {
    fs::read_to_string(folder.join(name)).unwrap_or_else(|error| panic!("{name}: {error}"))
}

#[test]
fn a_folder_of_offices_gets_a_file_for_each_and_an_index() {
    let folder = repository();
    fs::write(folder.path().join("offices/oak.office"), office("oak-end", 2)).unwrap();
    let before = contents(folder.path());
    let printed = tempfile::tempdir().unwrap();
    let to = printed.path().to_str().unwrap();
    let output = sheets(folder.path(), &["offices", "--to", to]);
    assert_eq!((code(&output), err(&output)), (0, String::new()));
    assert_eq!(contents(folder.path()), before, "nothing changes where the offices are");
    let first = contents(printed.path());
    let names: Vec<&str> = first
        .keys()
        .filter_map(|path| path.strip_prefix(to)?.strip_prefix('/'))
        .filter(|name| !name.ends_with('/'))
        .collect();
    for wanted in ["index.html", "offices/elm.html", "offices/oak.html"] {
        assert!(names.contains(&wanted), "{wanted} in {names:?}");
    }
    assert!(page(printed.path(), "offices/oak.html").contains("oak-end"));
    sheets(folder.path(), &["offices", "--to", to]);
    assert_eq!(contents(printed.path()), first, "the same offices give the same bytes");
}

#[test]
fn one_office_gets_no_index() {
    let folder = repository();
    let output = sheets(folder.path(), &["offices/elm.office", "--to", "printed"]);
    assert_eq!(code(&output), 0, "{}", err(&output));
    assert!(folder.path().join("printed/offices/elm.html").is_file());
    assert!(!folder.path().join("printed/index.html").exists());
}

#[test]
fn an_office_that_cannot_be_read_fails_the_command_and_not_the_others() {
    let folder = repository();
    fs::write(folder.path().join("offices/bad.office"), b"office bad { \xff }\n").unwrap();
    let output = sheets(folder.path(), &["offices", "--to", "printed"]);
    assert_eq!(code(&output), 2);
    assert!(err(&output).contains("offices/bad.office"), "{}", err(&output));
    assert!(folder.path().join("printed/offices/elm.html").is_file());
}

#[cfg(unix)]
#[test]
fn no_link_in_the_folder_leads_a_sheet_out_of_it() {
    for (link, target) in [
        ("offices", ""),
        ("offices/elm.html", "private.html"),
        ("index.html", "private.html"),
    ] {
        let (folder, outside) = (repository(), tempfile::tempdir().unwrap());
        fs::write(outside.path().join("private.html"), SECRET).unwrap();
        let printed = folder.path().join("printed");
        fs::create_dir_all(printed.join(link).parent().unwrap()).unwrap();
        std::os::unix::fs::symlink(outside.path().join(target), printed.join(link)).unwrap();
        let before = contents(outside.path());
        let output = sheets(folder.path(), &["offices", "--to", "printed"]);
        assert_eq!(contents(outside.path()), before, "{link}: {}", err(&output));
    }
}

#[test]
fn a_work_order_is_written_of_what_changes_and_draws_what_is_taken_out() {
    let folder = repository();
    fs::write(folder.path().join("offices/oak.office"), office("oak-end", 2)).unwrap();
    commit(folder.path(), "two");
    let (before, rest) = CLEAN.split_once("pressure-sensor ps1 {").unwrap();
    let (_, after) = rest.split_once("\n}\n").unwrap();
    let lines = before.lines().chain(after.lines());
    let without: Vec<&str> = lines.filter(|line| !line.starts_with("wire ps1 ")).collect();
    fs::write(folder.path().join("offices/elm.office"), without.join("\n")).unwrap();
    let output = sheets(folder.path(), &["offices", "--to", "printed", "--since", "HEAD"]);
    assert_eq!(code(&output), 0, "{}", err(&output));
    assert!(
        out(&output).starts_with("1 work order since HEAD; 1 office without a change"),
        "{}",
        out(&output)
    );
    assert!(!folder.path().join("printed/offices/oak.html").exists());
    let page = page(folder.path(), "printed/offices/elm.html");
    assert!(page.contains("As it was: what is dashed is taken out"));
    let commit = out(&git(folder.path(), &["rev-parse", "HEAD"]));
    assert!(page.contains(&format!("since HEAD ({})", &commit[..12])));
    let removed = page.split("<g class=\"removed\">").skip(1);
    let drawn = removed.filter(|group| group.split("</g>").next().is_some_and(|group| group.contains(">ps1<")));
    assert!(drawn.count() > 0, "ps1 is drawn as it is taken out");
}

#[test]
fn a_revision_that_is_none_is_said_and_nothing_is_written() {
    let folder = repository();
    let output = sheets(
        folder.path(),
        &["offices", "--to", "printed", "--since", "no-such-branch"],
    );
    assert_eq!(code(&output), 2);
    assert!(err(&output).contains("no-such-branch"), "{}", err(&output));
    assert!(!folder.path().join("printed/offices/elm.html").exists());
}

/// The HTML files below a folder, by their paths from there.
fn pages(folder: &Path) -> Vec<String> {
    let prefix = format!("{}/", folder.display());
    let paths = contents(folder)
        .into_keys()
        .filter(|path| Path::new(path).extension().is_some_and(|extension| extension == "html"));
    paths
        .map(|path| path.strip_prefix(&prefix).unwrap_or(&path).to_owned())
        .collect()
}

#[test]
fn offices_whose_names_differ_in_capitals_have_two_files_everywhere() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("elm.office"), CLEAN).unwrap();
    fs::write(folder.path().join("Elm.office"), office("oak", 2)).unwrap();
    if fs::read_dir(folder.path()).unwrap().count() < 2 {
        return;
    }
    assert_eq!(code(&sheets(folder.path(), &[".", "--to", "printed"])), 0);
    let printed = folder.path().join("printed");
    assert_eq!(pages(&printed), ["Elm.html", "elm.2.html", "index.html"]);
    // A file may have the very name that a number makes.
    fs::write(folder.path().join("elm.2.office"), office("ash", 3)).unwrap();
    assert_eq!(code(&sheets(folder.path(), &[".", "--to", "again"])), 0);
    let again = folder.path().join("again");
    assert_eq!(
        pages(&again),
        ["Elm.html", "elm.2.html", "elm.3.html", "index.html"],
        "one page for each office"
    );
}

#[test]
fn names_that_are_made_to_do_harm_stay_names() {
    let folder = tempfile::tempdir().unwrap();
    let hostile = ["con", "a:b", "<b>", "index", "x\ny", "\u{202e}gpj"];
    for (number, name) in hostile.iter().enumerate() {
        let path = folder.path().join(format!("{name}.office"));
        fs::write(path, office(&format!("o{number}"), number)).unwrap();
    }
    let before = contents(folder.path());
    let to = tempfile::tempdir().unwrap();
    let output = sheets(folder.path(), &[".", "--to", to.path().to_str().unwrap()]);
    assert_eq!(code(&output), 0, "{}", err(&output));
    assert_eq!(contents(folder.path()), before);
    let files = pages(to.path());
    assert_eq!(files.len(), hostile.len() + 1, "{files:?}");
    for file in &files {
        assert!(!file.contains([':', '<', '>', '\n']), "{file:?}");
    }
    for wanted in ["con_.html", "index.2.html"] {
        assert!(files.contains(&wanted.to_owned()), "{files:?}");
    }
    assert!(!page(to.path(), "index.html").contains('\u{202e}'));
}
