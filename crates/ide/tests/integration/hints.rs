//! Inlay hints.

use std::sync::Arc;

use drysheath_fixture::{analysis, example, on_damaged_texts, open, snapshot_unlinted};
use drysheath_ide::{Hint, hints};
use drysheath_rules::EditorKey;
use drysheath_rules::example::OFFICE;
use drysheath_text::TextRange;
use drysheath_workspace::Analysis;

fn all(analysis: &Analysis) -> Vec<Hint> {
    hints(analysis, TextRange::new(0, analysis.text.len() as u32))
}

/// The text of a statement with its hints of one kind in brackets.
fn shown(text: &str, key: EditorKey) -> String {
    let analysis = example(text);
    let start = analysis.text.len() - text.len();
    let mut out = String::new();
    let mut at = start;
    for hint in all(&analysis)
        .iter()
        .filter(|hint| hint.key == key && hint.at as usize > start)
    {
        out.push_str(analysis.text.get(at..hint.at as usize).unwrap());
        out.extend(["[", &hint.label, "]"]);
        at = hint.at as usize;
    }
    out + analysis.text.get(at..).unwrap()
}

#[test]
fn pairs_have_colours_binders_and_pins() {
    let text = "block tb { pairs 25, pins yes }\nwire ps1 -> c101 pair 37 -> tb pair 3 white-green -> m1 sensor 3";
    assert!(
        shown(text, EditorKey::HintsColours)
            .ends_with("c101 pair 37[BK-OR in WH-OR] -> tb pair 3 white-green[28/3] -> m1 sensor 3")
    );
    let text = "spare tb pair 5 .. 25";
    assert_eq!(
        shown(text, EditorKey::HintsColours),
        "spare tb pair 5 .. 25[WH-SL .. VI-SL]"
    );
    // Connectors are counted where there are several.
    let text = "block tb { pairs 50, pins yes }\nspare tb pair 30";
    assert!(shown(text, EditorKey::HintsColours).ends_with("pair 30[WH-SL 2:30/5]"));
}

#[test]
fn colours_can_be_written_into_the_text() {
    let analysis = example("wire ps1 -> c101 pair 37 -> tb pair 3 -> m1 sensor 3");
    let edits: Vec<_> = all(&analysis).into_iter().filter_map(|hint| hint.edit).collect();
    let text = drysheath_text::apply(&analysis.text, &edits).unwrap();
    assert!(
        text.contains("c101 pair 37 black-orange -> tb pair 3 white-green -> m1"),
        "{text}"
    );
    assert_eq!(open("elm", &text, &[]).1.findings(), []);
}

#[test]
fn spans_have_what_should_be_read() {
    let text = "flow-sensor f1 { span 0 .. 30 scfh, pressure { span 0 .. 20 psi } }";
    assert_eq!(
        shown(text, EditorKey::HintsPredictions),
        "flow-sensor f1 { span 0 .. 30 scfh[reads 7 scfh, 23 %], pressure { span 0 .. 20 psi[reads 9.997 psi, 50 %] } }"
    );
    let text = "part pressure-sensor p { span 0 .. 10 psi }\npressure-sensor ps1 : p { at c101 3.2 km }";
    assert!(shown(text, EditorKey::HintsPredictions).ends_with("ps1[reads 7.562 psi, 76 %] : p { at c101 3.2 km }"));
    // No finer than the sensor reports.
    let text = "pressure-sensor ps1 { at c101 3.2 km, span 0 .. 10 psi, step 0.25 psi }";
    assert!(shown(text, EditorKey::HintsPredictions).contains("[reads 7.6 psi, 76 %]"));
    let text = "pressure-sensor ps1 { at c101 3.2 km, span 0 .. 10 psi, step 2 psi }";
    assert!(shown(text, EditorKey::HintsPredictions).contains("[reads 8 psi, 76 %]"));
}

#[test]
fn a_part_tells_what_is_taken_from_it() {
    let text = "part pressure-sensor p { span 0 .. 10 psi, step 0.1 psi, proof 30 psi }\n\
                pressure-sensor ps1 : p { at c101 3.2 km, step 0.2 psi }";
    assert!(
        shown(text, EditorKey::HintsParts)
            .ends_with("ps1 : p { at c101 3.2 km, step 0.2 psi }[p: span 0 .. 10 psi, proof 30 psi]"),
        "{}",
        shown(text, EditorKey::HintsParts)
    );
    let text = "part pressure-sensor p { span 0 .. 10 psi, step 0.1 psi, error 0.2 psi, proof 30 psi, normal 5 psi }\n\
                pressure-sensor ps1 : p { at c101 3.2 km }";
    assert!(shown(text, EditorKey::HintsParts).ends_with("km }[p: span 0 .. 10 psi, step 0.1 psi, error 0.2 psi, …]"));
    // A thing over several lines has them at the end of its first one.
    let text = "part pressure-sensor p { span 0 .. 10 psi }\r\npressure-sensor ps1 : p { # in the vault\r\n  at c101 3.2 km\r\n}";
    assert!(shown(text, EditorKey::HintsParts).contains("in the vault[p: span 0 .. 10 psi]\r\n"));
}

#[test]
fn only_what_a_range_touches_has_hints() {
    let analysis = example("");
    let start = analysis.text.find("wire f1").unwrap() as u32;
    let found = hints(&analysis, TextRange::new(start, start + 10));
    assert_eq!(found.iter().map(|hint| &*hint.label).collect::<Vec<_>>(), ["WH-BL"]);
}

/// The example office in a repository with these settings.
fn with_settings(settings: &str) -> Arc<Analysis> {
    analysis(
        &snapshot_unlinted(&[("elm", OFFICE), ("drysheath.toml", settings)]),
        "elm",
    )
}

#[test]
fn each_sort_can_be_switched_off() {
    let has = |settings: &str, key| all(&with_settings(settings)).iter().any(|hint| hint.key == key);
    for key in [EditorKey::HintsColours, EditorKey::HintsPredictions] {
        assert!(has("", key));
        let word: &str = key.into();
        assert!(!has(&format!("[editor]\n{word} = \"no\"\n"), key), "{word}");
    }
}

#[test]
fn damaged_text_is_answered() {
    let mut found = 0;
    on_damaged_texts(|_, analysis, offset| {
        for hint in hints(analysis, TextRange::new(offset, analysis.text.len() as u32)) {
            assert!(analysis.text.is_char_boundary(hint.at as usize));
            found += 1;
        }
    });
    assert!(found > 500, "{found}");
}
