//! Offices that no disk has: the example office with some of its statements replaced, and a caret in them.
#![allow(missing_docs, dead_code, clippy::unwrap_used, clippy::panic)]

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use drysheath_ide::{Analysis, Disk, OnDisk, World};
use drysheath_office::Date;
use drysheath_rules::example::{OFFICE, compose};

const ROOT: &str = "/plant";

struct Shelf(BTreeMap<PathBuf, String>);

impl Disk for Shelf {
    fn read(&self, path: &Path) -> Result<Option<OnDisk>, String> {
        let text = self.0.get(path);
        Ok(text.map(|text| OnDisk {
            text: text.as_str().into(),
            problem: None,
        }))
    }

    fn root_above(&self, _: &Path) -> Option<PathBuf> {
        Some(ROOT.into())
    }

    fn is_outside(&self, _: &Path, _: &Path) -> bool {
        false
    }

    fn similar(&self, _: &Path, _: &str) -> Option<String> {
        None
    }
}

/// A world of files by their names, the first of them looked at.
pub fn world(files: &[(&str, &str)]) -> (World, Arc<Analysis>) {
    let path = |name: &str| Path::new(ROOT).join(name);
    let texts: BTreeMap<PathBuf, String> = files
        .iter()
        .map(|(name, text)| (path(name), (*text).to_owned()))
        .collect();
    let today = Date {
        year: 2026,
        month: 11,
        day: 1,
    };
    let paths: Vec<PathBuf> = texts.keys().cloned().collect();
    let mut world = World::new(Box::new(Shelf(texts)), today);
    world.set_folders(vec![PathBuf::from(ROOT)]);
    world.found(Path::new(ROOT), paths);
    while world.work().is_some() {}
    let file = world.known(&path(files.first().unwrap().0)).unwrap();
    let analysis = world.analysis(file).unwrap();
    (world, analysis)
}

pub fn analysis(text: &str) -> Arc<Analysis> {
    world(&[("elm.office", text)]).1
}

/// The example office with the statements of `text` in place of its own of the same name, and the caret `$0` in it.
pub fn with_caret(text: &str) -> (Arc<Analysis>, u32) {
    let clean = text.replace("$0", "");
    let composed = compose(OFFICE, &clean);
    // The statements stand at the end.
    let at = composed.len() - clean.len() + text.find("$0").unwrap();
    (analysis(&composed), at as u32)
}

/// The example office with the statements of `text` in place of its own of the same name.
pub fn example(text: &str) -> Arc<Analysis> {
    analysis(&compose(OFFICE, text))
}

/// Asks something of a sample of prefixes of every file of the county and of the faults, at a sample of offsets.
pub fn on_damaged_texts(mut ask: impl FnMut(&mut World, &Arc<Analysis>, u32)) {
    fn collect(folder: &Path, out: &mut Vec<PathBuf>) {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                collect(&path, out);
            } else if path.extension().is_some_and(|extension| extension == "office") {
                out.push(path);
            }
        }
    }
    let tests = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests");
    let mut paths = Vec::new();
    collect(&tests.join("county"), &mut paths);
    collect(&tests.join("faults"), &mut paths);
    paths.sort();
    let files: Vec<(String, String)> = paths
        .iter()
        .map(|path| {
            let below = path.strip_prefix(&tests).unwrap();
            let inner: PathBuf = below.components().skip(1).collect();
            let text = String::from_utf8_lossy(&std::fs::read(path).unwrap()).into_owned();
            (inner.display().to_string(), text)
        })
        .collect();
    let borrowed: Vec<(&str, &str)> = files.iter().map(|(name, text)| (&**name, &**text)).collect();
    let (mut world, _) = world(&borrowed);
    for (number, (name, text)) in files.iter().enumerate() {
        let path = Path::new(ROOT).join(name);
        for (version, part) in (0..4).zip(0_usize..) {
            let length = text.len() * (part * 3 + number % 3 + 1) / 12;
            let length = (0..=length).rev().find(|at| text.is_char_boundary(*at)).unwrap();
            let file = world.open(&path, version, text.get(..length).unwrap());
            let analysis = world.analysis(file).unwrap();
            let step = length / 7 + 1;
            for offset in (number % step..=length).step_by(step).chain([length]) {
                ask(&mut world, &analysis, offset as u32);
            }
        }
        world.close(&path);
    }
}
