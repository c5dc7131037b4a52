//! Generated counties are clean or have the faults in their manifest, and are the same in every run.
#![allow(missing_docs, clippy::unwrap_used)]

use std::collections::HashMap;
use std::sync::Arc;

use drysheath_office::{Date, PartsInMemory, Summary, lower};
use drysheath_rules::{Finding, RepositoryInspection, Settings, is_wide, lint, lint_repository};
use drysheath_syntax::{formatted, parse};
use drysheath_text::FileId;
use drysheath_xtask::county::{
    Expected, GeneratedOffice, LINES, Options, SETTINGS, office, settings_of_folder, shared_files,
};

const TODAY: Date = Date {
    year: 2026,
    month: 11,
    day: 25,
};

fn options(offices: u32, faults: bool) -> Options {
    Options {
        offices,
        seed: 41,
        lines: LINES,
        faults,
    }
}

fn county(options: &Options) -> Vec<GeneratedOffice> {
    (0..options.offices).map(|number| office(options, number)).collect()
}

/// Every result of linting a county, sorted: file, line, column and rule.
fn found(offices: &[GeneratedOffice]) -> Vec<(String, usize, usize, &'static str)> {
    let (settings, problems) = Settings::read(SETTINGS);
    assert_eq!(problems, []);
    let mut files = shared_files(offices);
    files.extend(offices.iter().map(|office| (office.path.clone(), office.text.clone())));
    let shelf = PartsInMemory::new(
        (0..)
            .map(FileId)
            .zip(&files)
            .map(|(file, (path, text))| (file, path.trim_end_matches(".office"), text.as_str())),
    );
    let districts: Vec<(String, Settings)> = (0..)
        .take(offices.len().div_ceil(100))
        .filter_map(settings_of_folder)
        .map(|(path, text)| {
            let (own, problems) = settings.with(&text, &path);
            assert_eq!(problems, []);
            (path.trim_end_matches("drysheath.toml").to_owned(), own)
        })
        .collect();
    let settings_of = |path: &str| {
        let district = districts.iter().find(|(folder, _)| path.starts_with(folder));
        district.map_or(&settings, |(_, own)| own)
    };
    let mut summaries = Vec::new();
    let mut findings = Vec::new();
    for (number, (path, text)) in files.iter().enumerate() {
        let name = path.trim_end_matches(".office");
        let text: Arc<str> = text.as_str().into();
        let lowered = lower(FileId(number as u32), name, Arc::clone(&text), &parse(&text), &shelf);
        findings.extend(lint(&lowered, settings_of(path), TODAY));
        summaries.push(Summary::of(&lowered, is_wide).into());
    }
    findings.extend(lint_repository(
        &RepositoryInspection {
            summaries: &summaries,
            settings: &settings,
            settings_below: &HashMap::default(),
            whole: true,
        },
        TODAY,
    ));
    let mut found: Vec<_> = findings.iter().map(|finding| placed(finding, &files)).collect();
    found.sort();
    found
}

fn placed(finding: &Finding, files: &[(String, String)]) -> (String, usize, usize, &'static str) {
    let (path, text) = files.get(finding.place.file.0 as usize).unwrap();
    let start = finding.place.range.start as usize;
    let before = text.get(..start).unwrap();
    let line = before.matches('\n').count() + 1;
    let column = start - before.rfind('\n').map_or(0, |at| at + 1) + 1;
    (path.clone(), line, column, finding.rule.name())
}

#[test]
fn a_county_is_clean() {
    assert_eq!(found(&county(&options(150, false))), []);
}

#[test]
fn large_counties_of_three_seeds_are_clean() {
    for seed in [1, 7, 2026] {
        let options = Options {
            seed,
            ..options(2000, false)
        };
        assert_eq!(found(&county(&options)), [], "seed {seed}");
    }
}

#[test]
fn one_office_of_any_size_is_clean() {
    for lines in [1, 80, 5000] {
        let options = Options {
            lines,
            ..options(1, false)
        };
        let offices = county(&options);
        assert_eq!(found(&offices), [], "{lines} lines");
        if lines == 5000 {
            let written = offices.first().unwrap().text.lines().count();
            assert!((4000..6000).contains(&written), "{written} lines");
        }
    }
}

#[test]
fn faults_are_what_the_manifest_says() {
    let offices = county(&options(300, true));
    let mut expected: Vec<_> = offices
        .iter()
        .flat_map(|office| office.expected.clone())
        .map(
            |Expected {
                 file,
                 line,
                 column,
                 rule,
             }| (file, line, column, rule),
        )
        .collect();
    expected.sort();
    assert_eq!(found(&offices), expected);
    let mut rules: Vec<_> = expected.iter().map(|(.., rule)| *rule).collect();
    rules.sort_unstable();
    rules.dedup();
    assert!(rules.len() >= 20, "{rules:?}");
}

#[test]
fn a_county_depends_on_its_seed_alone() {
    let (one, same) = (county(&options(20, true)), county(&options(20, true)));
    let texts = |offices: &[GeneratedOffice]| offices.iter().map(|office| office.text.clone()).collect::<Vec<_>>();
    assert_eq!(texts(&one), texts(&same));
    let other = Options {
        seed: 42,
        ..options(20, true)
    };
    assert_ne!(texts(&one), texts(&county(&other)));
}

#[test]
fn offices_are_laid_out() {
    for office in county(&options(20, true)) {
        assert_eq!(formatted(&office.text), office.text, "{}", office.path);
    }
}
