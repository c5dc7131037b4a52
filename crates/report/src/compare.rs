//! Compares two states of a repository: not lines of text but changes as the trade names them, with their effect on
//! predictions, and the results that are new or gone.
//!
//! All files are read, since the rules across files need a summary of each. Only files that can differ are analysed: by
//! their own text, by what they use, or by their settings.

mod brief;
mod changes;
mod curves;
mod earlier;
mod fields;
mod figures;
mod groups;
mod headline;
mod known;
mod margins;
mod markdown;
mod matching;
mod names;
mod pair;
mod parts;
mod plan;
pub mod record;
mod result_comparer;
mod states;
mod text;
mod whole;
mod wording;

use drysheath_office::Date;
use drysheath_workspace::Texts;

use known::NothingKnown;
use pair::{Compared, Comparer};
use parts::PartChanges;
use plan::{Pair, PathStates, pairs, survey};
use rayon::prelude::*;
use record::{FORM, ResultsRecord, SummaryRecord, VersionRecord};
use states::States;
use whole::{across, settings, summary};

pub use brief::BriefTable;
pub use earlier::{EarlierOffice, earlier_offices};
pub use groups::ResultGroup;
pub use known::{KnownFile, KnownFiles};
pub(crate) use matching::Matching;
pub use record::{ChangeRecord, Comparison, Deed, Of, comparison_schema};
pub use states::Version;

/// Compares two states. `today` decides which acceptances have expired, in both. `with_curves` keeps the pressure along
/// each line that changed, for drawings.
pub fn compare(base: Version, head: Version, today: Date, with_curves: bool) -> Comparison {
    compare_knowing(base, head, today, &NothingKnown, with_curves)
}

/// As [`compare`], with files that may be known from earlier runs.
pub fn compare_knowing(
    base: Version,
    head: Version,
    today: Date,
    known: &dyn KnownFiles,
    with_curves: bool,
) -> Comparison {
    let versions = (version_record(&base), version_record(&head));
    let states = States::new(base.files, head.files, today);
    let too_new = states.too_new();
    if !too_new.is_empty() {
        return Comparison {
            form: FORM,
            base: versions.0,
            head: versions.1,
            summary: SummaryRecord::default(),
            settings: Vec::new(),
            parts_files: Vec::new(),
            offices: Vec::new(),
            across_files: ResultsRecord::default(),
            left_out: Vec::new(),
            troubles: too_new,
        };
    }
    let paths_in_both = survey(&states, known);
    let mut pairs = pairs(&paths_in_both, &states.texts);
    let mut part_changes = part_changes(&paths_in_both, &pairs, &states.texts);
    pairs.retain(|pair| {
        let file = pair
            .head
            .filter(|_| pair.base == pair.head)
            .and_then(|at| paths_in_both.get(at));
        !file.is_some_and(|file| file.is_out_of_reach(|part| part_changes.number(part).is_some()))
    });
    let comparer = Comparer {
        states: &states,
        paths_in_both: &paths_in_both,
        parts: &part_changes,
        with_curves,
    };
    let all: Vec<Compared> = pairs.par_iter().map(|pair| comparer.pair(*pair)).collect();
    let mut offices = Vec::new();
    let mut parts_files = Vec::new();
    let mut reached = Vec::new();
    for compared in all {
        match compared {
            Compared::Office(office, taken) => {
                reached.push((taken, office.worse, office.margin_shrank));
                offices.push(*office);
            }
            Compared::Parts(file) => parts_files.push(*file),
            Compared::Nothing => {}
        }
    }
    for (taken, worse, shrank) in reached {
        part_changes.reach(&taken, worse, shrank);
    }
    let mut by_path = part_changes.by_path();
    for file in &mut parts_files {
        file.parts = by_path.remove(&file.file).unwrap_or_default();
    }
    let mut troubles: Vec<String> = paths_in_both
        .iter()
        .filter_map(|file| Some(format!("{}: {}", file.path, file.broken.1.as_ref()?)))
        .collect();
    troubles.sort();
    let mut comparison = Comparison {
        form: FORM,
        base: versions.0,
        head: versions.1,
        summary: SummaryRecord::default(),
        settings: settings(&states),
        parts_files,
        offices,
        across_files: across(&states, &paths_in_both),
        left_out: Vec::new(),
        troubles,
    };
    comparison.summary = summary(&comparison, &paths_in_both);
    comparison
}

fn version_record(version: &Version) -> VersionRecord {
    VersionRecord {
        called: version.called.clone(),
        commit: version.commit.clone(),
    }
}

/// The changed parts in all files of parts that differ.
fn part_changes(paths_in_both: &[PathStates<'_>], pairs: &[Pair], texts: &Texts) -> PartChanges {
    let (mut before, mut after) = (Vec::new(), Vec::new());
    for pair in pairs.iter().filter(|pair| !pair.is_office) {
        let at = |at: Option<usize>| at.and_then(|at| paths_in_both.get(at));
        let (base, head) = (at(pair.base), at(pair.head));
        // A file that cannot be read tells nothing about changes of its parts.
        let broken =
            |file: Option<&PathStates<'_>>| file.is_some_and(|file| file.broken.0.is_some() || file.broken.1.is_some());
        if broken(base) || broken(head) {
            continue;
        }
        before.extend(
            base.and_then(|file| file.base.as_ref())
                .iter()
                .flat_map(|file| file.rest.iter().flat_map(|rest| rest.parts.clone())),
        );
        after.extend(
            head.and_then(|file| file.head.as_ref())
                .iter()
                .flat_map(|file| file.rest.iter().flat_map(|rest| rest.parts.clone())),
        );
    }
    PartChanges::new(&before, &after, texts)
}
