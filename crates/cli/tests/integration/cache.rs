//! Results that are cached from run to run: whatever happened in between, `lint` says what it says without them.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Output;

use tempfile::TempDir;

use super::common::{CACHES, CLEAN, code, command, commit, contents, copy, git, office, out};

/// A repository, and a user's caches outside of it.
struct Bench {
    folder: TempDir,
    caches: TempDir,
}

impl Bench {
    fn new() -> Self {
        let bench = Self {
            folder: TempDir::new().unwrap(),
            caches: TempDir::new().unwrap(),
        };
        bench.write("drysheath.toml", "language = 1\n");
        bench.write("parts/field.office", PARTS);
        for (at, name) in ["elm", "fir", "oak"].iter().enumerate() {
            let text = office(name, at);
            bench.write(&format!("offices/{name}.office"), &format!("use parts/field\n{text}"));
        }
        bench
    }

    fn path(&self) -> &Path {
        self.folder.path()
    }

    fn write(&self, path: &str, text: &str) {
        let path = self.path().join(path);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, text).unwrap();
    }

    fn run_with(&self, caches: &Path, arguments: &[&str]) -> Output {
        let mut command = command(self.path(), arguments);
        for variable in CACHES {
            command.env(variable, caches);
        }
        // Where a variable is of no use, a user's own folder is next.
        command.env("HOME", self.caches.path());
        command.output().unwrap()
    }

    /// Runs a command with the cache.
    fn run(&self, arguments: &[&str]) -> Output {
        self.run_with(self.caches.path(), arguments)
    }

    fn lint_with(&self, caches: &Path, arguments: &[&str]) -> Output {
        self.run_with(caches, &[&["lint", "--today", "2026-11-25"], arguments].concat())
    }

    fn lint(&self, arguments: &[&str]) -> Output {
        self.lint_with(self.caches.path(), arguments)
    }

    /// Lints with the cache and without, and requires the same of both.
    fn is_the_same(&self, arguments: &[&str], what: &str) -> Output {
        let cached = self.lint(arguments);
        let anew = self.lint(&[arguments, &["--no-cache"]].concat());
        assert_eq!(out(&cached), out(&anew), "{what}");
        assert_eq!(cached, anew, "{what}");
        anew
    }

    fn packs(&self) -> Vec<PathBuf> {
        let entries = fs::read_dir(self.caches.path().join("drysheath")).into_iter().flatten();
        let paths = entries.map(|entry| entry.unwrap().path());
        paths
            .filter(|path| path.extension().is_some_and(|extension| extension == "pack"))
            .collect()
    }

    fn pack(&self) -> PathBuf {
        let mut packs = self.packs();
        assert_eq!(packs.len(), 1, "{packs:?}");
        packs.remove(0)
    }
}

const PARTS: &str =
    "part pressure-sensor field-15 {\n    span 0 .. 15 psi\n    step 0.1 psi\n    error 0.2 psi\n    proof 30 psi\n}\n";

/// Every form of results.
const FORMS: [&str; 8] = [
    "text",
    "counts",
    "sarif",
    "json",
    "markdown",
    "junit",
    "annotations",
    "code-quality",
];

/// An office with an error, which must fail.
fn bad() -> String {
    let bad = CLEAN.replacen("air d1", "air no-such-dryer", 1);
    assert_ne!(bad, CLEAN);
    bad
}

#[test]
fn each_form_is_the_same_with_and_without() {
    let bench = Bench::new();
    // All of the county and the faults: results of every rule, with fixes, other places and acceptances.
    let tests = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests");
    for folder in ["county", "faults"] {
        copy(&tests.join(folder), &bench.path().join(folder));
    }
    for round in ["made", "cached"] {
        for form in FORMS {
            let output = bench.is_the_same(&["--output", form], &format!("{form}, {round}"));
            assert_eq!(code(&output), 1, "{form}");
        }
    }
    assert!(!bench.packs().is_empty());
}

#[test]
fn what_is_cached_is_used() {
    let bench = Bench::new();
    bench.lint(&[]);
    let pack = bench.pack();
    let written = fs::read(&pack).unwrap();
    let about = |path: &Path| fs::metadata(path).unwrap().modified().unwrap();
    let before = about(&pack);
    bench.lint(&[]);
    assert_eq!(about(&pack), before, "nothing is new, and nothing is written");
    bench.write("offices/elm.office", &bad());
    bench.lint(&[]);
    assert_ne!(fs::read(&pack).unwrap(), written);
}

#[test]
fn a_file_that_is_named_by_itself_is_not_worth_a_cache() {
    let bench = Bench::new();
    bench.lint(&["offices/elm.office", "offices/fir.office"]);
    assert!(bench.packs().is_empty());
    bench.lint(&["offices/elm.office", "parts"]);
    assert_eq!(bench.packs().len(), 1, "a folder is");
}

#[test]
fn two_forms_of_one_root_are_one_cache() {
    let bench = Bench::new();
    bench.write("more/ash.office", &office("ash", 7));
    // From the folder above: otherwise the root has one form however the files are named.
    let above = bench.path().parent().unwrap();
    let relative = Path::new(bench.path().file_name().unwrap()).join("offices");
    let lint = || {
        let mut command = command(above, &["lint", "--today", "2026-11-25"]);
        command.args([&relative, &bench.path().join("more")]);
        for variable in CACHES {
            command.env(variable, bench.caches.path());
        }
        command.output().unwrap()
    };
    lint();
    let written = fs::read(bench.pack()).unwrap();
    let has = |name: &str| written.windows(name.len()).any(|bytes| bytes == name.as_bytes());
    assert!(has("offices/oak") && has("more/ash"), "both are there");
    let about = |path: &Path| fs::metadata(path).unwrap().modified().unwrap();
    let before = about(&bench.pack());
    lint();
    assert_eq!(about(&bench.pack()), before, "nothing is new in either form");
}

#[test]
fn a_comparison_leaves_results_of_lint_alone() {
    let bench = Bench::new();
    git(bench.path(), &["init", "--quiet"]);
    commit(bench.path(), "start");
    bench.lint(&[]);
    bench.write("parts/field.office", &PARTS.replace("0.1 psi", "0.2 psi"));
    bench.lint(&[]);
    let pack = bench.pack();
    let written = fs::read(&pack).unwrap();
    let about = |path: &Path| fs::metadata(path).unwrap().modified().unwrap();
    let before = about(&pack);
    let compared = bench.run(&["compare", "HEAD"]);
    assert_eq!(code(&compared), 0, "{compared:?}");
    bench.lint(&[]);
    assert_eq!(about(&pack), before, "the last run took all from the cache");
    assert_eq!(fs::read(&pack).unwrap(), written);
}

/// A link and the file that it leads to are one file, and what is said is said of the latter. Once the link is a copy, that would be wrong.
#[cfg(unix)]
#[test]
fn a_file_of_two_names_is_looked_at_anew() {
    let bench = Bench::new();
    // Which of the two is meant is not said, so that both places are.
    let elm = office("elm", 0).replace("pressure-sensor p1 {", "pressure-sensor p1 : field-15 {");
    bench.write(
        "offices/elm.office",
        &format!("use parts/field\nuse links/field\n{elm}"),
    );
    fs::create_dir(bench.path().join("links")).unwrap();
    let link = bench.path().join("links/field.office");
    let is_right = |what: &str, names_both: bool| {
        for round in ["made", "cached"] {
            let told = out(&bench.is_the_same(&[], &format!("{what}, {round}")));
            assert!(told.contains("[part-ambiguous]"), "{told}");
            assert_eq!(told.contains("links/field.office:1:"), names_both, "{told}");
        }
    };
    for round in 0..2 {
        std::os::unix::fs::symlink("../parts/field.office", &link).unwrap();
        is_right(&format!("a link, {round}"), false);
        fs::remove_file(&link).unwrap();
        fs::write(&link, PARTS).unwrap();
        is_right(&format!("a copy, {round}"), true);
        fs::remove_file(&link).unwrap();
    }
}

#[test]
fn what_changes_around_a_file_counts() {
    let bench = Bench::new();
    let route = "route trunk {\n    from offices/fir, to offices/oak\n    cable t1 { pairs 50 }\n}\n";
    let steps: [(&str, Option<&str>); 9] = [
        (
            "parts/field.office",
            Some("part pressure-sensor field-15 { span 0 .. 10 psi }\n"),
        ),
        (
            "drysheath.toml",
            Some("language = 1\n[levels]\ntitle-missing = \"error\"\n"),
        ),
        ("offices/drysheath.toml", Some("[levels]\npart-unused = \"error\"\n")),
        ("parts/field.office", None),
        ("parts/field.office", Some(PARTS)),
        ("offices/drysheath.toml", None),
        ("routes/trunk.office", Some(route)),
        (
            "offices/more.office",
            Some("use routes/trunk\noffice more { site \"SITE01\" }\n"),
        ),
        ("offices/fir.office", None),
    ];
    bench.is_the_same(&[], "at first");
    for (path, text) in steps {
        match text {
            Some(text) => bench.write(path, text),
            None => fs::remove_file(bench.path().join(path)).unwrap(),
        }
        bench.is_the_same(&["--output", "json"], &format!("{path} became {text:?}"));
        bench.is_the_same(&["--output", "json"], &format!("{path} became {text:?}, again"));
    }
}

#[test]
fn the_day_counts_where_it_matters() {
    let bench = Bench::new();
    let accepted = format!(
        "{CLEAN}\nblock spare-block {{ pairs 25 }}\naccept block-unused on spare-block until 2026-12-01 because \"ordered\"\nreading 2026-11-20 ps1 9 psi\n"
    );
    bench.write("offices/elm.office", &accepted);
    for day in [
        "2026-11-25",
        "2026-11-25",
        "2026-12-02",
        "2026-11-01",
        "2027-01-01",
        "2026-11-25",
    ] {
        let day = ["--output", "json", "--today", day];
        let run = |more: &[&str]| bench.run(&[&["lint"], &day[..], more].concat());
        assert_eq!(run(&[]), run(&["--no-cache"]), "{day:?}");
    }
}

/// Random edits of a small repository; after each, what is said with the cache is what is said without.
#[test]
fn random_edits_make_no_difference() {
    let tests = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/county");
    for seed in 0..4 {
        let mut random = fastrand::Rng::with_seed(seed);
        let bench = Bench::new();
        copy(&tests, bench.path());
        let mut files: Vec<PathBuf> = contents(bench.path()).into_keys().map(PathBuf::from).collect();
        files.retain(|path| path.is_file());
        let was: Vec<Vec<u8>> = files.iter().map(|path| fs::read(path).unwrap()).collect();
        for step in 0..12 {
            let mut done = Vec::new();
            for _ in 0..random.usize(0..3) {
                let at = random.usize(..files.len());
                let path = &files[at];
                let text = fs::read_to_string(path).unwrap_or_default();
                let mut lines: Vec<&str> = text.lines().collect();
                let line = random.usize(..lines.len().max(1));
                match random.u8(0..7) {
                    0 => drop(fs::remove_file(path)),
                    1 => fs::write(path, &was[at]).unwrap(),
                    2 => fs::write(path, fs::read(&files[random.usize(..files.len())]).unwrap_or_default()).unwrap(),
                    _ if lines.is_empty() => fs::write(path, &was[at]).unwrap(),
                    3 => {
                        lines.remove(line);
                        fs::write(path, lines.join("\n")).unwrap();
                    }
                    4 => {
                        lines.insert(line, lines[line]);
                        fs::write(path, lines.join("\n")).unwrap();
                    }
                    _ => {
                        let other = lines[line].replace(['1', '2'], "7");
                        lines[line] = &other;
                        fs::write(path, lines.join("\n")).unwrap();
                    }
                }
                done.push(path.clone());
            }
            let form = FORMS[random.usize(..FORMS.len())];
            let meant = ["offices", "."][random.usize(..2)];
            bench.is_the_same(
                &["--output", form, meant],
                &format!("seed {seed}, step {step}: {done:?}"),
            );
        }
    }
}

#[test]
fn a_damaged_cache_is_only_made_again() {
    let bench = Bench::new();
    bench.write("offices/elm.office", &bad());
    bench.lint(&[]);
    let pack = bench.pack();
    let whole = fs::read(&pack).unwrap();
    let damages: [&dyn Fn() -> Vec<u8>; 5] = [
        &Vec::<u8>::new,
        &|| whole[..whole.len() / 2].to_vec(),
        &|| [whole.as_slice(), &whole].concat(),
        &|| vec![0xff; 5_000],
        &|| {
            let mut other = whole.clone();
            let middle = other.len() / 2;
            other[middle] ^= 1;
            other
        },
    ];
    for damage in damages {
        fs::write(&pack, damage()).unwrap();
        assert_eq!(code(&bench.is_the_same(&[], "damaged")), 1);
        assert_eq!(fs::read(&pack).unwrap(), whole, "it is put right");
    }
    fs::remove_file(&pack).unwrap();
    fs::create_dir(&pack).unwrap();
    assert_eq!(code(&bench.is_the_same(&[], "a folder in its place")), 1);
}

#[test]
fn a_place_that_cannot_be_used_is_not_used() {
    let bench = Bench::new();
    bench.write("offices/elm.office", &bad());
    let anew = bench.lint(&["--no-cache"]);
    let file = bench.caches.path().join("file");
    fs::write(&file, "").unwrap();
    for caches in [file.as_path(), Path::new("relative"), Path::new("")] {
        assert_eq!(bench.lint_with(caches, &[]), anew, "{}", caches.display());
    }
    assert!(!bench.path().join("relative").exists());
}

/// What a repository brings must not decide what passes.
#[test]
fn nothing_is_cached_within_what_is_checked() {
    let bench = Bench::new();
    git(bench.path(), &["init", "--quiet"]);
    let inside = bench.path().join("caches");
    let anew = bench.lint(&["--no-cache", "offices"]);
    let before = contents(bench.path());
    assert_eq!(bench.lint_with(&inside, &["offices"]), anew);
    assert_eq!(contents(bench.path()), before, "not even a folder is made there");
    // Results of a clean repository at the same place, which somebody commits together with an office that is not clean.
    bench.lint(&["offices"]);
    fs::create_dir_all(inside.join("drysheath")).unwrap();
    fs::copy(
        bench.pack(),
        inside.join("drysheath").join(bench.pack().file_name().unwrap()),
    )
    .unwrap();
    bench.write("offices/elm.office", &bad());
    assert_eq!(code(&bench.lint_with(&inside, &["offices"])), 1);
}

#[cfg(unix)]
#[test]
fn what_others_may_have_written_is_not_believed() {
    use std::os::unix::fs::{PermissionsExt, symlink};
    let bench = Bench::new();
    bench.lint(&[]);
    let pack = bench.pack();
    let anew = bench.lint(&["--no-cache"]);
    let folder = bench.caches.path().join("drysheath");
    let mode = |path: &Path, mode| fs::set_permissions(path, fs::Permissions::from_mode(mode)).unwrap();
    assert_eq!(fs::metadata(&folder).unwrap().permissions().mode() & 0o777, 0o700);
    mode(&pack, 0o666);
    assert_eq!(bench.lint(&[]), anew);
    assert_eq!(
        fs::metadata(&pack).unwrap().permissions().mode() & 0o022,
        0,
        "it was written again"
    );
    mode(&folder, 0o777);
    fs::remove_file(&pack).unwrap();
    assert_eq!(bench.lint(&[]), anew);
    assert!(bench.packs().is_empty(), "a folder in which others may write");
    mode(&folder, 0o700);
    // A link in its place, and one to a place within what is checked.
    symlink(bench.path().join("drysheath.toml"), &pack).unwrap();
    assert_eq!(bench.lint(&[]), anew);
    assert_eq!(
        fs::read_to_string(bench.path().join("drysheath.toml")).unwrap(),
        "language = 1\n"
    );
    fs::remove_dir_all(&folder).unwrap();
    let inside = bench.path().join("caches");
    fs::create_dir(&inside).unwrap();
    symlink(&inside, &folder).unwrap();
    assert_eq!(bench.lint(&[]), anew);
    assert!(contents(&inside).is_empty());
}

#[test]
fn runs_beside_each_other_are_right() {
    let bench = Bench::new();
    bench.write("offices/elm.office", &bad());
    let anew = bench.lint(&["--no-cache"]);
    std::thread::scope(|scope| {
        let runs: Vec<_> = (0..6)
            .map(|_| scope.spawn(|| (0..3).map(|_| bench.lint(&[])).collect::<Vec<_>>()))
            .collect();
        for run in runs {
            assert!(run.join().unwrap().iter().all(|output| *output == anew));
        }
    });
    let left = fs::read_dir(bench.caches.path().join("drysheath")).unwrap();
    assert_eq!(left.count(), 1, "nothing is left behind");
}
