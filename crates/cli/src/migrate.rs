//! Updates a repository to the current language: edits in place, verified before anything is written.

mod proof;

use std::collections::BTreeMap;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use drysheath_disk::{SETTINGS, find, settings_above};
use drysheath_office::kinds::{LANGUAGE, Successor};
use drysheath_office::{Office, ProblemId, Spanned};
use drysheath_rules::{Settings, renamed};
use drysheath_syntax::{Problem, formatted};
use drysheath_text::{Edit, Encoding, LineIndex, Place, TextRange, apply};
use drysheath_workspace::{Content, Memory, Snapshot, Workspace};

use crate::arguments::MigrateArguments;
use crate::changes::{Change, shown, written};
use crate::outcome::Outcome;
use crate::standard_streams::{print, print_error};
use crate::today::today;
use crate::versions;

/// The files after the migration, and the obstacles to it.
struct Plan {
    after: Memory,
    troubles: Vec<String>,
}

/// Migrates the repository that contains a folder, or all repositories in it.
pub(crate) fn run(arguments: &MigrateArguments) -> io::Result<Outcome> {
    let folder = &arguments.folder;
    if !folder.is_dir() {
        return Err(io::Error::other(format!(
            "{}: there is no such folder",
            folder.display()
        )));
    }
    let top = settings_above(folder).pop().unwrap_or_else(|| folder.clone());
    let mut troubles = Vec::new();
    let before = versions::folder(&top, &mut troubles);
    if troubles.is_empty() && !before.files().any(|(path, _)| is_settings(path)) {
        return Err(io::Error::other(format!(
            "{}: there is no {SETTINGS} in it or above it, and files outside of any repository need no number",
            folder.display()
        )));
    }
    let plan = if troubles.is_empty() {
        plan(&before)
    } else {
        Plan {
            after: before.clone(),
            troubles,
        }
    };
    let mut troubles = plan.troubles;
    if troubles.is_empty() {
        troubles = proof::moved(&before, &plan.after, today(None));
    }
    if !troubles.is_empty() {
        for trouble in &troubles {
            print_error(trouble);
        }
        print_error("nothing was changed");
        return Ok(Outcome::Failed);
    }
    finish(arguments, changes(&top, &before, &plan.after))
}

/// Shows the changes or writes them. The language number is written last, so that an interrupted run can simply be
/// repeated.
fn finish(arguments: &MigrateArguments, (offices, settings): (Vec<Change>, Vec<Change>)) -> io::Result<Outcome> {
    if arguments.check || arguments.diff {
        let all: Vec<Change> = settings.into_iter().chain(offices).collect();
        print(shown(&all, arguments.diff).as_bytes())?;
        return Ok(if all.is_empty() {
            Outcome::Clean
        } else {
            Outcome::Results
        });
    }
    let mut done = written(&offices);
    if done.troubles.is_empty() {
        let numbers = written(&settings);
        done.rendered.push_str(&numbers.rendered);
        done.troubles.extend(numbers.troubles);
        done.lost.extend(numbers.lost);
    }
    let was_printed = print(done.rendered.as_bytes());
    for trouble in &done.troubles {
        print_error(format_args!("cannot be written: {trouble}"));
    }
    if !done.troubles.is_empty() {
        print_error("every file that was written is whole; correct this and run `drysheath migrate` again");
    }
    done.lost.iter().for_each(print_error);
    was_printed?;
    Ok(if done.troubles.is_empty() {
        Outcome::Clean
    } else {
        Outcome::Failed
    })
}

fn is_settings(path: &str) -> bool {
    Path::new(path).file_name().is_some_and(|name| name == SETTINGS)
}

/// Replaces outdated words, turns runs to follow their arrows, and updates the language numbers.
fn plan(before: &Memory) -> Plan {
    let mut plan = Plan {
        after: before.clone(),
        troubles: Vec::new(),
    };
    let mut workspace = Workspace::new(Arc::new(before.clone()), today(None));
    workspace.set_folders(vec![PathBuf::new()]);
    let snapshot = workspace.snapshot();
    for (path, content) in before.files().filter(|(path, _)| is_settings(path)) {
        let repository = snapshot.repository_in(Path::new(path).parent().unwrap_or(Path::new("")));
        if let Some(why) = repository.settings.too_new() {
            plan.troubles.push(format!("{path}: {why}"));
        } else if repository.above.is_none() || Settings::says_language(&content.text) {
            match Settings::with_language(&content.text) {
                Some(text) if repository.settings.language() < LANGUAGE => plan.put(path, text),
                Some(_) => {}
                None => plan.troubles.push(format!(
                    "{path}: no language number can be read or written here: correct this file by hand"
                )),
            }
        }
    }
    if !plan.troubles.is_empty() {
        return plan;
    }
    let users = part_fields_in_use(before, &snapshot);
    for (path, content) in before.offices() {
        if let Some(problem) = &content.problem {
            plan.troubles.push(format!("{path}: {}", problem.message));
            continue;
        }
        match snapshot.read(snapshot.file(Path::new(path))) {
            Ok(Some(lowered)) => {
                let text = understood(&lowered.office, &users).and_then(|()| current_text(&lowered.office));
                match text {
                    Ok(Some(text)) => plan.put(path, text),
                    Ok(None) => {}
                    Err(why) => plan.troubles.push(format!("{path}{why}")),
                }
            }
            Ok(None) => plan.troubles.push(format!("{path}: it no longer exists")),
            Err(why) => plan.troubles.push(format!("{path}: {why}")),
        }
    }
    plan
}

/// Places of removed fields in parts that an office of the repository uses. In those offices a statement replaces the
/// field.
fn part_fields_in_use(before: &Memory, snapshot: &Snapshot) -> Vec<Place> {
    let read = |path| snapshot.read(snapshot.file(Path::new(path))).ok().flatten();
    let offices = before.offices().filter_map(|(path, _)| read(path));
    let outdated = |problem: &Problem<ProblemId>| {
        let related = problem.related.iter().map(|related| related.place);
        (problem.id == ProblemId::WordOutdated).then(|| related.collect::<Vec<_>>())
    };
    offices
        .flat_map(|lowered| lowered.office.problems.iter().filter_map(outdated).collect::<Vec<_>>())
        .flatten()
        .collect()
}

/// Fails, with the line to correct first, if something in the file is not understood and an edit could lose it.
fn understood(office: &Office, in_use: &[Place]) -> Result<(), String> {
    const HARMLESS: [ProblemId; 5] = [
        ProblemId::CharacterPasted,
        ProblemId::FieldMissing,
        ProblemId::GroundNotToBar,
        ProblemId::RunBackwards,
        ProblemId::WordOutdated,
    ];
    if let Some(problem) = office.problems.iter().find(|problem| !HARMLESS.contains(&problem.id)) {
        let (line, message) = (line(office, problem.range), &problem.message);
        return Err(format!(":{line}: {message}: correct this first"));
    }
    let fields = office.parts.iter().flat_map(|part| &part.fields);
    let mut by_statement = fields.filter(|field| {
        let successor = field.spec.gone.map(|gone| gone.successor);
        matches!(successor, Some(Successor::Spare(_)))
    });
    match by_statement.find(|field| field.place.file == office.file && !in_use.contains(&field.place)) {
        None => Ok(()),
        Some(field) => Err(format!(
            ":{}: no office of this repository uses the part with this `{}`, so nothing can take its place: write the `spare` \
             statements where the part is used, and take it out by hand",
            line(office, field.place.range),
            field.spec.word()
        )),
    }
}

fn line(office: &Office, range: TextRange) -> u32 {
    LineIndex::new(&office.text)
        .position(&office.text, range.start, Encoding::Utf8)
        .line
        + 1
}

impl Plan {
    fn put(&mut self, path: &str, text: String) {
        let content = Content {
            text: text.into(),
            problem: None,
        };
        self.after.insert(path.to_owned(), content);
    }
}

/// Text of the file in the current language, if it differs. Fails, with the line, if something must be corrected by
/// hand.
fn current_text(office: &Office) -> Result<Option<String>, String> {
    let mut edits: Vec<Edit> = Vec::new();
    for problem in &office.problems {
        if !matches!(problem.id, ProblemId::WordOutdated | ProblemId::RunBackwards) {
            continue;
        }
        let Some(fix) = &problem.fix else {
            let line = line(office, problem.range);
            return Err(format!(":{line}: {}: correct it by hand", problem.message));
        };
        edits.extend(fix.edits.iter().cloned());
    }
    for acceptance in &office.acceptances {
        let Spanned { range, value } = &acceptance.rule;
        edits.extend(renamed(value).map(|rule| Edit {
            range: *range,
            replacement: rule.name().to_owned(),
        }));
    }
    if edits.is_empty() {
        return Ok(None);
    }
    // A formatted file stays formatted.
    let was_formatted = formatted(&office.text) == *office.text;
    if !was_formatted {
        keep_columns(&office.text, &mut edits);
    }
    let Some(text) = apply(&office.text, &edits) else {
        return Err(": two changes fall on the same words: correct one of them by hand".to_owned());
    };
    Ok(Some(if was_formatted { formatted(&text) } else { text }))
}

/// A gap of several blanks in a line, and the old and new length of the replaced text right before it.
struct Gap {
    blanks: usize,
    was: usize,
    is: usize,
}

/// Lengthens or shortens the gap of several blanks after replaced words, so that the text after it stays in its column.
fn keep_columns(text: &str, edits: &mut Vec<Edit>) {
    let mut gaps: BTreeMap<u32, Gap> = BTreeMap::new();
    for edit in edits.iter() {
        let before = edit.range.of(text);
        if before.contains('\n') || edit.replacement.contains('\n') || edit.replacement.is_empty() {
            continue;
        }
        let Some((start, blanks)) = gap_behind(text, edit.range.end) else {
            continue;
        };
        let gap = gaps.entry(start).or_insert(Gap { blanks, was: 0, is: 0 });
        gap.was += before.chars().count();
        gap.is += edit.replacement.chars().count();
    }
    let is_free = |start: &u32| {
        !edits
            .iter()
            .any(|edit| edit.range.start < *start && *start < edit.range.end)
    };
    let kept: Vec<Edit> = gaps
        .into_iter()
        .filter(|(start, gap)| gap.was != gap.is && is_free(start))
        .map(|(start, gap)| Edit {
            range: TextRange::new(start, start + gap.blanks as u32),
            replacement: " ".repeat((gap.blanks + gap.was).saturating_sub(gap.is).max(1)),
        })
        .collect();
    edits.extend(kept);
}

/// Start of the next gap of several blanks in a line that has text after it, and its length.
fn gap_behind(text: &str, from: u32) -> Option<(u32, usize)> {
    let line = text.get(from as usize..)?.lines().next()?.trim_end();
    let at = line.find("  ")?;
    let gap = line.get(at..)?;
    Some((from + at as u32, gap.len() - gap.trim_start_matches(' ').len()))
}

/// Files to replace: offices and parts, and settings. A link is skipped in favour of its target, unless the target has
/// another extension and is only read through the link.
fn changes(top: &Path, before: &Memory, after: &Memory) -> (Vec<Change>, Vec<Change>) {
    let links: Vec<PathBuf> = find(&[top.to_owned()])
        .links
        .into_iter()
        .filter_map(|(link, file)| (link != file).then_some(link))
        .collect();
    let mut all = Vec::new();
    for (path, content) in after.files() {
        let was = before.get(path).filter(|was| was.text != content.text);
        let place = top.strip_prefix(".").unwrap_or(top).join(path);
        if let Some(was) = was.filter(|_| !links.contains(&place)) {
            all.push(Change {
                before: was.text.to_string(),
                after: content.text.to_string(),
                path: place,
            });
        }
    }
    let is_office = |change: &Change| change.path.file_name().is_none_or(|name| name != SETTINGS);
    all.into_iter().partition(is_office)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_follows_a_gap_stays_in_its_column() {
        let replaced = |text: &str, from: &str, to: &str| {
            let start = text.find(from).unwrap_or_default() as u32;
            let mut edits = vec![Edit {
                range: TextRange::new(start, start + from.len() as u32),
                replacement: to.to_owned(),
            }];
            keep_columns(text, &mut edits);
            apply(text, &edits).unwrap_or_default()
        };
        assert_eq!(
            replaced("limit          30 A\n", "limit", "current-max"),
            "current-max    30 A\n"
        );
        assert_eq!(replaced("limit  30 A\n", "limit", "current-max"), "current-max 30 A\n");
        assert_eq!(replaced("current  3 A\n", "current", "draws"), "draws    3 A\n");
        assert_eq!(
            replaced("{ limit 30 A,        x }", "limit", "current-max"),
            "{ current-max 30 A,  x }"
        );
        // A single blank does not align a column, and trailing blanks align nothing.
        assert_eq!(replaced("limit 30 A\n", "limit", "current-max"), "current-max 30 A\n");
        assert_eq!(replaced("limit  \n", "limit", "current-max"), "current-max  \n");
    }
}
