//! Renames all occurrences of a name.
//!
//! First, the files are read as they would be after the change: their meaning must be the same apart from the name. A
//! file that does not contain the new name cannot confuse it with something else, and is not read again.

use std::sync::Arc;

use drysheath_office::kinds::{Key, Stage};
use drysheath_office::{Field, Fields, Office, Thing};
use drysheath_rules::{Finding, RuleId};
use drysheath_syntax::{TokenKind, Tree, lex};
use drysheath_text::{Edit, Encoding, FileId, LineIndex, Place, TextRange, apply};
use drysheath_workspace::{Analysis, Snapshot};
use rustc_hash::FxHashMap;

use crate::names::{Mention, Name, Owner, mentions_of, name_at};
use crate::navigation::{FileMentions, RelatedFile, contains, mentioned, related_files};
use crate::new_field::new_field;

/// The range of the name at an offset, if it can be renamed.
pub fn prepare(analysis: &Analysis, offset: u32) -> Option<TextRange> {
    let mention = name_at(analysis, offset)?;
    let refused = why_not_here(mention.name).or_else(|| why_not(&analysis.office, &analysis.tree, mention.name));
    let is_declared = || {
        mentions_of(&analysis.office, &analysis.tree, mention.name)
            .iter()
            .any(|other| other.declares)
    };
    let unknown = matches!(mention.name, Name::Thing(_)) && !is_declared();
    (refused.is_none() && !unknown).then_some(mention.range)
}

/// The edits that rename the name at an offset to `to`, file by file.
///
/// # Errors
///
/// A message if the name cannot be changed or the new one is not suitable.
pub fn rename(
    snapshot: &Snapshot,
    analysis: &Arc<Analysis>,
    offset: u32,
    to: &str,
) -> Result<Vec<(FileId, Vec<Edit>)>, String> {
    let Some(mention) = name_at(analysis, offset) else {
        return Err("there is no name here that could be changed".to_owned());
    };
    if let Some(why) = why_not_here(mention.name).or_else(|| why_not_word(to)) {
        return Err(why);
    }
    if mention.name.word() == to {
        return Ok(Vec::new());
    }
    if let Some(why) = why_not(&analysis.office, &analysis.tree, mention.name) {
        return Err(why);
    }
    let relatives = related_files(snapshot, analysis, mention);
    for relative in &relatives {
        // A file understood without reading contains no unreadable text.
        if let RelatedFile::Read(file) = relative
            && let Some(why) = why_not(&file.office, &file.tree, mention.name)
        {
            return Err(in_file(snapshot, file.file, analysis, why));
        }
    }
    let own = mentioned(analysis, mention.name);
    let others = relatives.iter().map(|relative| relative.mentioned(mention.name));
    let places: Vec<FileMentions> = std::iter::once(own).chain(others).collect();
    declared_once(snapshot, analysis, &places, mention)?;
    free(snapshot, analysis, &relatives, mention, to)?;
    // A file may use the word for something else.
    let named = places.iter().filter(|mentioned| !mentioned.places.is_empty());
    let mut edits: Vec<(FileId, Vec<Edit>)> = named.map(|mentioned| (mentioned.file, edits(mentioned, to))).collect();
    if let (Name::Thing(was), Some((_, own))) = (mention.name, edits.first_mut()) {
        own.extend(former_name(analysis, was, to));
        own.sort_by_key(|edit| edit.range);
    }
    let files = in_doubt(snapshot, analysis, &relatives, mention, to);
    means_the_same(snapshot, analysis, &files, &edits, to)?;
    Ok(edits)
}

/// Why a name cannot be changed by editing offices.
fn why_not_here(name: Name<'_>) -> Option<String> {
    match name {
        Name::File(path) => Some(format!(
            "`{path}` is a file: rename it on the disk, and then the `use` lines that name it"
        )),
        Name::Rule(rule) => Some(format!(
            "`{rule}` is the name of a rule, and every office knows it by that"
        )),
        _ => None,
    }
}

fn why_not_word(to: &str) -> Option<String> {
    match lex(to).as_slice() {
        [word] if word.kind == TokenKind::Word => None,
        [word] if word.kind.is_keyword() => Some(format!("`{to}` is a word of the language and can be no name")),
        _ => Some(format!(
            "`{to}` is no name: a name is letters, digits, `-` and `_`, starts with a letter and does not end in `-`"
        )),
    }
}

/// Why a name cannot be changed in one of its files: a statement that contains it cannot be read.
fn why_not(office: &Office, tree: &Tree, name: Name<'_>) -> Option<String> {
    let word = name.word();
    let damaged = tree.statements.iter().find(|statement| {
        let items = tree.items(statement.items);
        let says = |word: &str| items.iter().any(|token| token.range.of(&office.text) == word);
        let about = match name {
            Name::Inner { owner, .. } => match owner {
                Owner::Thing(owner) | Owner::Part(owner) => says(owner),
                Owner::Field(place) => statement.range.contains(place),
            },
            _ => true,
        };
        statement.damaged && about && says(word)
    })?;
    let lines = LineIndex::new(office.own_text());
    let line = lines
        .position(office.own_text(), damaged.range.start, Encoding::Utf8)
        .line
        + 1;
    Some(format!(
        "line {line} has `{word}` in it and cannot be read: put that right first"
    ))
}

fn in_file(snapshot: &Snapshot, file: FileId, here: &Analysis, why: String) -> String {
    if file == here.file {
        why
    } else {
        format!("{}.office: {why}", snapshot.name(file))
    }
}

fn declared_once(
    snapshot: &Snapshot,
    here: &Analysis,
    places: &[FileMentions],
    mention: Mention<'_>,
) -> Result<(), String> {
    let name = mention.name;
    let places = places.iter().flat_map(|mentioned| &mentioned.places);
    let times = places.filter(|(_, declares)| *declares).count();
    let is_of_part = name.part().is_some_and(|part| snapshot.part(here, part).is_some());
    // Any thing with a part may override a field of the part.
    let may_repeat = matches!(name, Name::Inner { .. }) && is_of_part;
    match times {
        0 if !is_of_part => Err(format!(
            "`{}` is not declared, so that it is not clear what it means",
            name.word()
        )),
        2.. if !may_repeat => Err(format!(
            "`{}` is declared {times} times, so that it is not clear which is meant",
            name.word()
        )),
        _ => Ok(()),
    }
}

/// Checks that a new name is free in all files that know the old one.
fn free(
    snapshot: &Snapshot,
    here: &Analysis,
    relatives: &[RelatedFile],
    mention: Mention<'_>,
    to: &str,
) -> Result<(), String> {
    let is_taken_in = |office: &Office, tree: &Tree, part: &dyn Fn() -> bool| match mention.name {
        Name::Thing(_) => !mentions_of(office, tree, Name::Thing(to)).is_empty(),
        Name::Within { .. } => office.drawing.is_some() && office.named(to).is_some(),
        Name::Part(_) => part(),
        Name::Inner { owner, key, .. } => has_inner(office, owner, key, to),
        Name::File(_) | Name::Rule(_) => false,
    };
    let taken = |file| {
        let why = format!("the name `{to}` is already taken");
        Err(in_file(snapshot, file, here, why))
    };
    let known_here = || snapshot.part(here, to).is_some();
    if is_taken_in(&here.office, &here.tree, &known_here) {
        return taken(here.file);
    }
    let is_declared = matches!(mention.name, Name::Part(_)) && snapshot.declares_part(to);
    for relative in relatives {
        let is_taken = match relative {
            RelatedFile::Read(file) => {
                let known = || snapshot.part_known_to(file, to).is_some();
                is_taken_in(&file.office, &file.tree, &known)
            }
            // The file uses parts and declares none. If no other file declares one with that name, it knows none.
            RelatedFile::Takes(file, _) => {
                let read = || snapshot.read(*file).ok().flatten();
                is_declared && read().is_some_and(|file| snapshot.part_known_to(&file, to).is_some())
            }
        };
        if is_taken {
            return taken(relative.file());
        }
    }
    Ok(())
}

/// Whether an owner, or a thing that uses the part, has a named field with that name.
fn has_inner(office: &Office, owner: Owner<'_>, key: Key, to: &str) -> bool {
    let has = |fields: &[Field]| fields.named(key).any(|(name, ..)| name == to);
    let is_owner = |thing: &Thing| match owner {
        Owner::Thing(name) => thing.name.of(&office.text) == name,
        Owner::Part(name) => thing.parts().any(|part| *part.name == *name),
        // Duplicates within a field are found when the file is read again.
        Owner::Field(_) => false,
    };
    let parts = office.parts.iter();
    office.things.iter().any(|thing| is_owner(thing) && has(&thing.fields))
        || parts
            .filter(|part| owner == Owner::Part(&part.name))
            .any(|part| has(&part.fields))
}

fn edits(mentioned: &FileMentions, to: &str) -> Vec<Edit> {
    let edit = |(range, _): &(TextRange, bool)| Edit {
        range: *range,
        replacement: to.to_owned(),
    };
    mentioned.places.iter().map(edit).collect()
}

/// Adds the former name of a thing, so that the office's records follow it. Before the office is installed nobody knows
/// a thing by its name. If a thing gets a former name back, its present name becomes the former one.
fn former_name(analysis: &Analysis, was: &str, to: &str) -> Option<Edit> {
    let office = &analysis.office;
    let id = office.named(was).filter(|id| office.itself != Some(*id))?;
    let stated = office.thing(office.itself?).choice::<Stage>(Key::Stage)?;
    if stated == Stage::Planned {
        return None;
    }
    let thing = office.thing(id);
    let again = thing.former_names().find(|(name, _)| *name == to);
    if let Some((name, place)) = again {
        let end = place.range.end;
        return Some(Edit {
            range: TextRange::new(end - name.len() as u32, end),
            replacement: was.to_owned(),
        });
    }
    let mut statements = analysis.tree.statements.iter();
    let statement = statements.find(|statement| statement.range == thing.range)?;
    new_field(analysis, statement, Key::Formerly.word(), was)
}

/// The files that might confuse the new name with something else: those that already contain it, with or without the
/// old one. The file at hand and the part's own are always included.
fn in_doubt(
    snapshot: &Snapshot,
    here: &Arc<Analysis>,
    relatives: &[RelatedFile],
    mention: Mention<'_>,
    to: &str,
) -> Vec<Arc<Analysis>> {
    let part = mention.name.part();
    let home = part.and_then(|part| Some(snapshot.part(here, part)?.place.file));
    let known = home.map_or_else(Vec::new, |home| snapshot.with_users(home));
    let mut others: Vec<FileId> = relatives.iter().map(RelatedFile::file).chain(known).collect();
    others.sort_unstable();
    others.dedup();
    others.retain(|file| *file != here.file && (Some(*file) == home || contains(snapshot, *file, to)));
    let others = others.into_iter().filter_map(|file| snapshot.analyse(file));
    std::iter::once(Arc::clone(here)).chain(others).collect()
}

/// Whether all files have the same meaning after the edits.
fn means_the_same(
    snapshot: &Snapshot,
    here: &Analysis,
    files: &[Arc<Analysis>],
    edits: &[(FileId, Vec<Edit>)],
    to: &str,
) -> Result<(), String> {
    let moved = Moved(edits.iter().map(|(file, edits)| (*file, edits.as_slice())).collect());
    let mut texts = Vec::with_capacity(files.len());
    for file in files {
        let Some(text) = apply(&file.text, moved.edits(file.file)) else {
            return Err("the places of the name overlap".to_owned());
        };
        texts.push((file.file, text.into()));
    }
    let renamed = snapshot.with_texts(texts);
    for before in files {
        let Some(after) = renamed.analyse(before.file) else {
            continue;
        };
        let why = if let Some(new) = new_finding(before, &after, &moved) {
            format!("with the name `{to}` there is something new: {}", new.message)
        } else if count_kept(before) != count_kept(&after) || !is_joined_as(before, &after, &moved) {
            format!("with the name `{to}` something else is meant")
        } else {
            continue;
        };
        return Err(in_file(snapshot, before.file, here, why));
    }
    Ok(())
}

/// Number of results that must be preserved. Results on the old name itself may disappear.
fn count_kept(analysis: &Analysis) -> usize {
    const ABOUT_NAMES: [RuleId; 4] = [
        RuleId::NamesAlike,
        RuleId::NameMalformed,
        RuleId::NameIsWord,
        RuleId::OfficeNameTwice,
    ];
    let is_kept = |finding: &&Finding| !ABOUT_NAMES.contains(&finding.rule.id);
    analysis.findings().iter().filter(is_kept).count()
}

/// A result of `after` that is not in `before`.
fn new_finding<'f>(before: &Analysis, after: &'f Analysis, moved: &Moved<'_>) -> Option<&'f Finding> {
    // A thing with an added former name may end later.
    let key = |finding: &Finding, place: Place| {
        let at = (place.file, place.range.start);
        (at, finding.rule.id, finding.level, finding.accepted.is_some())
    };
    let known = before.findings().iter();
    let mut known: Vec<_> = known.map(|finding| key(finding, moved.place(finding.place))).collect();
    after.findings().iter().find(|finding| {
        let wanted = key(finding, finding.place);
        let at = known.iter().position(|known| *known == wanted);
        at.map(|at| known.swap_remove(at)).is_none()
    })
}

/// Whether things use the same parts and runs end at the same things.
fn is_joined_as(before: &Analysis, after: &Analysis, moved: &Moved<'_>) -> bool {
    let (one, other) = (&before.office, &after.office);
    let parts = |office: &Office| -> Vec<Vec<Place>> {
        let of = |thing: &Thing| thing.parts().map(|part| part.place).collect();
        office.things.iter().map(of).collect()
    };
    let mut before = parts(one);
    for place in before.iter_mut().flatten() {
        *place = moved.place(*place);
    }
    let ends = |office: &Office| -> Vec<_> {
        let ends = office.runs.iter().flat_map(|run| &run.ends);
        ends.map(|end| (end.thing, end.port.map(|port| port.word), end.numbers))
            .collect()
    };
    before == parts(other) && ends(one) == ends(other)
}

/// Maps places of the files to their positions after the edits.
struct Moved<'e>(FxHashMap<FileId, &'e [Edit]>);

impl Moved<'_> {
    fn edits(&self, file: FileId) -> &[Edit] {
        self.0.get(&file).copied().unwrap_or_default()
    }

    fn place(&self, place: Place) -> Place {
        let edits = self.edits(place.file);
        let offset = |offset: u32| {
            let before = edits.iter().take_while(|edit| edit.range.end <= offset);
            before.fold(offset, |at, edit| {
                (at + edit.replacement.len() as u32).saturating_sub(edit.range.len())
            })
        };
        Place {
            file: place.file,
            range: TextRange::new(offset(place.range.start), offset(place.range.end)),
        }
    }
}
