use std::sync::Arc;

use drysheath_engineering::standard::KnownStandard;
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
/// The same with its dot, which a path leaves out.
pub(crate) const DOT_EXTENSION: &str = ".office";

/// A thing described once, for offices to use many of.
#[derive(Debug)]
pub struct Part {
    /// What things it describes.
    pub kind: &'static Kind,
    /// The name that things take it by.
    pub name: Box<str>,
    /// The part that it is of in turn, as its own file calls that.
    pub of: Option<Box<str>>,
    /// Where that name is declared.
    pub place: Place,
    /// Its own fields, which things of this part take over.
    pub fields: Vec<Field>,
    /// Whether something in it could not be understood.
    pub damaged: bool,
}

impl Fields for Part {
    fn fields(&self) -> &[Field] {
        &self.fields
    }
}

/// What a file of parts gives to the files that use it.
#[derive(Debug, Default)]
pub struct PartsFile {
    /// Its parts, by name.
    pub parts: FxHashMap<Box<str>, Arc<Part>>,
    /// The paths that it uses in turn.
    pub uses: Vec<Box<str>>,
    /// The offices at the ends of the route that it describes, by their paths.
    pub ends: Vec<Box<str>>,
    /// Whether a part in it may have gone unread, so that a name that is not found proves nothing.
    pub unsure: bool,
    /// The file itself, where it draws an assembly, describes a route or describes an office.
    pub drawing: Option<Arc<Drawing>>,
}

impl PartsFile {
    /// What the file `file` at `path` gives to the files that use it, where standard volumes are counted at `standard`.
    pub fn read(file: FileId, path: &str, text: Arc<str>, standard: &'static KnownStandard) -> Self {
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

    /// The file itself, where it describes an office.
    pub fn office(&self) -> Option<&Arc<Drawing>> {
        let is_part = |drawing: &Drawing| self.parts.values().any(|part| part.place.range == drawing.head);
        self.drawing.as_ref().filter(|drawing| !is_part(drawing))
    }

    /// What `office`'s file gives to the files that use it.
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

/// What is behind a path that a `use` names.
#[derive(Clone, Debug)]
pub enum PartsLookup {
    /// A file of parts.
    Found(Arc<PartsFile>),
    /// There is no such file.
    Missing,
    /// A file outside the repository.
    Outside,
    /// A file that cannot be read, and why.
    Unreadable(String),
}

/// Where the files of parts come from. This room reads no files itself.
pub trait PartsSource {
    /// What is behind `path`, which counts from the repository's root and has no extension.
    fn find(&self, path: &str) -> PartsLookup;

    /// The paths of all files of this language in `folder`, which has no slash at its end, in order: for a suggestion.
    fn names_in(&self, folder: &str) -> Vec<String>;

    /// The conditions at which the repository counts standard volumes.
    fn standard(&self) -> &'static KnownStandard {
        KnownStandard::base()
    }
}

/// A library without books.
pub struct NoParts;

impl PartsSource for NoParts {
    fn find(&self, _: &str) -> PartsLookup {
        PartsLookup::Missing
    }

    fn names_in(&self, _: &str) -> Vec<String> {
        Vec::new()
    }
}

/// What a file of parts is read with: a part is described by its own fields alone, so that nothing that it uses is needed.
struct Alone(&'static KnownStandard);

impl PartsSource for Alone {
    fn find(&self, _: &str) -> PartsLookup {
        PartsLookup::Missing
    }

    fn names_in(&self, _: &str) -> Vec<String> {
        Vec::new()
    }

    fn standard(&self) -> &'static KnownStandard {
        self.0
    }
}

/// Files that are all in memory, by their paths without extension.
#[derive(Debug, Default)]
pub struct PartsInMemory {
    files: FxHashMap<Box<str>, Arc<PartsFile>>,
}

impl PartsInMemory {
    /// A shelf of files: their numbers, paths and texts.
    pub fn new<'t>(files: impl IntoIterator<Item = (FileId, &'t str, &'t str)>) -> Self {
        let read = |(file, path, text): (FileId, &'t str, &'t str)| {
            (
                path.into(),
                Arc::new(PartsFile::read(file, path, text.into(), KnownStandard::base())),
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
