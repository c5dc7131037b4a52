//! A repository under review runs nothing: whatever programs its settings of git name, reading a revision starts none of them.

use std::fs;
use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};

use tempfile::TempDir;

use crate::common::{code, commit, err, git, office, out, repository, run};

/// A repository whose settings of git name a program wherever git would run one, and the file that the program writes.
struct Trap {
    folder: TempDir,
    program: TempDir,
}

const HOOKS: [&str; 6] = [
    "post-checkout",
    "post-index-change",
    "reference-transaction",
    "pre-auto-gc",
    "fsmonitor-watchman",
    "post-rewrite",
];

impl Trap {
    fn new() -> Self {
        let trap = Self {
            folder: repository(),
            program: tempfile::tempdir().unwrap(),
        };
        let path = trap.path();
        fs::write(path.join(".gitattributes"), "* filter=trap diff=trap merge=trap\n").unwrap();
        fs::write(path.join("offices/fir.office"), office("fir-hollow", 1)).unwrap();
        commit(path, "the second office");
        fs::write(
            path.join("offices/fir.office"),
            office("fir-hollow", 1).replace("30 psi", "31 psi"),
        )
        .unwrap();
        fs::write(path.join("offices/oak.office"), office("oak-hollow", 2)).unwrap();
        let script = trap.script();
        let run = script.to_str().unwrap();
        fs::write(
            &script,
            format!("#!/bin/sh\necho \"$0 $*\" >>{}\n", trap.marker().display()),
        )
        .unwrap();
        fs::set_permissions(&script, fs::Permissions::from_mode(0o755)).unwrap();
        let hooks = trap.program.path().join("hooks");
        fs::create_dir(&hooks).unwrap();
        for hook in HOOKS {
            fs::copy(&script, hooks.join(hook)).unwrap();
            fs::copy(&script, path.join(".git/hooks").join(hook)).unwrap();
        }
        let included = trap.program.path().join("included");
        fs::write(
            &included,
            format!("[core]\n\tfsmonitor = {run}\n[alias]\n\trev-parse = !{run}\n"),
        )
        .unwrap();
        for (key, value) in [
            ("core.fsmonitor", run),
            ("core.sshCommand", run),
            ("core.gitProxy", run),
            ("core.pager", run),
            ("core.editor", run),
            ("core.askPass", run),
            ("core.alternateRefsCommand", run),
            ("core.hooksPath", hooks.to_str().unwrap()),
            ("pager.ls-tree", run),
            ("pager.cat-file", run),
            ("filter.trap.clean", run),
            ("filter.trap.smudge", run),
            ("filter.trap.process", run),
            ("filter.trap.required", "true"),
            ("diff.external", run),
            ("diff.trap.command", run),
            ("diff.trap.textconv", run),
            ("merge.trap.driver", run),
            ("gpg.program", run),
            ("log.showSignature", "true"),
            ("credential.helper", run),
            ("alias.ls-tree", &format!("!{run}")),
            ("alias.cat-file", &format!("!{run}")),
            ("protocol.ext.allow", "always"),
            ("protocol.allow", "always"),
            ("remote.origin.url", &format!("ext::{run}")),
            ("remote.origin.uploadpack", run),
            ("remote.origin.promisor", "true"),
            ("remote.origin.partialclonefilter", "blob:none"),
            ("core.repositoryformatversion", "1"),
            ("extensions.partialClone", "origin"),
            ("include.path", included.to_str().unwrap()),
        ] {
            git(path, &["config", key, value]);
        }
        // Git's own work on the index above may have sprung it.
        fs::remove_file(trap.marker()).ok();
        trap
    }

    fn path(&self) -> &Path {
        self.folder.path()
    }

    fn script(&self) -> PathBuf {
        self.program.path().join("program")
    }

    fn marker(&self) -> PathBuf {
        self.program.path().join("it-ran")
    }

    fn sprung(&self) -> Option<String> {
        fs::read_to_string(self.marker()).ok()
    }
}

const COMMANDS: [&[&str]; 8] = [
    &["compare", "HEAD"],
    &["compare", "HEAD~1"],
    &["compare", "HEAD~1", "HEAD"],
    &["compare", "HEAD~1", "--output", "markdown"],
    &["lint", "--since", "HEAD~1"],
    &["lint", "offices/fir.office", "--since", "HEAD"],
    &["records", ".", "--since", "HEAD~1"],
    &["compare", ":/second"],
];

#[test]
fn no_program_runs_that_the_settings_of_git_name() {
    let trap = Trap::new();
    for arguments in COMMANDS {
        let output = run(trap.path(), arguments);
        assert_eq!(trap.sprung(), None, "{arguments:?}: {output:?}");
        assert_ne!(code(&output), 2, "{arguments:?}: {}", err(&output));
    }
    // The trap works: git itself springs it.
    let git = std::process::Command::new("git")
        .args(["diff", "HEAD"])
        .current_dir(trap.path())
        .output()
        .unwrap();
    assert!(trap.sprung().is_some(), "{git:?}");
}

#[test]
fn nothing_is_fetched_from_a_remote_that_promises_objects() {
    let trap = Trap::new();
    let object = out(&git(trap.path(), &["rev-parse", "HEAD:offices/fir.office"]));
    let (folder, name) = object.trim().split_at(2);
    fs::remove_file(trap.path().join(".git/objects").join(folder).join(name)).unwrap();
    fs::remove_file(trap.marker()).ok();
    for arguments in [
        &["compare", "HEAD"][..],
        &["compare", "HEAD", "HEAD~1"],
        &["records", ".", "--since", "HEAD"],
    ] {
        let output = run(trap.path(), arguments);
        assert_eq!(trap.sprung(), None, "{arguments:?}: {output:?}");
        assert_eq!(code(&output), 2, "{arguments:?}: {output:?}");
        assert!(
            err(&output).contains("has not been fetched"),
            "{arguments:?}: {}",
            err(&output)
        );
    }
    let git = std::process::Command::new("git")
        .args(["cat-file", "-p", object.trim()])
        .current_dir(trap.path())
        .output()
        .unwrap();
    assert!(trap.sprung().is_some(), "git itself fetches: {git:?}");
}

#[test]
fn a_folder_that_is_made_like_a_bare_repository_is_only_a_folder() {
    let trap = Trap::new();
    let north = trap.path().join("north");
    fs::create_dir_all(north.join("objects")).unwrap();
    fs::create_dir_all(north.join("refs")).unwrap();
    fs::write(north.join("HEAD"), "ref: refs/heads/main\n").unwrap();
    let settings = format!(
        "[core]\n\tbare = false\n\tworktree = ..\n\tfsmonitor = {}\n",
        trap.script().display()
    );
    fs::write(north.join("config"), settings).unwrap();
    fs::write(north.join("ash.office"), office("ash-hollow", 3)).unwrap();
    for arguments in [&["lint", "ash.office", "--since", "HEAD"][..], &["compare", "HEAD"]] {
        let output = run(&north, arguments);
        assert_eq!(trap.sprung(), None, "{arguments:?}: {output:?}");
        assert_ne!(code(&output), 2, "{arguments:?}: {}", err(&output));
    }
}

#[test]
fn a_working_tree_is_where_its_folder_is() {
    let (folder, elsewhere) = (repository(), tempfile::tempdir().unwrap());
    fs::write(elsewhere.path().join("private.office"), office("private-hollow", 4)).unwrap();
    git(
        folder.path(),
        &["config", "core.worktree", elsewhere.path().to_str().unwrap()],
    );
    let output = run(folder.path(), &["compare", "HEAD"]);
    assert_eq!(code(&output), 0, "{output:?}");
    assert!(!out(&output).contains("private-hollow"), "{}", out(&output));
    assert!(!out(&output).contains("elm-hollow"), "{}", out(&output));
}

#[test]
fn what_a_commit_says_cannot_be_replaced() {
    let folder = repository();
    let path = folder.path();
    let before = out(&git(path, &["rev-parse", "HEAD"]));
    fs::write(
        path.join("offices/elm.office"),
        office("elm-hollow", 0).replace("30 psi", "31 psi"),
    )
    .unwrap();
    commit(path, "a change");
    // Whoever compares with the first commit is to be shown the second in its place.
    git(path, &["replace", before.trim(), "HEAD"]);
    let output = run(path, &["compare", before.trim(), "--output", "json"]);
    assert!(out(&output).contains("31 psi"), "{}", out(&output));
}
