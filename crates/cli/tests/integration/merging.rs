//! Merges by git, alone and with the merge driver.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Output;

use tempfile::TempDir;

use crate::common::{CLEAN, code, commit, err, git, git_command, out, repository, run};

/// The clean office with one line for each row of spare numbers, on a branch of its own for each version of it.
struct Repository(TempDir);

impl Repository {
    fn new() -> Self {
        let folder = repository();
        let this = Self(folder);
        let text: String = CLEAN
            .lines()
            .filter(|line| !line.starts_with("spare tb pair") && !line.starts_with("spare c101 pair 38"))
            .map(|line| match line {
                "spare c101 pair 1 .. 36" => "spare tb pair rest\nspare c101 pair rest\n".to_owned(),
                "spare m1 sensor 4 .. 8" => "spare m1 sensor rest\n".to_owned(),
                line => format!("{line}\n"),
            })
            .collect();
        fs::write(this.office(), text).unwrap();
        commit(this.path(), "one line for what is spare");
        this
    }

    fn path(&self) -> &Path {
        self.0.path()
    }

    fn office(&self) -> PathBuf {
        self.path().join("offices/elm.office")
    }

    fn text(&self) -> String {
        fs::read_to_string(self.office()).unwrap()
    }

    /// Commits a version of the office on a new branch, and returns to the main one.
    fn branch(&self, name: &str, edits: &[(&str, &str)]) {
        git(self.path(), &["switch", "--quiet", "--create", name]);
        self.edit(edits);
        commit(self.path(), name);
        git(self.path(), &["switch", "--quiet", "main"]);
    }

    fn edit(&self, edits: &[(&str, &str)]) {
        let text = edits.iter().fold(self.text(), |text, (old, new)| {
            assert_eq!(text.matches(old).count(), 1, "{old}");
            text.replace(old, new)
        });
        fs::write(self.office(), text).unwrap();
    }

    /// Sets up the driver as the command's help says.
    fn with_driver(&self) {
        let help = out(&run(self.path(), &["merge-driver", "--help"]));
        let line = |start: &str| help.lines().map(str::trim).find(|line| line.starts_with(start));
        fs::write(self.path().join(".gitattributes"), line("*.office").unwrap()).unwrap();
        let driver = line("git config").unwrap().split('"').nth(1).unwrap();
        let driver = driver.replacen("drysheath", env!("CARGO_BIN_EXE_drysheath"), 1);
        git(self.path(), &["config", "merge.drysheath.driver", &driver]);
        commit(self.path(), "attributes");
    }

    fn merge(&self, branch: &str) -> Output {
        git_command(self.path(), &["merge", "--no-edit", branch])
            .output()
            .unwrap()
    }

    fn lint(&self) -> Output {
        run(self.path(), &["lint", "--fail-on", "note"])
    }
}

/// A further sensor on the cable: its statement before a line, and its wire before another.
fn sensor(number: u8, before: &str, wire_before: &str) -> [(String, String); 2] {
    let sensor = format!(
        "pressure-sensor ps{number} {{\n    at              c101 2.{number} km\n    span            0 .. 15 psi\n    \
         step            0.1 psi\n    error           0.2 psi\n    proof           30 psi\n    \
         limit           low 3.5 psi minor deadband 0.3 psi\n}}\n{before}"
    );
    let wire = format!(
        "wire ps{number}                    -> c101 pair 3{number}     -> tb pair 1{number}        -> m1 sensor {number}\n{wire_before}"
    );
    [(before.to_owned(), sensor), (wire_before.to_owned(), wire)]
}

fn borrowed(edits: &[(String, String)]) -> Vec<(&str, &str)> {
    edits.iter().map(|(old, new)| (old.as_str(), new.as_str())).collect()
}

#[test]
fn sensors_that_two_branches_add_in_two_places_merge_by_git_alone() {
    let repository = Repository::new();
    assert_eq!(code(&repository.lint()), 0, "{}", out(&repository.lint()));
    repository.branch("four", &borrowed(&sensor(4, "cable c101 {", "wire ps1  ")));
    repository.branch("five", &borrowed(&sensor(5, "block tb  ", "wire d1 contact")));
    assert_eq!(code(&repository.merge("four")), 0);
    let merged = repository.merge("five");
    assert_eq!(code(&merged), 0, "{}", out(&merged));
    assert_eq!(code(&repository.lint()), 0, "{}", out(&repository.lint()));
}

#[test]
fn sensors_that_two_branches_add_in_one_place_merge_with_the_driver() {
    let repository = Repository::new();
    repository.with_driver();
    for number in 4..=6 {
        repository.branch(
            &format!("with{number}"),
            &borrowed(&sensor(number, "block tb  ", "wire d1 contact")),
        );
    }
    for number in 4..=6 {
        let merged = repository.merge(&format!("with{number}"));
        assert_eq!(code(&merged), 0, "{}{}", out(&merged), err(&merged));
    }
    assert_eq!(code(&repository.lint()), 0, "{}", out(&repository.lint()));
    assert!((4..=6).all(|number| repository.text().contains(&format!("wire ps{number} "))));
}

#[test]
fn without_the_driver_those_are_a_conflict() {
    let repository = Repository::new();
    for number in 4..=5 {
        repository.branch(
            &format!("with{number}"),
            &borrowed(&sensor(number, "block tb  ", "wire d1 contact")),
        );
    }
    assert_eq!(code(&repository.merge("with4")), 0);
    assert_eq!(code(&repository.merge("with5")), 1);
}

#[test]
fn a_file_laid_out_anew_and_a_moved_statement_merge_with_the_driver() {
    let repository = Repository::new();
    repository.with_driver();
    repository.branch(
        "deadband",
        &[("low 8 psi major deadband 0.3 psi", "low 8 psi major deadband 0.4 psi")],
    );
    let text = repository.text();
    let (head, rest) = text.split_once("battery main").unwrap();
    fs::write(
        repository.office(),
        format!("battery main{rest}\n{head}").replace("    limit  ", "  limit"),
    )
    .unwrap();
    commit(repository.path(), "moved");
    let merged = repository.merge("deadband");
    assert_eq!(code(&merged), 0, "{}{}", out(&merged), err(&merged));
    let text = repository.text();
    assert!(
        text.starts_with("battery main") && text.contains("low 8 psi major deadband 0.4 psi"),
        "{text}"
    );
}

#[test]
fn a_statement_that_both_branches_change_is_a_conflict_of_git() {
    let repository = Repository::new();
    repository.with_driver();
    repository.branch("three", &[("tb pair 2  ", "tb pair 7  ")]);
    repository.edit(&[("tb pair 2  ", "tb pair 8  ")]);
    commit(repository.path(), "eight");
    let merged = repository.merge("three");
    assert_eq!(code(&merged), 1);
    let line = repository
        .text()
        .lines()
        .position(|line| line == "<<<<<<< ours")
        .unwrap()
        + 1;
    let told =
        format!("drysheath: offices/elm.office:{line}: conflict: `wire p1 -> m1 sensor 2` changed on both branches");
    assert!(err(&merged).contains(&told), "{}", err(&merged));
    let status = out(&git(repository.path(), &["status", "--porcelain"]));
    assert_eq!(status, "UU offices/elm.office\n");
    let linted = repository.lint();
    assert_eq!(code(&linted), 1);
    assert!(out(&linted).contains("a merge was not finished"), "{}", out(&linted));
}

#[test]
fn what_cannot_be_read_stops_the_merge() {
    let folder = repository();
    let office = folder.path().join("offices/elm.office");
    let arguments = ["merge-driver", "nowhere", "offices/elm.office", "offices/elm.office"];
    let output = run(folder.path(), &arguments);
    assert_eq!(code(&output), 129);
    assert!(err(&output).contains("nowhere: "), "{}", err(&output));
    assert_eq!(fs::read_to_string(office).unwrap(), CLEAN);
}
