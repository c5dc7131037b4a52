//! An office at an earlier revision and its changes since, as the basis of a work order.

use std::path::Path;
use std::sync::Arc;

use drysheath_office::kinds::Key;
use drysheath_office::{Fields, Office};
use drysheath_workspace::{Analysis, Snapshot, Texts, Workspace};
use rayon::prelude::*;
use rustc_hash::FxHashMap;

use super::changes::{OfficeState, changes};
use super::matching::Matching;
use super::record::ChangeRecord;
use super::states::Version;
use crate::matching::{OfficeNames, Unmatched};

/// An office of an earlier revision.
pub struct EarlierOffice {
    /// Index of the present office that it corresponds to. `None` if it was removed.
    pub now: Option<usize>,
    /// The analysis of the office at that revision.
    pub analysis: Analysis,
    /// Earlier and present name of each of its things that still exists.
    pub names: Vec<(String, String)>,
    /// The changes from it to the present office.
    pub changes: Vec<ChangeRecord>,
}

/// The offices of a revision at some paths, and the reasons why others could not be read. `now` lists the present
/// offices in the tree of the revision, with their paths from its top. Offices and things are matched as in a
/// comparison of two states.
pub fn earlier_offices(
    version: Version,
    workspace: &Workspace,
    texts: &Texts,
    now: &[(String, &Analysis)],
    is_wanted: impl Fn(&str) -> bool,
) -> (Vec<EarlierOffice>, Vec<String>) {
    let files = Arc::new(version.files);
    let mut workspace = workspace.beside(files.clone());
    workspace.set_folders(vec![Path::new("").to_owned()]);
    let snapshot = workspace.snapshot();
    let numbers = files.files().map(|(path, _)| snapshot.file(Path::new(path)));
    let texts = snapshot.texts(numbers, &FxHashMap::default()).and(texts.clone());
    let wanted: Vec<&str> = files
        .offices()
        .map(|(path, _)| path)
        .filter(|path| is_wanted(path))
        .collect();
    let read: Vec<_> = wanted.par_iter().filter_map(|path| analysed(path, &snapshot)).collect();
    let (mut before, mut troubles) = (Vec::new(), Vec::new());
    for office in read {
        match office {
            Ok(office) => before.push(office),
            Err(why) => troubles.push(why),
        }
    }
    let mut unmatched = Unmatched {
        before: (0..before.len()).collect(),
        after: (0..now.len()).collect(),
    };
    let pairs = unmatched.pair_offices(
        |at| {
            before
                .get(at)
                .map(|(path, analysis): &(&str, Analysis)| names(path, analysis.present()))
        },
        |at| now.get(at).map(|(path, analysis)| names(path, analysis.present())),
    );
    let pairs: FxHashMap<usize, usize> = pairs.into_iter().collect();
    let compared = before.into_par_iter().enumerate().map(|(at, (_, analysis))| {
        let pair = pairs.get(&at).copied();
        match pair.and_then(|pair| Some((pair, now.get(pair)?.1))) {
            Some((pair, after)) => against(analysis, pair, after, &texts),
            None => EarlierOffice {
                now: None,
                analysis,
                names: Vec::new(),
                changes: Vec::new(),
            },
        }
    });
    (compared.collect(), troubles)
}

/// Analyses a file of the revision. `None` for a file of parts.
fn analysed<'p>(path: &'p str, snapshot: &Snapshot) -> Option<Result<(&'p str, Analysis), String>> {
    let failed = |why: &str| Some(Err(format!("{path}, as it was: {why}")));
    let reading = match snapshot.read(snapshot.file(Path::new(path))) {
        Ok(reading) => reading?,
        Err(why) => return failed(&why),
    };
    if let Some(problem) = reading.problem {
        return failed(&problem.message);
    }
    reading.office.itself?;
    Some(Ok((path, reading.analyse())))
}

fn names<'o>(path: &'o str, office: &'o Office) -> OfficeNames<'o> {
    let itself = office.itself.map(|id| office.thing(id));
    OfficeNames {
        path,
        site: itself.and_then(|office| office.text(Key::Site)),
        name: office.itself.map_or("", |id| office.name(id)),
        former_name: itself.and_then(|office| Some(office.former_names().next()?.0)),
    }
}

fn against(analysis: Analysis, pair: usize, after: &Analysis, texts: &Texts) -> EarlierOffice {
    let (base, head) = (analysis.present(), after.present());
    let matching = Matching::new(base, head, texts);
    let found = changes(
        OfficeState {
            office: base,
            networks: &analysis.networks,
            lines: &analysis.lines,
        },
        OfficeState {
            office: head,
            networks: &after.networks,
            lines: &after.lines,
        },
        &matching,
        texts,
    );
    let names = base.things().filter_map(|(id, _)| {
        let now = matching.head_of(id)?;
        Some((base.name(id).to_owned(), head.name(now).to_owned()))
    });
    EarlierOffice {
        now: Some(pair),
        names: names.collect(),
        changes: found,
        analysis,
    }
}
