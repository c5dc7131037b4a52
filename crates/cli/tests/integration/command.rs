//! Arguments, streams, exit codes, and files that cannot be read or written.

use std::fs;
use std::io::Write;
use std::path::Path;
use std::process::{Output, Stdio};

use tempfile::TempDir;

use super::common::{CLEAN, code, command, err, out, run};

fn with_input(folder: &Path, arguments: &[&str], input: &[u8]) -> Output {
    let mut child = command(folder, arguments)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    child.stdin.take().unwrap().write_all(input).unwrap();
    child.wait_with_output().unwrap()
}

/// A repository with one clean office and one that lacks a unit.
fn repository() -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("drysheath.toml"), "language = 1\n").unwrap();
    fs::create_dir(folder.path().join("offices")).unwrap();
    fs::write(folder.path().join("offices/clean.office"), CLEAN).unwrap();
    let wrong = CLEAN
        .replace("elm-hollow", "oak-hollow")
        .replace("ELMH01", "OAKH01")
        .replace("192.0.2.11", "192.0.2.12")
        .replace("30 psi", "30");
    fs::write(folder.path().join("offices/wrong.office"), wrong).unwrap();
    folder
}

#[test]
fn exit_codes_tell_clean_from_results_from_failure() {
    let folder = repository();
    assert_eq!(code(&run(folder.path(), &["lint", "offices/clean.office"])), 0);
    let wrong = run(folder.path(), &["lint"]);
    assert_eq!(code(&wrong), 1);
    assert!(out(&wrong).contains("offices/wrong.office:"), "{}", out(&wrong));
    assert!(out(&wrong).contains("[unit-missing]"), "{}", out(&wrong));
    assert_eq!(code(&run(folder.path(), &["lint", "nowhere.office"])), 2);
    assert_eq!(code(&run(folder.path(), &["lint", "--fail-on", "never"])), 2);
    assert_eq!(code(&run(folder.path(), &["frobnicate"])), 2);
}

#[test]
fn the_failing_level_is_the_users() {
    let folder = repository();
    let open = CLEAN.replace("healthy closed", "healthy open");
    fs::write(folder.path().join("offices/wrong.office"), "").unwrap();
    fs::write(folder.path().join("offices/clean.office"), open).unwrap();
    assert_eq!(code(&run(folder.path(), &["lint"])), 0);
    assert_eq!(code(&run(folder.path(), &["lint", "--fail-on", "note"])), 1);
}

#[test]
fn paths_are_shown_as_they_were_given() {
    let folder = repository();
    let whole = folder.path().join("offices/wrong.office");
    let output = run(folder.path(), &["lint", whole.to_str().unwrap()]);
    // Windows takes both signs, and outputs have that of all systems.
    let shown = whole.to_str().unwrap().replace('\\', "/");
    assert!(out(&output).contains(&shown), "{}", out(&output));
    let output = run(&folder.path().join("offices"), &["lint", "wrong.office"]);
    assert!(out(&output).contains("[ wrong.office:"), "{}", out(&output));
}

#[test]
fn no_colour_unless_on_a_terminal_or_asked_for() {
    let folder = repository();
    assert!(!out(&run(folder.path(), &["lint"])).contains('\u{1b}'));
    assert!(out(&run(folder.path(), &["lint", "--colour", "always"])).contains('\u{1b}'));
}

#[test]
fn standard_input_stands_for_a_path() {
    let folder = repository();
    let text = CLEAN.replace("30 psi", "30");
    let output = with_input(
        folder.path(),
        &["lint", "-", "--as", "offices/new.office"],
        text.as_bytes(),
    );
    assert_eq!(code(&output), 1);
    assert!(out(&output).contains("offices/new.office:"), "{}", out(&output));
}

#[test]
fn the_output_does_not_depend_on_the_order_of_paths() {
    let folder = repository();
    let one = run(folder.path(), &["lint", "offices/clean.office", "offices/wrong.office"]);
    let other = run(folder.path(), &["lint", "offices/wrong.office", "offices/clean.office"]);
    assert_eq!(out(&one), out(&other));
}

#[test]
fn ignored_files_are_left_alone() {
    let folder = repository();
    fs::write(folder.path().join(".gitignore"), "wrong.office\n").unwrap();
    let output = run(folder.path(), &["lint"]);
    assert_eq!(code(&output), 0, "{}", out(&output));
    assert!(out(&output).contains("in 1 file"), "{}", out(&output));
}

#[cfg(unix)]
#[test]
fn a_loop_of_links_is_reported_and_the_rest_is_linted() {
    let folder = repository();
    std::os::unix::fs::symlink("..", folder.path().join("offices/up")).unwrap();
    let output = run(folder.path(), &["lint"]);
    assert_eq!(code(&output), 2);
    assert!(err(&output).contains("loop"), "{}", err(&output));
    assert!(out(&output).contains("[unit-missing]"), "{}", out(&output));
}

#[cfg(unix)]
#[test]
fn a_link_to_nowhere_is_reported_and_the_rest_is_linted() {
    let folder = repository();
    std::os::unix::fs::symlink("gone.office", folder.path().join("offices/link.office")).unwrap();
    let output = run(folder.path(), &["lint"]);
    assert_eq!(code(&output), 2);
    assert!(err(&output).contains("link.office"), "{}", err(&output));
    assert!(out(&output).contains("[unit-missing]"), "{}", out(&output));
}

#[cfg(unix)]
#[test]
fn parts_outside_the_repository_are_refused() {
    let folder = repository();
    let elsewhere = tempfile::tempdir().unwrap();
    fs::write(
        elsewhere.path().join("parts.office"),
        "part manifold four { ports 4 }\n",
    )
    .unwrap();
    std::os::unix::fs::symlink(
        elsewhere.path().join("parts.office"),
        folder.path().join("parts.office"),
    )
    .unwrap();
    fs::write(
        folder.path().join("offices/wrong.office"),
        format!("use parts\n{CLEAN}"),
    )
    .unwrap();
    let output = run(folder.path(), &["lint", "offices/wrong.office"]);
    assert!(out(&output).contains("[use-outside-repository]"), "{}", out(&output));
}

#[test]
fn a_ring_of_parts_is_found_from_within_their_folder() {
    let folder = repository();
    let parts = folder.path().join("parts");
    fs::create_dir(&parts).unwrap();
    fs::write(
        parts.join("one.office"),
        "use parts/two\npart manifold four { ports 4 }\n",
    )
    .unwrap();
    fs::write(
        parts.join("two.office"),
        "use parts/one\npart manifold six { ports 6 }\n",
    )
    .unwrap();
    let output = run(&parts, &["lint", "one.office"]);
    assert!(out(&output).contains("[use-cycle]"), "{}", out(&output));
}

#[test]
fn bytes_that_are_no_utf8_are_placed() {
    let folder = repository();
    fs::write(
        folder.path().join("offices/wrong.office"),
        b"office x {\n    title \"caf\xe9\"\n}\n",
    )
    .unwrap();
    let output = run(folder.path(), &["lint"]);
    assert_eq!(code(&output), 1);
    assert!(
        out(&output).contains("[text-not-utf8]") && out(&output).contains("wrong.office:2:15"),
        "{}",
        out(&output)
    );
}

#[test]
fn wrong_settings_are_results() {
    let folder = repository();
    fs::write(folder.path().join("offices/wrong.office"), "").unwrap();
    fs::write(
        folder.path().join("drysheath.toml"),
        "language = 1\n[practice]\ndryer-margn = \"30 %\"\n",
    )
    .unwrap();
    let output = run(folder.path(), &["lint"]);
    assert_eq!(code(&output), 1);
    assert!(
        out(&output).contains("drysheath.toml:3:1") && out(&output).contains("`dryer-margin`"),
        "{}",
        out(&output)
    );
}

#[test]
fn levels_can_be_set() {
    let folder = repository();
    let open = CLEAN.replace("healthy closed", "healthy open");
    fs::write(folder.path().join("offices/clean.office"), open).unwrap();
    let told = || out(&run(folder.path(), &["lint"])).contains("[contact-cannot-report-cut-pair]");
    assert!(told());
    fs::write(
        folder.path().join("drysheath.toml"),
        "language = 1\n[levels]\ncontact-cannot-report-cut-pair = \"off\"\n",
    )
    .unwrap();
    assert!(!told());
}

#[test]
fn a_reader_that_leaves_is_no_failure() {
    let folder = repository();
    let mut child = command(folder.path(), &["rules"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let output = child.wait_with_output().unwrap();
    assert_eq!((code(&output), err(&output)), (0, String::new()));
}

#[test]
fn format_changes_white_space_and_nothing_else() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.office");
    fs::write(&path, "manifold   mf{ports 4}").unwrap();
    let check = run(folder.path(), &["format", "--check"]);
    assert_eq!((code(&check), out(&check)), (1, "a.office\n".to_owned()));
    let diff = run(folder.path(), &["format", "--diff"]);
    assert_eq!(code(&diff), 1);
    assert!(out(&diff).contains("-manifold   mf{ports 4}"), "{}", out(&diff));
    assert_eq!(fs::read_to_string(&path).unwrap(), "manifold   mf{ports 4}");
    assert_eq!(code(&run(folder.path(), &["format"])), 0);
    let formatted = fs::read_to_string(&path).unwrap();
    assert!(
        formatted.starts_with("manifold mf ") && formatted.ends_with("{ ports 4 }\n"),
        "{formatted}"
    );
    assert_eq!(code(&run(folder.path(), &["format", "--check"])), 0);
    let streamed = with_input(folder.path(), &["format", "-"], b"manifold   mf{ports 4}");
    assert_eq!(out(&streamed), formatted);
}

#[cfg(unix)]
#[test]
fn format_keeps_permissions_and_links() {
    use std::os::unix::fs::PermissionsExt;
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("real.office");
    fs::write(&path, "manifold   mf{ports 4}").unwrap();
    fs::set_permissions(&path, fs::Permissions::from_mode(0o640)).unwrap();
    std::os::unix::fs::symlink("real.office", folder.path().join("link.office")).unwrap();
    assert_eq!(code(&run(folder.path(), &["format", "link.office"])), 0);
    assert!(folder.path().join("link.office").is_symlink());
    assert_eq!(fs::metadata(&path).unwrap().permissions().mode() & 0o777, 0o640);
    assert!(fs::read_to_string(&path).unwrap().ends_with('\n'));
}

#[test]
fn rules_are_listed_and_explained() {
    let folder = tempfile::tempdir().unwrap();
    let list = run(folder.path(), &["rules"]);
    assert!(
        drysheath_rules::RULES
            .iter()
            .all(|rule| out(&list).contains(rule.name()))
    );
    let page = run(folder.path(), &["rules", "pair-assigned-twice"]);
    assert!(out(&page).contains("# pair-assigned-twice"));
    let unknown = run(folder.path(), &["rules", "pair-asigned-twice"]);
    assert_eq!(code(&unknown), 2);
    assert!(err(&unknown).contains("`pair-assigned-twice`"), "{}", err(&unknown));
}

#[test]
fn completions_and_manual_page_come_from_the_arguments() {
    let folder = tempfile::tempdir().unwrap();
    for shell in ["bash", "zsh", "fish", "powershell", "elvish"] {
        assert!(
            out(&run(folder.path(), &["shell-completion", shell])).contains("fail-on"),
            "{shell}"
        );
    }
    assert!(out(&run(folder.path(), &["man-page"])).contains("drysheath"));
}
