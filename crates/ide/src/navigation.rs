//! Where a name is declared, what part it is of, and where it is used.

use std::sync::Arc;

use drysheath_office::Fields;
use drysheath_text::{FileId, Place, TextRange};

use crate::analysis::Analysis;
use crate::names::{Mention, Name, Names};
use crate::world::World;

/// Where something is declared.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Declared {
    /// Its name.
    pub place: Place,
    /// The whole statement around the name.
    pub whole: TextRange,
}

/// Places in one file, in order.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mentioned {
    /// The file.
    pub file: FileId,
    /// The places, and whether each declares what is named there.
    pub places: Vec<(TextRange, bool)>,
}

/// The name at an offset and where it is declared. A name that is declared twice has two places.
pub fn definition(world: &mut World, analysis: &Analysis, offset: u32) -> Option<(TextRange, Vec<Declared>)> {
    let names = Names::new(analysis);
    let mention = names.at(offset)?;
    let places = match mention.name {
        Name::File(path) => file_of(world, analysis, path).into_iter().collect(),
        Name::Part(part) => declared_here(&names, mention.name)
            .or_else(|| Some(vec![world.part(analysis, part)?.place]))
            .unwrap_or_default(),
        // What the thing says anew holds before what its part says.
        Name::Inner { .. } if mention.declares => vec![here(analysis, mention.range)],
        Name::Inner { key, name, .. } => {
            let thing = mention.of.map(|id| analysis.office.thing(id));
            let field = thing.and_then(|thing| thing.named(key).find(|(own, ..)| *own == name));
            field.map(|(_, place, _)| place).into_iter().collect()
        }
        Name::Thing(_) => declared_here(&names, mention.name).unwrap_or_default(),
        Name::Rule(_) => Vec::new(),
    };
    Some((mention.range, targets(world, analysis, &places)))
}

/// The name at an offset and the part that the thing it names is of.
pub fn type_definition(world: &mut World, analysis: &Analysis, offset: u32) -> Option<(TextRange, Vec<Declared>)> {
    let names = Names::new(analysis);
    let mention = names.at(offset)?;
    let thing = match mention.name {
        Name::Part(_) => return definition(world, analysis, offset),
        Name::Thing(name) => names.thing(name),
        Name::Inner { .. } => mention.of,
        Name::File(_) | Name::Rule(_) => None,
    };
    let part = thing
        .and_then(|id| analysis.office.thing(id).part.as_ref())
        .map(|part| part.place);
    let places: Vec<Place> = part.into_iter().collect();
    Some((mention.range, targets(world, analysis, &places)))
}

/// Where what is named at an offset is named, in its own file and wherever else it is known, its own file first.
pub fn references(world: &mut World, analysis: &Arc<Analysis>, offset: u32) -> Vec<Mentioned> {
    let names = Names::new(analysis);
    let Some(mention) = names.at(offset) else {
        return Vec::new();
    };
    let mut references = vec![mentioned(&names, mention.name)];
    for other in relatives(world, analysis, mention) {
        references.push(mentioned(&Names::new(&other), mention.name));
    }
    references.retain(|mentioned| !mentioned.places.is_empty());
    references
}

/// The other files that may name what is named here, and that mean the same by it.
pub(crate) fn relatives(world: &mut World, analysis: &Arc<Analysis>, mention: Mention<'_>) -> Vec<Arc<Analysis>> {
    let (files, home) = match mention.name {
        Name::File(path) => {
            let Some(used) = world.used(analysis.file, path) else {
                return Vec::new();
            };
            (world.users_of(used), None)
        }
        name => {
            let part = name.part().and_then(|part| world.part(analysis, part));
            let Some(part) = part else { return Vec::new() };
            (world.family(part.place.file), Some((part.place, part)))
        }
    };
    let mut relatives = Vec::new();
    for file in files {
        if file == analysis.file || !world.holds(file, mention.name.word()) {
            continue;
        }
        let Some(other) = world.glance(file) else { continue };
        let same = home.as_ref().is_none_or(|(place, part)| {
            world
                .part(&other, &part.name)
                .is_some_and(|known| known.place == *place)
        });
        if same {
            relatives.push(other);
        }
    }
    relatives
}

/// Where the name at an offset stands in its file, and whether it is declared there.
pub fn highlights(analysis: &Analysis, offset: u32) -> Vec<(TextRange, bool)> {
    let names = Names::new(analysis);
    let mention = names.at(offset);
    mention.map_or_else(Vec::new, |mention| mentioned(&names, mention.name).places)
}

fn mentioned(names: &Names<'_>, name: Name<'_>) -> Mentioned {
    let mentions = names.mentions(name).into_iter();
    Mentioned {
        file: names.analysis().file,
        places: mentions.map(|mention| (mention.range, mention.declares)).collect(),
    }
}

fn declared_here(names: &Names<'_>, name: Name<'_>) -> Option<Vec<Place>> {
    let mut mentions = names.mentions(name);
    mentions.retain(|mention| mention.declares);
    let places: Vec<Place> = mentions
        .iter()
        .map(|mention| here(names.analysis(), mention.range))
        .collect();
    (!places.is_empty()).then_some(places)
}

fn here(analysis: &Analysis, range: TextRange) -> Place {
    Place {
        file: analysis.file,
        range,
    }
}

fn file_of(world: &World, analysis: &Analysis, path: &str) -> Option<Place> {
    Some(Place {
        file: world.used(analysis.file, path)?,
        range: TextRange::default(),
    })
}

fn targets(world: &mut World, analysis: &Analysis, places: &[Place]) -> Vec<Declared> {
    let target = |place: &Place| {
        let whole = if place.file == analysis.file {
            statement_around(analysis, place.range)
        } else {
            let other = world.glance(place.file)?;
            statement_around(&other, place.range)
        };
        Some(Declared { place: *place, whole })
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
