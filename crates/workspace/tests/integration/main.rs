//! What a change makes out of date, and what a snapshot says whatever happens after it was taken.
#![allow(missing_docs, clippy::indexing_slicing, clippy::unwrap_used)]

mod model;

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};

use drysheath_office::kinds::Key;
use drysheath_office::{Date, Fields, ProblemId, SETTINGS};
use drysheath_rules::Level;
use drysheath_text::{Encoding, FileId, Position, TextRange};
use drysheath_workspace::{Cancellation, Change, Content, FileSource, Invalidated, Memory, Snapshot, Workspace};

const TODAY: Date = Date {
    year: 2026,
    month: 11,
    day: 25,
};

const USER: &str = "use parts/near\noffice a { title \"A\", site \"AA1\" }\nblock tc : field-block\n";
const NEAR: &str = "use parts/far\n";
const FAR: &str = "part block field-block { pairs 10 }\n";

/// Files that can change behind the back of a workspace, as those of a disk do.
#[derive(Clone, Default)]
struct Changing(Arc<Mutex<Memory>>);

impl Changing {
    fn new(files: &[(&str, &str)]) -> Self {
        let changing = Self::default();
        for (path, text) in files {
            changing.write(path, text);
        }
        changing
    }

    fn write(&self, path: &str, text: &str) {
        self.0.lock().unwrap().insert(path.to_owned(), content(text));
    }

    fn remove(&self, path: &str) {
        let mut files = self.0.lock().unwrap();
        let left = files.files().filter(|(other, _)| *other != path);
        *files = left.map(|(path, content)| (path.to_owned(), content.clone())).collect();
    }
}

impl FileSource for Changing {
    fn read(&self, path: &Path, folder: &Path) -> Result<Option<Content>, String> {
        self.0.lock().unwrap().read(path, folder)
    }

    fn settings_above(&self, folder: &Path) -> Vec<PathBuf> {
        self.0.lock().unwrap().settings_above(folder)
    }

    fn real_path(&self, path: &Path) -> Option<PathBuf> {
        self.0.lock().unwrap().real_path(path)
    }

    fn names_in(&self, root: &Path, folder: &str) -> Vec<String> {
        self.0.lock().unwrap().names_in(root, folder)
    }
}

fn content(text: &str) -> Content {
    Content {
        text: text.into(),
        problem: None,
    }
}

/// A workspace whose results are made at once after each change.
struct Bench {
    files: Changing,
    workspace: Workspace,
}

impl Bench {
    fn new(files: &[(&str, &str)]) -> Self {
        Self::in_folders(files, &[PathBuf::from("/top")])
    }

    fn in_folders(files: &[(&str, &str)], folders: &[PathBuf]) -> Self {
        let files = Changing::new(files);
        let mut workspace = Workspace::new(Arc::new(files.clone()), TODAY);
        let mut invalidated = workspace.set_folders(folders.to_vec());
        let paths: Vec<PathBuf> = {
            let files = files.0.lock().unwrap();
            let offices = files.files().map(|(path, _)| PathBuf::from(path));
            let offices = offices.filter(|path| path.extension().is_some_and(|extension| extension == "office"));
            offices
                .filter(|path| folders.iter().any(|folder| path.starts_with(folder)))
                .collect()
        };
        let found = workspace.found(folders, paths);
        invalidated.files.extend(found.files);
        invalidated.repositories.extend(found.repositories);
        let mut bench = Self { files, workspace };
        bench.settle(invalidated);
        bench
    }

    fn settle(&mut self, mut invalidated: Invalidated) -> Vec<FileId> {
        let mut changed = invalidated.changed;
        while let Some(file) = invalidated.files.pop() {
            let results = self.workspace.snapshot().lint(file);
            let more = self.workspace.put(results);
            changed.extend(more.changed);
            invalidated.files.extend(more.files);
            invalidated.repositories.extend(more.repositories);
        }
        invalidated.repositories.sort();
        invalidated.repositories.dedup();
        for root in invalidated.repositories {
            let findings = self.workspace.now().lint_repository(&root);
            changed.extend(self.workspace.put_across(&root, findings).changed);
        }
        changed.sort_unstable();
        changed.dedup();
        changed
    }

    fn open(&mut self, path: &str, text: &str) -> Invalidated {
        self.workspace.set_buffer(Path::new(path), Some(1), content(text)).1
    }

    fn file(&self, path: &str) -> FileId {
        self.workspace.now().file(Path::new(path))
    }

    fn rules(&self, path: &str) -> Vec<&'static str> {
        rules(self.workspace.now(), self.file(path))
    }
}

fn rules(snapshot: &Snapshot, file: FileId) -> Vec<&'static str> {
    let findings = snapshot.findings(file);
    let mut rules: Vec<&str> = findings.iter().map(|finding| finding.rule.name()).collect();
    rules.sort_unstable();
    rules.dedup();
    rules
}

fn chain() -> Bench {
    Bench::new(&[
        ("/top/drysheath.toml", "language = 1\n"),
        ("/top/a.office", USER),
        ("/top/parts/near.office", NEAR),
        ("/top/parts/far.office", FAR),
    ])
}

#[test]
fn an_edit_dirties_all_that_use_the_file_by_whatever_way() {
    let mut bench = chain();
    let (user, near, far) = (
        bench.file("/top/a.office"),
        bench.file("/top/parts/near.office"),
        bench.file("/top/parts/far.office"),
    );
    let before = bench.workspace.snapshot();
    let invalidated = bench.open("/top/parts/far.office", "part block other { pairs 10 }\n");
    assert_eq!(invalidated.files.first(), Some(&far), "what changed itself comes first");
    let all: BTreeSet<FileId> = invalidated.files.iter().copied().collect();
    assert_eq!(all, BTreeSet::from([far, near, user]));
    assert!(!bench.workspace.now().is_fresh(user));
    bench.settle(invalidated);
    assert!(bench.rules("/top/a.office").contains(&"part-unknown"));
    assert!(
        !rules(&before, user).contains(&"part-unknown"),
        "a snapshot stays as it is"
    );
    let analysis = before.analysis(user).unwrap();
    assert!(
        analysis
            .findings()
            .iter()
            .all(|finding| finding.rule.name() != "part-unknown")
    );
    let (_, invalidated) = bench.workspace.close(Path::new("/top/parts/far.office")).unwrap();
    bench.settle(invalidated);
    assert!(!bench.rules("/top/a.office").contains(&"part-unknown"));
}

#[test]
fn results_of_a_state_that_is_over_are_made_again() {
    let mut bench = chain();
    let user = bench.file("/top/a.office");
    let late = bench.workspace.snapshot().lint(user);
    bench.open("/top/parts/far.office", "part block other { pairs 10 }\n");
    let invalidated = bench.workspace.put(late);
    assert_eq!((invalidated.files, invalidated.changed), (vec![user], Vec::new()));
}

#[test]
fn an_analysis_is_made_once_for_all_states_in_which_it_is_the_same() {
    let mut bench = chain();
    let user = bench.file("/top/a.office");
    bench.open("/top/a.office", USER);
    let before = bench.workspace.snapshot();
    let analysis = before.analysis(user).unwrap();
    bench.open("/top/other.office", "office b { title \"B\" }\n");
    let after = bench.workspace.snapshot();
    assert!(Arc::ptr_eq(&analysis, &after.analysis(user).unwrap()));
    bench.open("/top/parts/far.office", "");
    let now = bench.workspace.snapshot();
    assert!(!Arc::ptr_eq(&analysis, &now.analysis(user).unwrap()));
}

#[test]
fn a_file_of_parts_that_comes_later_reaches_its_users() {
    let mut bench = chain();
    bench.files.remove("/top/parts/near.office");
    let invalidated = bench.workspace.changed_on_disk(Path::new("/top/parts/near.office"));
    bench.settle(invalidated);
    assert!(bench.rules("/top/a.office").contains(&"use-not-found"));
    assert!(
        !bench
            .workspace
            .now()
            .files()
            .contains(&bench.file("/top/parts/near.office"))
    );
    bench.files.write("/top/parts/near.office", NEAR);
    let invalidated = bench.workspace.changed_on_disk(Path::new("/top/parts/near.office"));
    let changed = bench.settle(invalidated);
    assert!(changed.contains(&bench.file("/top/a.office")));
    assert!(!bench.rules("/top/a.office").contains(&"use-not-found"));
}

#[test]
fn settings_of_a_folder_that_come_and_go_concern_the_files_in_it() {
    let mut bench = chain();
    let settings = format!("/top/parts/{SETTINGS}");
    bench
        .files
        .write(&settings, "[levels]\npart-unused = \"off\"\nnothing = \"off\"\n");
    let invalidated = bench.workspace.changed_on_disk(Path::new(&settings));
    let (near, far) = (
        bench.file("/top/parts/near.office"),
        bench.file("/top/parts/far.office"),
    );
    let mut dirty = invalidated.files.clone();
    dirty.sort_unstable();
    assert_eq!(dirty, [far, near]);
    bench.settle(invalidated);
    assert_eq!(bench.workspace.now().name(far), "parts/far");
    assert!(!bench.rules("/top/parts/near.office").contains(&"use-not-found"));
    assert_eq!(bench.rules(&settings), ["settings-unreadable"]);
    bench.files.remove(&settings);
    let invalidated = bench.workspace.changed_on_disk(Path::new(&settings));
    bench.settle(invalidated);
    assert_eq!(bench.workspace.now().name(far), "parts/far");
    assert_eq!(bench.rules(&settings), [""; 0]);
}

#[test]
fn settings_above_reach_the_files_and_the_settings_of_folders_below() {
    let mut bench = Bench::new(&[
        ("/top/drysheath.toml", "language = 1\n"),
        ("/top/north/drysheath.toml", "[levels]\nelevation-missing = \"note\"\n"),
        (
            "/top/north/a.office",
            "office a { title \"A\" }\ndryer d1 { delivers 10 psi }\n",
        ),
        ("/top/b.office", "office b { title \"B\" }\n"),
    ]);
    let top = format!("/top/{SETTINGS}");
    let (inner, office) = ("/top/north/drysheath.toml", "/top/north/a.office");
    let level = |bench: &Bench| {
        let findings = bench.workspace.now().findings(bench.file(office));
        let found = findings
            .iter()
            .find(|finding| finding.rule.name() == "elevation-missing");
        found.map(|finding| finding.level)
    };
    assert_eq!(level(&bench), Some(Level::Note));
    let invalidated = bench.open(&top, "language = 1\n[levels]\nelevation-missing = \"error\"\n");
    assert!(invalidated.changed.contains(&bench.file(inner)) && invalidated.files.contains(&bench.file(office)));
    bench.settle(invalidated);
    assert_eq!(level(&bench), Some(Level::Error));
    assert_eq!(bench.rules(inner), ["settings-unreadable"]);
    // An edit of the file in between reaches only what lies below it.
    let invalidated = bench.open(inner, "[levels]\nelevation-missing = \"error\"\n");
    assert_eq!(invalidated.files, [bench.file(office)]);
    bench.settle(invalidated);
    assert_eq!(bench.rules(inner), [""; 0]);
}

#[test]
fn open_settings_count_before_those_of_the_source() {
    let mut bench = chain();
    let path = format!("/top/{SETTINGS}");
    assert!(bench.rules("/top/a.office").contains(&"elevation-missing"));
    let invalidated = bench.open(
        &path,
        "language = 1\n[levels]\nelevation-missing = \"off\"\nnothing = \"off\"\n",
    );
    assert_eq!(invalidated.changed, [bench.file(&path)]);
    bench.settle(invalidated);
    assert!(!bench.rules("/top/a.office").contains(&"elevation-missing"));
    assert_eq!(bench.rules(&path), ["settings-unreadable"]);
    let (_, invalidated) = bench.workspace.close(Path::new(&path)).unwrap();
    bench.settle(invalidated);
    assert!(bench.rules("/top/a.office").contains(&"elevation-missing"));
    assert_eq!(bench.rules(&path), [""; 0]);
}

/// A part is read once for all that use it, and what its flows mean depends on the settings.
#[test]
fn parts_count_standard_volumes_as_the_settings_say_now() {
    let mut bench = Bench::new(&[
        ("/top/drysheath.toml", "language = 1\n"),
        (
            "/top/a.office",
            "use parts/dry\noffice a { title \"A\" }\ndryer d1 : small\n",
        ),
        ("/top/parts/dry.office", "part dryer small { capacity 100 scfh }\n"),
    ]);
    let capacity = |bench: &Bench| {
        let analysis = bench.workspace.now().analysis(bench.file("/top/a.office")).unwrap();
        let mut found = analysis
            .office
            .things()
            .filter_map(|(_, thing)| thing.quantity(Key::Capacity));
        found.next().unwrap().0
    };
    let cool = capacity(&bench);
    let settings = format!("/top/{SETTINGS}");
    bench.files.write(
        &settings,
        "language = 1\n[conditions]\nstandard = \"14.696 psia, 70 degF\"\n",
    );
    let invalidated = bench.workspace.changed_on_disk(Path::new(&settings));
    bench.settle(invalidated);
    let warm = capacity(&bench);
    assert_eq!(warm.to_string(), cool.to_string());
    assert!((warm.si() / cool.si() - 519.67 / 529.67).abs() < 1e-9);
}

#[test]
fn what_only_several_files_give_follows_each_of_them() {
    let mut bench = chain();
    let twin = "office b { title \"B\", site \"AA1\" }\n";
    let invalidated = bench.open("/top/b.office", twin);
    let changed = bench.settle(invalidated);
    assert_eq!(changed, [bench.file("/top/b.office")]);
    assert!(bench.rules("/top/b.office").contains(&"site-code-twice"));
    let change = Change::Part {
        start: Position { line: 0, column: 30 },
        end: Position { line: 0, column: 31 },
        text: "2".to_owned(),
    };
    let path = Path::new("/top/b.office");
    let (_, invalidated) = bench.workspace.edit(path, 2, [change], Encoding::Utf16).unwrap();
    bench.settle(invalidated);
    assert!(!bench.rules("/top/b.office").contains(&"site-code-twice"));
    assert_eq!(bench.workspace.now().version(bench.file("/top/b.office")), Some(2));
}

#[test]
fn results_across_files_are_made_again_only_where_an_edit_concerns_them() {
    let mut bench = chain();
    let path = "/top/a.office";
    let edit = |bench: &mut Bench, text: &str| {
        let mut invalidated = bench.open(path, text);
        assert_eq!(invalidated.files, [bench.file(path)]);
        let more = bench.workspace.put(bench.workspace.snapshot().lint(bench.file(path)));
        let repositories = more.repositories.len();
        invalidated.repositories.extend(more.repositories);
        bench.settle(invalidated);
        repositories
    };
    // Everything below moves, and nothing that other files know of is other.
    assert_eq!(edit(&mut bench, &format!("# A line more.\n{USER}")), 0);
    assert_eq!(
        edit(&mut bench, &USER.replace("title \"A\"", "title \"A longer one\"")),
        0
    );
    assert_eq!(edit(&mut bench, &USER.replace("AA1", "AA2")), 1);
    assert_eq!(edit(&mut bench, USER), 1);
    // A result about two files follows the places in both.
    let invalidated = bench.open("/top/b.office", "office b { title \"B\", site \"AA1\" }\n");
    bench.settle(invalidated);
    let moved = format!("# A line more.\n{USER}");
    assert_eq!(edit(&mut bench, &moved), 1);
    let findings = bench.workspace.now().findings(bench.file("/top/b.office"));
    let twice = findings.iter().find(|finding| finding.rule.name() == "site-code-twice");
    let other = twice.unwrap().related.first().unwrap().place;
    assert_eq!((other.file, other.range.of(&moved)), (bench.file(path), "site \"AA1\""));
}

#[test]
fn results_across_files_are_changes_of_the_files_that_they_are_shown_in() {
    let mut bench = chain();
    let twin = bench.open("/top/b.office", "office b { title \"B\", site \"AA1\" }\n");
    for file in twin.files {
        let results = bench.workspace.snapshot().lint(file);
        bench.workspace.put(results);
    }
    let root: Arc<Path> = Path::new("/top").into();
    let across = |bench: &mut Bench| {
        let findings = bench.workspace.now().lint_repository(&root);
        bench.workspace.put_across(&root, findings).changed
    };
    assert_eq!(across(&mut bench), [bench.file("/top/b.office")]);
    assert_eq!(across(&mut bench), []);
}

#[test]
fn of_a_file_that_is_no_text_other_files_know_only_that_it_may_say_anything() {
    let mut bench = chain();
    let invalidated = bench.open("/top/other.office", "");
    bench.settle(invalidated);
    let unused = |bench: &Bench| bench.rules("/top/parts/far.office").contains(&"part-unused");
    let user = bench.open("/top/a.office", "office a { title \"A\" }\n");
    bench.settle(user);
    assert!(unused(&bench));
    let broken = Content {
        problem: Some(drysheath_syntax::Problem::new(
            drysheath_syntax::ProblemId::TextNotUtf8,
            TextRange::new(0, 0),
            "this is no text",
        )),
        ..content("")
    };
    let (other, invalidated) = bench
        .workspace
        .set_buffer(Path::new("/top/other.office"), Some(2), broken);
    bench.settle(invalidated);
    assert!(!unused(&bench), "the file may use the part");
    let lowered = bench.workspace.now().read(other).unwrap().unwrap();
    assert_eq!(lowered.summary().file, other);
}

#[test]
fn a_walk_over_many_files_keeps_no_analyses_and_ends_when_nobody_wants_it() {
    let bench = chain();
    let user = bench.file("/top/a.office");
    let now = bench.workspace.snapshot();
    let walked = now.analyse(user).unwrap();
    assert_eq!(&*walked.text, USER);
    let kept = now.analysis(user).unwrap();
    assert!(!Arc::ptr_eq(&walked, &kept));
    assert!(
        Arc::ptr_eq(&kept, &now.analyse(user).unwrap()),
        "what is kept is not made again"
    );
    let cancellation = Cancellation::default();
    let walk = now.until(cancellation.clone());
    assert!(walk.analyse(user).is_some());
    cancellation.cancel();
    assert!(walk.analyse(user).is_none());
}

#[test]
fn a_part_is_unused_only_where_all_files_are_known() {
    let mut workspace = Workspace::new(Arc::new(Changing::new(&[("/top/far.office", FAR)])), TODAY);
    workspace.set_folders(vec![PathBuf::from("/top")]);
    let far = workspace.now().file(Path::new("/top/far.office"));
    let mut across = |found: bool| {
        if found {
            workspace.found(&["/top".into()], [PathBuf::from("/top/far.office")]);
        }
        let results = workspace.now().lint(far);
        workspace.put(results);
        workspace.now().lint_repository(Path::new("/top")).len()
    };
    assert_eq!((across(false), across(true)), (0, 1));
}

#[test]
fn files_of_a_folder_that_is_left_lose_their_results() {
    let mut bench = chain();
    bench.open("/top/parts/near.office", NEAR);
    let invalidated = bench.workspace.set_folders(vec![PathBuf::from("/elsewhere")]);
    assert!(invalidated.changed.contains(&bench.file("/top/a.office")));
    assert_eq!(bench.rules("/top/a.office"), [""; 0]);
    assert!(!invalidated.changed.contains(&bench.file("/top/parts/near.office")));
    let there = bench.workspace.now().files();
    assert!(there.contains(&bench.file("/top/parts/near.office")) && !there.contains(&bench.file("/top/a.office")));
}

#[test]
fn a_file_that_has_not_been_linted_yet_is_waiting_in_its_new_folder_too() {
    let mut workspace = Workspace::new(Arc::new(Changing::new(&[])), TODAY);
    let (file, _) = workspace.set_buffer(Path::new("/top/far.office"), Some(1), content(FAR));
    assert_eq!(workspace.set_folders(vec![PathBuf::from("/top")]).files, [file]);
    assert_eq!(
        workspace
            .set_folders(vec![PathBuf::from("/top"), PathBuf::from("/other")])
            .files,
        []
    );
}

#[test]
fn a_file_that_a_walk_does_not_find_any_more_is_looked_at_again() {
    let mut bench = chain();
    let later = "/top/parts/later.office";
    bench.files.write(later, "part block later { pairs 10 }\n");
    let invalidated = bench.workspace.changed_on_disk(Path::new(later));
    bench.settle(invalidated);
    let user = bench.file("/top/a.office");
    assert_eq!(bench.workspace.now().files_of_parts(user), ["parts/far", "parts/later"]);
    bench.files.remove(later);
    let left = ["/top/a.office", "/top/parts/near.office", "/top/parts/far.office"].map(PathBuf::from);
    let invalidated = bench.workspace.found(&["/top".into()], left);
    assert_eq!(invalidated.files, [bench.file(later)]);
    bench.settle(invalidated);
    assert_eq!(bench.workspace.now().files_of_parts(user), ["parts/far"]);
}

#[test]
fn results_whose_lines_have_moved_are_shown_anew_although_their_bytes_are_the_same() {
    let mut bench = chain();
    let (user, far) = ("/top/a.office", "/top/parts/far.office");
    let lacks = |before: &str| format!("{before}office a {{ }}\n");
    let mut change = |path: &str, text: &str| {
        bench.files.write(path, text);
        let invalidated = bench.workspace.changed_on_disk(Path::new(path));
        (
            bench.settle(invalidated),
            bench.file(path),
            bench.workspace.now().revision(bench.file(path)),
        )
    };
    let (changed, file, before) = change(user, &lacks("#\n"));
    assert!(changed.contains(&file));
    let (changed, file, after) = change(user, &lacks("\n\n"));
    assert!(changed.contains(&file) && after > before);
    assert_eq!(
        change(user, &lacks("\n\n")),
        (Vec::new(), file, after),
        "the same text once more"
    );
    // A result of one file that also points into another one.
    let twice = |before: &str| format!("{before}part block field-block {{ }}\n");
    change(
        user,
        "use parts/far\noffice a { title \"A\" }\npart block field-block { pairs 10 }\n",
    );
    change(far, &twice("#\n"));
    let (changed, ..) = change(far, &twice("\n\n"));
    assert!(changed.contains(&file), "{changed:?}");
}

#[test]
fn an_answer_from_an_older_state_keeps_nothing_of_it() {
    let mut bench = chain();
    let (path, user) = ("/top/a.office", bench.file("/top/a.office"));
    bench.open(path, USER);
    let before = bench.workspace.snapshot();
    bench.workspace.close(Path::new(path)).unwrap();
    let late = Arc::downgrade(&before.analysis(user).unwrap());
    assert!(late.upgrade().is_none(), "nobody can ask for it any more");
}

#[test]
fn imagined_texts_are_seen_by_those_that_use_them_and_by_nobody_else() {
    let bench = chain();
    let (user, far) = (bench.file("/top/a.office"), bench.file("/top/parts/far.office"));
    let now = bench.workspace.snapshot();
    let renamed = |text: &str| -> Arc<str> { text.replace("field-block", "pole-block").into() };
    let imagined = now.with_texts([(user, renamed(USER)), (far, renamed(FAR))]);
    let analysis = imagined.analysis(user).unwrap();
    assert!(
        analysis
            .findings()
            .iter()
            .all(|finding| finding.rule.name() != "part-unknown")
    );
    let half = now.with_texts([(user, renamed(USER))]);
    let analysis = half.analysis(user).unwrap();
    assert!(
        analysis
            .findings()
            .iter()
            .any(|finding| finding.rule.name() == "part-unknown")
    );
    assert_eq!(&*now.analysis(user).unwrap().text, USER);
}

#[test]
fn users_and_parts_within_reach_are_known() {
    let bench = chain();
    let now = bench.workspace.now();
    let (user, near, far) = (
        bench.file("/top/a.office"),
        bench.file("/top/parts/near.office"),
        bench.file("/top/parts/far.office"),
    );
    assert_eq!(now.users_of(far), [near]);
    let with_users = now.with_users(far);
    assert_eq!(with_users.first(), Some(&far));
    assert_eq!(BTreeSet::from_iter(with_users), BTreeSet::from([far, near, user]));
    let analysis = now.analysis(user).unwrap();
    let parts = now.parts_within_reach(&analysis);
    let names: Vec<&str> = parts.iter().map(|part| &*part.name).collect();
    assert_eq!(names, ["field-block"]);
    assert_eq!(now.used(user, "parts/far"), Some(far));
    assert_eq!(now.used(user, "parts/gone"), None);
    assert_eq!(now.files_of_parts(user), ["parts/far"]);
    let reach = now.files_within_reach(analysis.file, analysis.office.files_named());
    assert_eq!(
        reach,
        [("parts/far".into(), Some(far)), ("parts/near".into(), Some(near))]
    );
}

#[test]
fn what_is_within_reach_is_named_whether_it_is_there_or_not() {
    let bench = Bench::new(&[("/top/a.office", "use parts/gone\n")]);
    let analysis = bench.workspace.now().analysis(bench.file("/top/a.office")).unwrap();
    assert_eq!(
        bench
            .workspace
            .now()
            .files_within_reach(analysis.file, analysis.office.files_named()),
        [("parts/gone".into(), None)]
    );
}

#[test]
fn a_file_that_is_the_same_in_two_states_is_one_file() {
    let base: Memory = [
        ("a.office", USER),
        ("parts/near.office", NEAR),
        ("parts/far.office", FAR),
    ]
    .map(|(path, text)| (path.to_owned(), content(text)))
    .into_iter()
    .collect();
    let mut head = base.clone();
    head.insert("parts/far.office".to_owned(), content(""));
    let base = Workspace::new(Arc::new(base), TODAY);
    let mut head = base.beside(Arc::new(head));
    for path in ["a.office", "parts/near.office"].map(Path::new) {
        head.adopt(base.now().file(path));
    }
    let number = |workspace: &Workspace, path: &str| workspace.now().file(Path::new(path));
    assert_eq!(number(&base, "a.office"), number(&head, "a.office"));
    assert_ne!(number(&base, "parts/far.office"), number(&head, "parts/far.office"));
    let before = base.now().read(number(&base, "a.office")).unwrap().unwrap();
    let after = head.now().read_again(&before);
    assert!(Arc::ptr_eq(&before.tree, &after.tree));
    let is_unknown =
        |problems: &[drysheath_office::Problem]| problems.iter().any(|problem| problem.id == ProblemId::PartUnknown);
    assert!(!is_unknown(&before.office.problems) && is_unknown(&after.office.problems));
}

/// What a program does not know may be right: of a repository in a newer language it says one thing, and asks nothing else.
#[test]
fn a_newer_language_is_one_result_about_the_settings() {
    let mut bench = chain();
    let settings = format!("/top/{SETTINGS}");
    bench.files.write(&settings, "language = 99\nnothing = \"off\"\n");
    let invalidated = bench.workspace.changed_on_disk(Path::new(&settings));
    bench.settle(invalidated);
    assert_eq!(bench.rules(&settings), ["settings-unreadable"]);
    assert_eq!(bench.rules("/top/a.office"), [""; 0]);
    let a = bench.file("/top/a.office");
    assert!(bench.workspace.now().analysis(a).is_none());
    bench.files.write(&settings, "\n");
    let invalidated = bench.workspace.changed_on_disk(Path::new(&settings));
    bench.settle(invalidated);
    assert_eq!(bench.rules(&settings), ["language-missing"]);
    assert!(bench.rules("/top/a.office").contains(&"elevation-missing"));
    assert!(bench.workspace.now().analysis(a).is_some());
}
