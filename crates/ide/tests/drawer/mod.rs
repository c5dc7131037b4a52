//! Worlds of files that no disk has, and carets in their texts.
#![allow(
    missing_docs,
    dead_code,
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing
)]

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use drysheath_ide::{Analysis, Disk, OnDisk, World};
use drysheath_office::Date;
use drysheath_text::{Edit, FileId, TextRange};

pub const ROOT: &str = "/plant";

struct Drawer(BTreeMap<PathBuf, String>);

impl Disk for Drawer {
    fn read(&self, path: &Path) -> Result<Option<OnDisk>, String> {
        Ok(self.0.get(path).map(|text| OnDisk {
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

/// A world of files by their paths without extension, all looked at and none open.
pub fn world(files: &[(&str, &str)]) -> World {
    let mut world = quiet_world(files);
    while world.work().is_some() {}
    world
}

/// A world of files that are known and have not been looked at.
pub fn quiet_world(files: &[(&str, &str)]) -> World {
    let path = |name: &str| Path::new(ROOT).join(name).with_extension("office");
    let texts: BTreeMap<PathBuf, String> = files
        .iter()
        .map(|(name, text)| (path(name), (*text).to_owned()))
        .collect();
    let paths: Vec<PathBuf> = texts.keys().cloned().collect();
    let today = Date {
        year: 2026,
        month: 6,
        day: 1,
    };
    let mut world = World::new(Box::new(Drawer(texts)), today);
    world.set_folders(vec![ROOT.into()]);
    world.set_folders(vec![PathBuf::from(ROOT)]);
    world.found(Path::new(ROOT), paths);
    world
}

pub fn file(world: &World, name: &str) -> FileId {
    world
        .known(&Path::new(ROOT).join(name).with_extension("office"))
        .unwrap()
}

pub fn name(world: &World, file: FileId) -> String {
    let path = world.path(file).unwrap();
    path.strip_prefix(ROOT)
        .unwrap()
        .with_extension("")
        .display()
        .to_string()
}

pub fn analysis(world: &mut World, name: &str) -> Arc<Analysis> {
    let file = file(world, name);
    world.analysis(file).unwrap()
}

/// A text without its carets `|`, and where they stand.
pub fn carets(text: &str) -> (String, Vec<u32>) {
    let mut at = Vec::new();
    let mut out = String::new();
    for character in text.chars() {
        if character == '|' {
            at.push(out.len() as u32);
        } else {
            out.push(character);
        }
    }
    (out, at)
}

/// A text without its one caret, and where that stands.
pub fn caret(text: &str) -> (String, u32) {
    let (text, carets) = carets(text);
    assert_eq!(carets.len(), 1);
    (text, carets[0])
}

/// The line around a range with the range in brackets.
pub fn shown(text: &str, range: TextRange) -> String {
    let start = text[..range.start as usize].rfind('\n').map_or(0, |at| at + 1);
    let end = text[range.end as usize..]
        .find('\n')
        .map_or(text.len(), |at| at + range.end as usize);
    let (from, to) = (range.start as usize, range.end as usize);
    let line = format!("{}[{}]{}", &text[start..from], &text[from..to], &text[to..end]);
    line.split_whitespace().collect::<Vec<_>>().join(" ")
}

pub fn applied(text: &str, edits: &[Edit]) -> String {
    drysheath_text::apply(text, edits).unwrap()
}

/// Every file below a folder of tests, by its path without extension.
pub fn folder(name: &str) -> Vec<(String, String)> {
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
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests").join(name);
    let mut paths = Vec::new();
    collect(&root, &mut paths);
    paths.sort();
    let read = |path: &PathBuf| {
        let name = path.strip_prefix(&root).unwrap().with_extension("");
        let text = String::from_utf8_lossy(&std::fs::read(path).unwrap()).into_owned();
        (name.to_str().unwrap().replace('\\', "/"), text)
    };
    paths.iter().map(read).collect()
}

pub fn borrowed(files: &[(String, String)]) -> Vec<(&str, &str)> {
    files
        .iter()
        .map(|(name, text)| (name.as_str(), text.as_str()))
        .collect()
}

/// Asks something of a sample of prefixes of every file of the county and of the faults, at a sample of offsets.
pub fn on_damaged_texts(mut ask: impl FnMut(&mut World, &Arc<Analysis>, u32)) {
    for folder_name in ["county", "faults"] {
        let files = folder(folder_name);
        let mut world = world(&borrowed(&files));
        for (number, (name, text)) in files.iter().enumerate() {
            let path = Path::new(ROOT).join(name).with_extension("office");
            let lengths = (number * 37 % (text.len() / 2)..text.len()).step_by(text.len() / 2 + 1);
            for length in lengths.chain([text.len()]) {
                let length = (0..=length).rev().find(|at| text.is_char_boundary(*at)).unwrap();
                let file = world.open(&path, 1, &text[..length]);
                let analysis = world.analysis(file).unwrap();
                for offset in (0..length).step_by(length / 5 + 1) {
                    ask(&mut world, &analysis, offset as u32);
                }
                ask(&mut world, &analysis, length as u32);
                ask(&mut world, &analysis, u32::MAX);
            }
            world.close(&path);
        }
    }
}
