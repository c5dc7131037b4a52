use std::sync::Arc;

use drysheath_engineering::standard::NamedStandardConditions;
use drysheath_syntax::parse;
use drysheath_text::{FileId, Place};
use rustc_hash::FxHashMap;

use crate::drawing::Drawing;
use crate::kinds::Kind;
use crate::lower::lower_alone;
use crate::model::Office;
use crate::value::{Field, Fields};

/// The name of the settings file, which marks a repository's root.
pub const SETTINGS: &str = "drysheath.toml";
/// The extension of offices and files of parts.
pub const EXTENSION: &str = "office";
/// The extension with its dot, which paths leave out.
pub(crate) const DOT_EXTENSION: &str = ".office";

/// A thing described once, to be used for many things of offices.
#[derive(Debug)]
pub struct Part {
    /// The kind of thing that it describes.
    pub kind: &'static Kind,
    /// The name by which things use it.
    pub name: Box<str>,
    /// Name of its base part, as written in its file.
    pub of: Option<Box<str>>,
    /// Place of its name.
    pub place: Place,
    /// Fields of the part itself, which its things inherit.
    pub fields: Vec<Field>,
    /// Whether something in it could not be understood.
    pub damaged: bool,
}

impl Fields for Part {
    fn fields(&self) -> &[Field] {
        &self.fields
    }
}

/// Contents of a parts file for the files that use it.
#[derive(Debug, Default)]
pub struct PartsFile {
    /// The parts that the file declares, by name.
    pub parts: FxHashMap<Box<str>, Arc<Part>>,
    /// The paths that it uses itself.
    pub uses: Vec<Box<str>>,
    /// For a route, the paths of the offices at its ends.
    pub ends: Vec<Box<str>>,
    /// Whether a part in it may be unreadable, so that a part cannot be reported missing.
    pub unsure: bool,
    /// The file itself, if it draws an assembly or describes a route or an office.
    pub drawing: Option<Arc<Drawing>>,
}

impl PartsFile {
    /// Reads what the file `file` at `path` provides, with `standard` as conditions of standard volumes.
    pub fn read(file: FileId, path: &str, text: Arc<str>, standard: &'static NamedStandardConditions) -> Self {
        let tree = parse(&text);
        let office = lower_alone(file, path, Arc::clone(&text), &tree, &Alone(standard));
        let drawn = office.drawn_as().map(|part| part.place.range);
        let head = drawn.or(office.itself.map(|id| office.thing(id).name));
        let drawing = head.map(|head| {
            Arc::new(Drawing {
                file,
                path: path.into(),
                head,
                text,
                tree,
            })
        });
        Self {
            drawing,
            ..Self::of(&office)
        }
    }

    /// The file itself, if it describes an office.
    pub fn office(&self) -> Option<&Arc<Drawing>> {
        let is_part = |drawing: &Drawing| self.parts.values().any(|part| part.place.range == drawing.head);
        self.drawing.as_ref().filter(|drawing| !is_part(drawing))
    }

    /// Contents of the file of `office`.
    pub fn of(office: &Office) -> Self {
        Self {
            parts: office
                .parts
                .iter()
                .map(|part| (part.name.clone(), Arc::clone(part)))
                .collect(),
            uses: office.uses.iter().map(|used| used.value.clone()).collect(),
            ends: office.files_named().skip(office.uses.len()).map(Into::into).collect(),
            unsure: office.unsure.names || office.unsure.things,
            drawing: None,
        }
    }
}

/// Result of looking up a path of a `use`.
#[derive(Clone, Debug)]
pub enum PartsLookup {
    /// A file of parts.
    Found(Arc<PartsFile>),
    /// The file does not exist.
    Missing,
    /// A file outside the repository.
    Outside,
    /// A file that cannot be read, with the reason.
    Unreadable(String),
}

/// Source of files of parts. This crate reads no files itself.
pub trait PartsSource {
    /// Looks up `path`, which is relative to the repository's root and has no extension.
    fn find(&self, path: &str) -> PartsLookup;

    /// The paths of all files of this language in `folder`, which has no final slash, sorted, for suggestions.
    fn names_in(&self, folder: &str) -> Vec<String>;

    /// The standard conditions of the repository.
    fn standard(&self) -> &'static NamedStandardConditions {
        NamedStandardConditions::base()
    }
}

/// A source that has no files.
pub struct NoParts;

impl PartsSource for NoParts {
    fn find(&self, _: &str) -> PartsLookup {
        PartsLookup::Missing
    }

    fn names_in(&self, _: &str) -> Vec<String> {
        Vec::new()
    }
}

/// The source for reading a file of parts: a part is described by its own fields alone, so used files are not needed.
struct Alone(&'static NamedStandardConditions);

impl PartsSource for Alone {
    fn find(&self, _: &str) -> PartsLookup {
        PartsLookup::Missing
    }

    fn names_in(&self, _: &str) -> Vec<String> {
        Vec::new()
    }

    fn standard(&self) -> &'static NamedStandardConditions {
        self.0
    }
}

/// A source with all files in memory, by path without extension.
#[derive(Debug, Default)]
pub struct PartsInMemory {
    files: FxHashMap<Box<str>, Arc<PartsFile>>,
}

impl PartsInMemory {
    /// Creates it from ids, paths and texts of files.
    pub fn new<'t>(files: impl IntoIterator<Item = (FileId, &'t str, &'t str)>) -> Self {
        let read = |(file, path, text): (FileId, &'t str, &'t str)| {
            (
                path.into(),
                Arc::new(PartsFile::read(
                    file,
                    path,
                    text.into(),
                    NamedStandardConditions::base(),
                )),
            )
        };
        Self {
            files: files.into_iter().map(read).collect(),
        }
    }
}

impl PartsSource for PartsInMemory {
    fn find(&self, path: &str) -> PartsLookup {
        self.files
            .get(path)
            .cloned()
            .map_or(PartsLookup::Missing, PartsLookup::Found)
    }

    fn names_in(&self, folder: &str) -> Vec<String> {
        let is_in = |path: &&str| path.rsplit_once('/').map_or("", |(folder, _)| folder) == folder;
        let paths = self.files.keys().map(|path| &**path).filter(is_in);
        let mut paths: Vec<String> = paths.map(str::to_owned).collect();
        paths.sort_unstable();
        paths
    }
}
