//! A model of the workspace: after any operations, in any order, it says of every file what a workspace says that has just read the
//! same state.
//!
//! It runs for a moment in every test run. `BOLERO_RANDOM_ITERATIONS=10000` lets it run longer.

use std::collections::BTreeMap;
use std::fmt::Write;
use std::path::{Path, PathBuf};

use drysheath_fixture::check;
use drysheath_text::Encoding;
use drysheath_workspace::{Change, Snapshot, slashed};

use crate::Bench;

/// Operations of one case: the slips that can be made with more are made with these.
const MOST: usize = 24;

/// A file, and the texts that it may have.
const FILES: [(&str, &[&str]); 11] = [
    (
        "/top/drysheath.toml",
        &[
            "language = 1\n",
            "language = 1\n[rules]\ntitle-missing = \"error\"\n",
            "language = 1\n[rules]\nno-such-rule = \"off\"\n",
            "language = [\n",
        ],
    ),
    (
        "/top/inner/drysheath.toml",
        &[
            "language = 1\n[rules]\nblock-unused = \"error\"\n",
            "[rules]\ntitle-missing = \"off\"\n",
        ],
    ),
    (
        "/top/a.office",
        &[
            "use parts/near\noffice a { title \"A\", site \"AA1\" }\nblock tc : field-block\n",
            "use parts/near\nuse routes/t\noffice a { title \"A\", site \"AA1\" }\nmanifold mf { ports 4 }\nair mf port 1 -> ct\n",
            "office a { site \"BB1\" }\npressure-sensor p1 { span 0 .. 15 psi }\nwire p1 -> tb pair 1\n",
            "office a {\nblock tb { pairs 25\nwire p1 -> tb pair 1\n",
            "use parts/bracket\noffice a { title \"A\", site \"AA1\" }\nassembly b : bracket { r { set 9 psi } }\n",
        ],
    ),
    (
        "/top/b.office",
        &[
            "use routes/t\noffice b { title \"B\", site \"BB1\" }\nmanifold mf { ports 2 }\nair mf port 1 -> ct end\n",
            "office a { title \"Again\", site \"AA1\" }\n",
            "use parts/far\noffice b { title \"B\", site \"BB1\" }\nblock t2 : field-block { pairs 50 }\n",
        ],
    ),
    (
        "/top/inner/c.office",
        &[
            "use ../parts/far\noffice c { title \"C\", site \"CC1\" }\nblock tc : field-block\n",
            "use parts/own\noffice c { site \"CC1\" }\nblock tc : own-block\n",
        ],
    ),
    (
        "/top/inner/parts/own.office",
        &[
            "part block own-block { pairs 5 }\n",
            "part block own-block { pairs -5 }\n",
        ],
    ),
    (
        "/top/parts/near.office",
        &[
            "use parts/far\n",
            "part block field-block { pairs 20 }\n",
            "use parts/near\npart block other-block { pairs 20 }\n",
        ],
    ),
    (
        "/top/parts/far.office",
        &[
            "part block field-block { pairs 10 }\n",
            "part block field-block { pairs ten }\n",
            "part block other-block { pairs 10 }\n",
        ],
    ),
    (
        "/top/parts/bracket.office",
        &[
            "assembly bracket { model \"Quern B2\" }\nregulator r { set 6 psi, inlet-max 100 psi, flow-max 20 scfh }\n",
            "assembly bracket { }\nregulator s { set 6 psi }\n",
        ],
    ),
    (
        "/top/routes/t.office",
        &[
            "route t { title \"T\", from a, to b }\ncable ct { pairs 25, gauge 24 awg, section s1 { buried 2 km, resistance 0.1 psi/scfh/kft, usage 2 scfh } }\n",
            "route t { from a, to nowhere }\ncable ct { pairs 25 }\n",
        ],
    ),
    (
        "/elsewhere/d.office",
        &["office d { title \"D\", site \"AA1\" }\n", "office d {\n"],
    ),
];

/// An operation as numbers, so that a fuzzer can draw it: what to do, with which file, and with which of its texts.
type Operation = (u8, u8, u8);

/// What is true whatever a workspace makes of it.
#[derive(Default)]
struct Model {
    disk: BTreeMap<&'static str, &'static str>,
    open: BTreeMap<&'static str, &'static str>,
    folders: Vec<PathBuf>,
}

fn top() -> Vec<PathBuf> {
    vec![PathBuf::from("/top")]
}

impl Model {
    /// Does the same to the model and to the workspace.
    fn apply(&mut self, (what, file, text): Operation, bench: &mut Bench) {
        let (path, texts) = FILES[usize::from(file) % FILES.len()];
        let text = texts[usize::from(text) % texts.len()];
        let is_office = path.ends_with(".office");
        let invalidated = match what % 7 {
            0 | 1 => {
                self.disk.insert(path, text);
                bench.files.write(path, text);
                bench.workspace.changed_on_disk(Path::new(path))
            }
            2 => {
                self.disk.remove(path);
                bench.files.remove(path);
                bench.workspace.changed_on_disk(Path::new(path))
            }
            3 if is_office => {
                self.open.insert(path, text);
                bench.open(path, text)
            }
            4 if is_office => {
                let whole = Change::Whole(text.to_owned());
                match bench.workspace.edit(Path::new(path), 2, [whole], Encoding::Utf16) {
                    Some((_, invalidated)) => {
                        assert!(self.open.insert(path, text).is_some(), "{path} was open");
                        invalidated
                    }
                    None => return assert!(!self.open.contains_key(path), "{path} is open"),
                }
            }
            5 if is_office => match bench.workspace.close(Path::new(path)) {
                Some((_, invalidated)) => {
                    self.open.remove(path);
                    invalidated
                }
                None => return assert!(!self.open.contains_key(path), "{path} is open"),
            },
            6 => {
                self.folders = match usize::from(file) % 3 {
                    0 => top(),
                    1 => vec![PathBuf::from("/top/inner")],
                    _ => vec![PathBuf::from("/top"), PathBuf::from("/elsewhere")],
                };
                let mut invalidated = bench.workspace.set_folders(self.folders.clone());
                let found = bench.workspace.found(&self.folders, self.found());
                invalidated.files.extend(found.files);
                invalidated.repositories.extend(found.repositories);
                invalidated
            }
            _ => return,
        };
        bench.settle(invalidated);
    }

    /// What is found in the folders.
    fn found(&self) -> Vec<PathBuf> {
        let paths = self.disk.keys().map(PathBuf::from);
        let offices = paths.filter(|path| path.extension().is_some_and(|extension| extension == "office"));
        offices
            .filter(|path| self.folders.iter().any(|folder| path.starts_with(folder)))
            .collect()
    }

    /// A workspace that has just read the state.
    fn anew(&self) -> Bench {
        let files: Vec<(&str, &str)> = self.disk.iter().map(|(path, text)| (*path, *text)).collect();
        let mut bench = Bench::in_folders(&files, &self.folders);
        for (path, text) in &self.open {
            let invalidated = bench.open(path, text);
            bench.settle(invalidated);
        }
        bench
    }
}

/// The results of a file, with paths in place of the numbers of files, which depend on the order in which they were met.
fn results(snapshot: &Snapshot, path: &str) -> String {
    let mut all: Vec<String> = Vec::new();
    let named = |file| snapshot.path(file).map(|path| slashed(&path)).unwrap_or_default();
    for finding in snapshot.findings(snapshot.file(Path::new(path))) {
        // Which file may be meant instead is not looked up again when another file comes or goes.
        let names_a_file = ["use-not-found", "route-end", "part-unknown"].contains(&finding.rule.name());
        let help = finding.help.as_deref().filter(|_| !names_a_file);
        let mut one = format!(
            "{} {} {} {:?} {:?}",
            finding.rule.name(),
            finding.level.word(),
            finding.message,
            finding.place.range,
            help
        );
        for related in &finding.related {
            write!(
                one,
                " [{} {:?} {:?}]",
                named(related.place.file),
                related.place.range,
                related.label
            )
            .unwrap();
        }
        all.push(one);
    }
    all.sort();
    all.push(places_of_parts(snapshot, path));
    all.join("\n")
}

/// Where a file names the parts that its things take, as far as that is known without reading it.
fn places_of_parts(snapshot: &Snapshot, path: &str) -> String {
    let file = snapshot.file(Path::new(path));
    let Some(analysis) = snapshot.analyse(file) else {
        return String::new();
    };
    let mut out = String::new();
    for (_, thing) in analysis.office.own_things() {
        if let Some(part) = &thing.part {
            let places = snapshot.places_of_part(file, &part.name, part.place);
            write!(out, "{} {places:?} ", part.name).unwrap();
        }
    }
    out
}

#[test]
fn after_any_operations_it_says_what_one_says_that_has_just_read_the_state() {
    check!(250).with_type::<Vec<Operation>>().for_each(|operations| {
        let mut model = Model {
            folders: top(),
            ..Model::default()
        };
        let mut bench = Bench::new(&[]);
        for (done, operation) in operations.iter().take(MOST).enumerate() {
            model.apply(*operation, &mut bench);
            let anew = model.anew();
            for (path, _) in FILES {
                let (is, should) = (
                    results(bench.workspace.now(), path),
                    results(anew.workspace.now(), path),
                );
                assert_eq!(is, should, "{path} after {:?}", &operations[..=done]);
            }
        }
    });
}
