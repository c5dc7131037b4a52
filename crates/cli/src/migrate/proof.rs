//! Checks that two states of the same files mean the same: no difference in a comparison, no result added or removed,
//! and all predicted figures equal to the last digit.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use drysheath_office::Date;
use drysheath_report::{FORM, OfficeView, Report, Version, compare};
use drysheath_rules::LANGUAGE_KEY;
use drysheath_workspace::{Memory, Workspace};
use rayon::prelude::*;
use rustc_hash::FxHashMap;

/// Rules whose results the edits are meant to remove.
const MEANT: [&str; 3] = ["word-outdated", "run-backwards", "language-missing"];
/// Rule whose single result counts characters in the whole file: an edit may include some of them, and all of them are
/// read alike.
const COUNTS_CHARACTERS: &str = "character-pasted";

/// Messages about unintended changes.
pub(super) fn moved(before: &Memory, after: &Memory, today: Date) -> Vec<String> {
    let version = |called: &str, files: &Memory| Version {
        called: called.to_owned(),
        commit: None,
        files: files.clone(),
    };
    let comparison = compare(version("before", before), version("after", after), today, false);
    let mut moved = comparison.troubles.clone();
    for setting in comparison
        .settings
        .iter()
        .filter(|setting| setting.name != LANGUAGE_KEY)
    {
        moved.push(format!("{}: `{}` would change", setting.file, setting.name));
    }
    for office in &comparison.offices {
        // Parts only matter through the things that use them, and those are compared.
        let changes = office.changes.iter().filter(|change| !change.is_of_part());
        moved.extend(changes.map(|change| format!("{}: {} would change", office.file, change.subject)));
    }
    let of_offices = comparison.offices.iter().map(|office| &office.results);
    let of_parts = comparison.parts_files.iter().map(|file| &file.results);
    for results in of_offices.chain(of_parts).chain([&comparison.across_files]) {
        let gone = results.gone.iter().filter(|gone| !MEANT.contains(&gone.rule.as_str()));
        let moved_in_text = |rule: &str| rule == COUNTS_CHARACTERS;
        let more = results.new.iter().chain(&results.different);
        for result in more.filter(|result| !moved_in_text(&result.rule)) {
            moved.push(format!(
                "{}:{}: {} would be new: {}",
                result.file, result.line, result.rule, result.message
            ));
        }
        for result in gone.filter(|result| !moved_in_text(&result.rule)) {
            moved.push(format!(
                "{}:{}: {} would be gone: {}",
                result.file, result.line, result.rule, result.message
            ));
        }
    }
    let (was, now) = (figures(before, today), figures(after, today));
    let others = was.iter().filter(|(path, figures)| now.get(*path) != Some(figures));
    moved.extend(others.map(|(path, _)| format!("{path}: a predicted figure would change")));
    moved.sort();
    moved
}

/// All predictions of each office, as JSON.
fn figures(files: &Memory, today: Date) -> FxHashMap<String, String> {
    let mut workspace = Workspace::new(Arc::new(files.clone()), today);
    workspace.set_folders(vec![PathBuf::new()]);
    let snapshot = workspace.snapshot();
    let texts = snapshot.texts(
        files.files().map(|(path, _)| snapshot.file(Path::new(path))),
        &FxHashMap::default(),
    );
    let offices: Vec<&str> = files.offices().map(|(path, _)| path).collect();
    let of = |path: &&str| {
        let lowered = snapshot.read(snapshot.file(Path::new(path))).ok()??;
        lowered.office.itself?;
        let analysis = lowered.analyse();
        let view = OfficeView {
            office: &analysis.office,
            ..OfficeView::of(&analysis, &texts)
        };
        let report = Report {
            form: FORM,
            offices: vec![view.record()],
        };
        Some(((*path).to_owned(), report.json()))
    };
    offices.par_iter().filter_map(of).collect()
}

#[cfg(test)]
mod tests {
    use drysheath_rules::example::{OFFICE, TODAY};
    use drysheath_workspace::Content;

    use super::*;

    fn files(settings: &str, office: &str) -> Memory {
        let file = |path: &str, text: &str| {
            let content = Content {
                text: text.into(),
                problem: None,
            };
            (path.to_owned(), content)
        };
        [file("drysheath.toml", settings), file("elm.office", office)]
            .into_iter()
            .collect()
    }

    #[test]
    fn only_what_is_meant_may_move() {
        let old = OFFICE.replace("current-max 30 A", "limit 30 A");
        assert_ne!(old, OFFICE);
        let before = files("", &old);
        assert_eq!(moved(&before, &files("language = 1\n", OFFICE), TODAY), [""; 0]);
        for (settings, office) in [
            (
                "language = 1\n",
                OFFICE.replace("set             10 psi", "set             10.01 psi"),
            ),
            ("language = 1\n", OFFICE.replace("30 A", "29 A")),
            ("language = 1\n", OFFICE.replace("spare pdf", "# spare pdf")),
            ("language = 1\n[practice]\nleak-size = \"4 scfh\"\n", OFFICE.to_owned()),
            (
                "language = 1\n",
                format!("{OFFICE}<<<<<<< ours\n=======\n>>>>>>> theirs\n"),
            ),
        ] {
            assert!(office != OFFICE || settings.contains("practice"));
            assert_ne!(
                moved(&before, &files(settings, &office), TODAY),
                [""; 0],
                "{settings}{office}"
            );
        }
    }
}
