//! Fuzz targets: whatever a file says, it is read, linted, laid out, and nothing panics or overflows.
//!
//! Each runs for a moment in every test run. `BOLERO_RANDOM_TEST_TIME_MS=60000` lets them run longer, and `cargo bolero
//! test -p drysheath-rules --test integration fuzz::NAME` lets a coverage-guided engine choose what to try.

use std::time::Duration;

use bolero::check;
use drysheath_fixture::{Change, county, faults, mutated};
use drysheath_office::{PartsInMemory, lower};
use drysheath_rules::{Settings, example, lint};
use drysheath_syntax::{TokenKind, formatted, lex, parse};
use drysheath_text::{FileId, TextRange};

const TIME: Duration = Duration::from_secs(2);

/// The words of a text: every token but blanks and line ends, comments without the blanks at their end.
fn written(text: &str) -> Vec<&str> {
    let tokens = lex(text).into_iter();
    let solid = tokens.filter(|token| !matches!(token.kind, TokenKind::Space | TokenKind::Newline));
    solid.map(|token| token.range.of(text).trim_end()).collect()
}

/// Every text that is changed, with its path.
fn texts() -> Vec<(String, String)> {
    let example = ("example".to_owned(), example::OFFICE.to_owned());
    std::iter::once(example).chain(county()).chain(faults()).collect()
}

#[test]
fn any_text_is_linted() {
    let texts = texts();
    let parts = PartsInMemory::new(
        texts
            .iter()
            .map(|(path, text)| (FileId(1), path.as_str(), text.as_str())),
    );
    check!()
        .with_test_time(TIME)
        .with_type::<(u16, Vec<Change>)>()
        .for_each(|(chosen, changes)| {
            let (path, text) = &texts[usize::from(*chosen) % texts.len()];
            let text = mutated(text, changes);
            let is_range = |range: TextRange| text.get(range.start as usize..range.end as usize).is_some();
            let mut end = 0;
            for token in lex(&text) {
                assert!(token.range.start == end && is_range(token.range));
                end = token.range.end;
            }
            assert_eq!(end as usize, text.len());
            let office = lower(FileId(0), path, text.as_str().into(), &parse(&text), &parts);
            for finding in lint(&office, &Settings::default(), example::TODAY) {
                assert!(
                    finding.place.file != FileId(0) || is_range(finding.place.range),
                    "{finding:?}"
                );
            }
        });
}

#[test]
fn any_text_is_laid_out_once_and_for_all() {
    let texts = texts();
    check!()
        .with_test_time(TIME)
        .with_type::<(u16, Vec<Change>)>()
        .for_each(|(chosen, changes)| {
            let text = mutated(&texts[usize::from(*chosen) % texts.len()].1, changes);
            let once = formatted(&text);
            assert_eq!(formatted(&once), once);
            assert_eq!(written(&once), written(&text), "only blanks and line ends change");
        });
}

#[test]
fn any_settings_are_read() {
    const SETTINGS: &str = include_str!("../../../../tests/county/drysheath.toml");
    check!()
        .with_test_time(TIME)
        .with_type::<(Vec<Change>, Vec<u8>)>()
        .for_each(|(changes, bytes)| {
            let text = mutated(SETTINGS, changes);
            for text in [text.as_str(), &String::from_utf8_lossy(bytes)] {
                let (_, problems) = Settings::read(text);
                for problem in problems {
                    assert!(problem.range.end as usize <= text.len(), "{problem:?}");
                }
            }
        });
}
