//! A world on a desk: files in memory, and a caret in one of them.
#![allow(dead_code, reason = "each test file takes what it needs")]

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use drysheath_ide::{Analysis, Disk, OnDisk, World};
use drysheath_rules::example;
use drysheath_syntax::Problem;

/// The root of the repository on the desk.
pub const ROOT: &str = "/desk";

/// Files in memory, by their paths below the root.
#[derive(Default)]
struct Files(BTreeMap<PathBuf, String>);

impl Disk for Files {
    fn read(&self, path: &Path) -> Result<Option<OnDisk>, String> {
        let problem: Option<Problem> = None;
        Ok(self.0.get(path).map(|text| OnDisk {
            text: text.as_str().into(),
            problem,
        }))
    }

    fn root_above(&self, _: &Path) -> Option<PathBuf> {
        Some(PathBuf::from(ROOT))
    }

    fn is_outside(&self, _: &Path, _: &Path) -> bool {
        false
    }

    fn similar(&self, _: &Path, _: &str) -> Option<String> {
        None
    }
}

/// A world, and one file of it that an editor has open.
pub struct Desk {
    /// The world.
    pub world: World,
    /// The open file.
    pub analysis: Arc<Analysis>,
}

impl Desk {
    /// A desk with `text` open at `path`, and other files around it.
    pub fn new(path: &str, text: &str, others: &[(String, String)]) -> Self {
        let files = others
            .iter()
            .map(|(path, text)| (Path::new(ROOT).join(path), text.clone()));
        let files = Files(files.collect());
        let paths: Vec<PathBuf> = files.0.keys().cloned().collect();
        let mut world = World::new(Box::new(files), example::TODAY);
        let path = Path::new(ROOT).join(path);
        let file = world.open(&path, 1, text);
        world.set_folders(vec![PathBuf::from(ROOT)]);
        world.found(Path::new(ROOT), paths);
        while world.work().is_some() {}
        let analysis = world.analysis(file).expect("it is open");
        Self { world, analysis }
    }

    /// A desk with one file.
    pub fn of(text: &str) -> Self {
        Self::new("office.office", text, &[])
    }
}

/// A text without its caret, and where that stood.
pub fn caret(text: &str) -> (String, u32) {
    let at = text.find("$0").expect("a caret");
    (text.replacen("$0", "", 1), at as u32)
}

/// The example office, with a line more at its end.
pub fn example_and(line: &str) -> String {
    format!("{}{line}", example::OFFICE)
}

/// The example office, with one text in it replaced.
pub fn example_with(old: &str, new: &str) -> String {
    assert!(example::OFFICE.contains(old), "{old}");
    example::OFFICE.replacen(old, new, 1)
}

/// Every office of the county or of the faults: its path, and all files.
pub fn folder(name: &str) -> Vec<(String, String)> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests").join(name);
    let mut files = Vec::new();
    collect(&root, &root, &mut files);
    files.sort();
    assert!(!files.is_empty(), "{name}");
    files
}

fn collect(root: &Path, folder: &Path, files: &mut Vec<(String, String)>) {
    for entry in std::fs::read_dir(folder).expect("a folder") {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            collect(root, &path, files);
        } else if path.extension().is_some_and(|extension| extension == "office")
            && let Ok(text) = std::fs::read_to_string(&path)
        {
            let name = path.strip_prefix(root).expect("it is below the root");
            files.push((name.to_string_lossy().into_owned(), text));
        }
    }
}
