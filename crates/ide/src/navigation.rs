//! Navigation: declarations, parts and uses of names.

use drysheath_office::Fields;
use drysheath_text::{FileId, Place, TextRange};
use drysheath_workspace::{Analysis, LoweredFile, Snapshot};

use crate::names::{Mention, Name, mentions_of, name_at, part_taken};

/// The declaration of something.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Declaration {
    /// Place of its name.
    pub place: Place,
    /// Range of the whole declaring statement.
    pub whole: TextRange,
}

/// Places in one file, in order.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FileMentions {
    /// File that contains the mention.
    pub file: FileId,
    /// The places, and whether each is a declaration.
    pub places: Vec<(TextRange, bool)>,
}

/// The name at an offset and its declarations. A name that is declared twice has two.
pub fn definition(snapshot: &Snapshot, analysis: &Analysis, offset: u32) -> Option<(TextRange, Vec<Declaration>)> {
    let mention = name_at(analysis, offset)?;
    let places = match mention.name {
        Name::File(path) => file_of(snapshot, analysis, path).into_iter().collect(),
        Name::Part(part) => part_taken(analysis, &mention)
            .map(|part| vec![part.place])
            .or_else(|| declared_here(analysis, mention.name))
            .or_else(|| Some(vec![snapshot.part(analysis, part)?.place]))
            .unwrap_or_default(),
        // The thing's own declaration overrides that of its part.
        Name::Inner { .. } if mention.declares => vec![here(analysis, mention.range)],
        Name::Inner { key, name, .. } => {
            let thing = mention.of.map(|id| analysis.office.thing(id));
            let field = thing.and_then(|thing| thing.named(key).find(|(own, ..)| *own == name));
            field
                .map(|(_, place, _)| analysis.office.written(place))
                .into_iter()
                .collect()
        }
        Name::Thing(_) => declared_here(analysis, mention.name).unwrap_or_default(),
        Name::Within { .. } => match mention.of.map(|id| analysis.office.thing(id).name) {
            Some(name) => vec![analysis.office.written(analysis.office.place(name))],
            None => declared_here(analysis, mention.name).unwrap_or_default(),
        },
        Name::Rule(_) => Vec::new(),
    };
    Some((mention.range, targets(snapshot, analysis, &places)))
}

/// The name at an offset, and the part of the thing that it names.
pub fn type_definition(snapshot: &Snapshot, analysis: &Analysis, offset: u32) -> Option<(TextRange, Vec<Declaration>)> {
    let mention = name_at(analysis, offset)?;
    let thing = match mention.name {
        Name::Part(_) => return definition(snapshot, analysis, offset),
        Name::Thing(name) | Name::Within { name, .. } if mention.of.is_none() => analysis.office.named(name),
        Name::Thing(_) | Name::Within { .. } | Name::Inner { .. } => mention.of,
        Name::File(_) | Name::Rule(_) => None,
    };
    let part = thing
        .and_then(|id| analysis.office.thing(id).part.as_ref())
        .map(|part| part.place);
    let places: Vec<Place> = part.into_iter().collect();
    Some((mention.range, targets(snapshot, analysis, &places)))
}

/// All occurrences of the name at an offset, in its own file first, then in the other files that know it.
pub fn references(snapshot: &Snapshot, analysis: &Analysis, offset: u32) -> Vec<FileMentions> {
    let Some(mention) = name_at(analysis, offset) else {
        return Vec::new();
    };
    let mut references = vec![mentioned(analysis, mention.name)];
    let relatives = related_files(snapshot, analysis, mention);
    references.extend(relatives.iter().map(|relative| relative.mentioned(mention.name)));
    references.retain(|mentioned| !mentioned.places.is_empty());
    references
}

/// Another file in which the name has the same meaning.
pub(crate) enum RelatedFile {
    /// The file is fully understood without reading, and names the part at these places.
    Takes(FileId, Vec<TextRange>),
    /// The file had to be read.
    Read(Box<LoweredFile>),
}

impl RelatedFile {
    pub fn file(&self) -> FileId {
        match self {
            Self::Takes(file, _) => *file,
            Self::Read(read) => read.file,
        }
    }

    pub fn mentioned(&self, name: Name<'_>) -> FileMentions {
        match self {
            Self::Takes(file, places) => FileMentions {
                file: *file,
                places: places.iter().map(|range| (*range, false)).collect(),
            },
            Self::Read(read) => mentioned_in(read.file, mentions_of(&read.office, &read.tree, name)),
        }
    }
}

/// The other files that may contain the name with the same meaning.
pub(crate) fn related_files(snapshot: &Snapshot, analysis: &Analysis, mention: Mention<'_>) -> Vec<RelatedFile> {
    let (files, home) = match mention.name {
        Name::File(path) => {
            let Some(used) = snapshot.used(analysis.file, path) else {
                return Vec::new();
            };
            (snapshot.users_of(used), None)
        }
        name => {
            let part = name.part().and_then(|part| snapshot.part(analysis, part));
            let Some(part) = part else { return Vec::new() };
            (snapshot.with_users(part.place.file), Some((part.place, part)))
        }
    };
    let mut relatives = Vec::new();
    for file in files {
        if snapshot.is_cancelled() {
            break;
        }
        if file == analysis.file {
            continue;
        }
        if let (Name::Part(name), Some((place, _))) = (mention.name, &home)
            && let Some(places) = snapshot.places_of_part(file, name, *place)
        {
            relatives.extend((!places.is_empty()).then_some(RelatedFile::Takes(file, places)));
            continue;
        }
        if !contains(snapshot, file, mention.name.word()) {
            continue;
        }
        let Some(other) = snapshot.read(file).ok().flatten() else {
            continue;
        };
        let same = home.as_ref().is_none_or(|(place, part)| {
            let known = snapshot.part_known_to(&other, &part.name);
            known.is_some_and(|known| known.place == *place)
        });
        if same {
            relatives.push(RelatedFile::Read(Box::new(other)));
        }
    }
    relatives
}

/// Whether the text of a file contains a word.
pub(crate) fn contains(snapshot: &Snapshot, file: FileId, word: &str) -> bool {
    let content = snapshot.content(file).ok().flatten();
    content.is_some_and(|(_, content)| content.text.contains(word))
}

/// The occurrences of the name at an offset in its file, and whether each is a declaration.
pub fn highlights(analysis: &Analysis, offset: u32) -> Vec<(TextRange, bool)> {
    let mention = name_at(analysis, offset);
    mention.map_or_else(Vec::new, |mention| mentioned(analysis, mention.name).places)
}

pub(crate) fn mentioned(analysis: &Analysis, name: Name<'_>) -> FileMentions {
    mentioned_in(analysis.file, mentions_of(&analysis.office, &analysis.tree, name))
}

fn mentioned_in(file: FileId, mentions: Vec<Mention<'_>>) -> FileMentions {
    let places = mentions.into_iter().map(|mention| (mention.range, mention.declares));
    FileMentions {
        file,
        places: places.collect(),
    }
}

fn declared_here(analysis: &Analysis, name: Name<'_>) -> Option<Vec<Place>> {
    let mentions = mentions_of(&analysis.office, &analysis.tree, name).into_iter();
    let declared = mentions.filter(|mention| mention.declares);
    let places: Vec<Place> = declared.map(|mention| here(analysis, mention.range)).collect();
    (!places.is_empty()).then_some(places)
}

fn here(analysis: &Analysis, range: TextRange) -> Place {
    Place {
        file: analysis.file,
        range,
    }
}

fn file_of(snapshot: &Snapshot, analysis: &Analysis, path: &str) -> Option<Place> {
    Some(Place {
        file: snapshot.used(analysis.file, path)?,
        range: TextRange::default(),
    })
}

fn targets(snapshot: &Snapshot, analysis: &Analysis, places: &[Place]) -> Vec<Declaration> {
    let target = |place: &Place| {
        let whole = if place.file == analysis.file {
            statement_around(analysis, place.range)
        } else {
            let other = snapshot.analyse(place.file)?;
            statement_around(&other, place.range)
        };
        Some(Declaration { place: *place, whole })
    };
    places.iter().filter_map(target).collect()
}

/// The whole statement around a range, or the range itself.
fn statement_around(analysis: &Analysis, range: TextRange) -> TextRange {
    let statements = &analysis.tree.statements;
    let after = statements.partition_point(|statement| statement.range.start <= range.start);
    let statement = after.checked_sub(1).and_then(|at| statements.get(at));
    statement
        .map(|statement| statement.range)
        .filter(|whole| whole.contains(range) && !range.is_empty())
        .unwrap_or(range)
}
