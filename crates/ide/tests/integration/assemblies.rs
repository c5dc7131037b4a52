//! Assemblies in an editor: from the office that places one to its drawing and back.

use drysheath_fixture::{analysis, caret, file, marked, name, open, snapshot};
use drysheath_ide::{completions, definition, hover, references, rename};
use drysheath_text::apply;
use drysheath_workspace::Snapshot;

const DRAWING: &str = "assembly bracket { model \"Quern B2\" }
regulator r { set 10 psi, inlet-max 60 psi }
flow-sensor f { span 0 .. 15 scfh }
block plug { pairs 2 }
air r -> f
wire f flow -> plug pair 1
spare plug pair rest
";

const OFFICE: &str = "use parts/bracket
office elm { stage planned }
assembly b2 : bracket { r { set 9 psi }, title \"Left\" }
block tb { pairs 5 }
wire b2/plug pair 1 -> tb pair 1
spare tb pair rest
";

const OTHER: &str = "use parts/bracket
office oak { stage planned }
assembly side : bracket
cable c1 { pairs 5 }
air side/f -> c1
accept dead-end on side/plug because \"so\" until 2027-01-01
";

fn county() -> Snapshot {
    snapshot(&[
        ("parts/bracket", DRAWING),
        ("offices/elm", OFFICE),
        ("offices/oak", OTHER),
    ])
}

fn text(file: &str) -> &'static str {
    match file {
        "parts/bracket" => DRAWING,
        "offices/elm" => OFFICE,
        _ => OTHER,
    }
}

/// The place of `at` after the beginning of `line`.
fn offset(file: &str, line: &str, at: &str) -> u32 {
    let start = text(file).find(line).unwrap();
    (start + text(file)[start..].find(at).unwrap()) as u32
}

fn defined(file: &str, line: &str, at: &str) -> Vec<String> {
    let snapshot = county();
    let found = definition(&snapshot, &analysis(&snapshot, file), offset(file, line, at));
    let targets = found.map(|(_, targets)| targets).unwrap_or_default();
    let shown = targets.iter().map(|target| {
        let place = target.place;
        let (text, _) = snapshot.text(place.file).unwrap();
        format!("{}: {}", name(&snapshot, place.file), marked(&text, place.range))
    });
    shown.collect()
}

#[test]
fn a_thing_in_an_assembly_is_declared_in_the_drawing() {
    let regulator = ["parts/bracket: regulator [r] { set 10 psi, inlet-max 60 psi }"];
    assert_eq!(defined("offices/elm", "assembly b2", "r { set 9"), regulator);
    assert_eq!(
        defined("offices/elm", "wire b2", "plug"),
        ["parts/bracket: block [plug] { pairs 2 }"]
    );
    assert_eq!(
        defined("offices/elm", "wire b2", "b2"),
        ["offices/elm: assembly [b2] : bracket { r { set 9 psi }, title \"Left\" }"]
    );
    assert_eq!(
        defined("offices/elm", "assembly b2", "bracket"),
        ["parts/bracket: assembly [bracket] { model \"Quern B2\" }"]
    );
    assert_eq!(defined("parts/bracket", "air r", "r ->"), regulator);
}

#[test]
fn references_lead_from_the_drawing_to_the_offices_and_back() {
    let snapshot = county();
    for (own, line, at) in [
        ("parts/bracket", "block plug", "plug"),
        ("offices/elm", "wire b2", "plug"),
    ] {
        let found = references(&snapshot, &analysis(&snapshot, own), offset(own, line, at));
        let mut shown: Vec<String> = Vec::new();
        for mentioned in &found {
            let (text, _) = snapshot.text(mentioned.file).unwrap();
            let places = mentioned.places.iter();
            shown.extend(
                places.map(|(range, _)| format!("{}: {}", name(&snapshot, mentioned.file), marked(&text, *range))),
            );
        }
        shown.sort();
        assert_eq!(
            shown,
            [
                "offices/elm: wire b2/[plug] pair 1 -> tb pair 1",
                "offices/oak: accept dead-end on side/[plug] because \"so\" until 2027-01-01",
                "parts/bracket: block [plug] { pairs 2 }",
                "parts/bracket: spare [plug] pair rest",
                "parts/bracket: wire f flow -> [plug] pair 1",
            ]
        );
    }
}

fn renamed(own: &str, line: &str, at: &str, to: &str) -> Result<Vec<(String, String)>, String> {
    let snapshot = county();
    let edits = rename(&snapshot, &analysis(&snapshot, own), offset(own, line, at), to)?;
    let mut files: Vec<(String, String)> = edits
        .iter()
        .map(|(file, edits)| {
            let (text, _) = snapshot.text(*file).unwrap();
            (name(&snapshot, *file), apply(&text, edits).unwrap())
        })
        .collect();
    files.sort();
    Ok(files)
}

#[test]
fn a_thing_of_a_drawing_is_renamed_in_all_offices() {
    let expected = [
        ("offices/elm".to_owned(), OFFICE.replace("plug", "jack")),
        ("offices/oak".to_owned(), OTHER.replace("plug", "jack")),
        ("parts/bracket".to_owned(), DRAWING.replace("plug", "jack")),
    ];
    assert_eq!(
        renamed("parts/bracket", "block plug", "plug", "jack").unwrap(),
        expected
    );
    assert_eq!(renamed("offices/elm", "wire b2", "plug", "jack").unwrap(), expected);
    let files = renamed("offices/elm", "assembly b2", "r { set 9", "reg").unwrap();
    assert_eq!(files.len(), 2);
    assert!(files[0].1.contains("bracket { reg { set 9 psi }"));
    assert!(files[1].1.contains("regulator reg {") && files[1].1.contains("air reg -> f"));
    let taken = renamed("parts/bracket", "block plug", "plug", "f");
    assert_eq!(taken, Err("the name `f` is already taken".to_owned()));
}

#[test]
fn an_assembly_is_renamed_in_its_office() {
    let files = renamed("offices/elm", "wire b2", "b2", "left").unwrap();
    assert_eq!(files, [("offices/elm".to_owned(), OFFICE.replace("b2", "left"))]);
}

#[test]
fn hover_tells_what_an_assembly_is_made_of() {
    let snapshot = county();
    let elm = analysis(&snapshot, "offices/elm");
    let told = |line: &str, at: &str| {
        let hover = hover(&elm, offset("offices/elm", line, at)).unwrap();
        hover.text.plain()
    };
    let assembly = told("wire b2", "b2");
    assert!(
        assembly.contains("made of `b2/r` (regulator), `b2/f` (flow-sensor), `b2/plug` (block)"),
        "{assembly}"
    );
    assert!(told("wire b2", "plug").contains("`b2/plug`: block"));
    assert!(told("assembly b2", "r { set").contains("`b2/r`: regulator"));
    assert!(told("assembly b2", "set 9").contains("`set` of a regulator"));
}

#[test]
fn completion_knows_the_things_of_an_assembly() {
    let offered = |office: &str| {
        let (text, at) = caret(office);
        let others = [("parts/bracket".to_owned(), DRAWING.to_owned())];
        let (snapshot, analysis) = open("office", &text, &others);
        let labels = completions(&snapshot, &analysis, at).into_iter().map(|item| item.label);
        labels.collect::<Vec<_>>()
    };
    let head = "use parts/bracket\noffice elm { stage planned }\nblock tb { pairs 5 }\n";
    let has =
        |labels: &[String], wanted: &str| assert!(labels.iter().any(|label| label == wanted), "{wanted}: {labels:?}");
    has(&offered(&format!("{head}assembly b2 : $0")), "bracket");
    let within = offered(&format!("{head}assembly b2 : bracket {{\n    $0\n}}\n"));
    for wanted in ["title", "r", "f", "plug"] {
        has(&within, wanted);
    }
    let again = offered(&format!(
        "{head}assembly b2 : bracket {{\n    r {{ set 9 psi }}\n    $0\n}}\n"
    ));
    assert!(!again.iter().any(|label| label == "r"), "{again:?}");
    has(
        &offered(&format!("{head}assembly b2 : bracket {{\n    r {{ $0 }}\n}}\n")),
        "set",
    );
    let ends = offered(&format!("{head}assembly b2 : bracket\nwire $0"));
    assert!(ends.iter().any(|label| label.starts_with("b2/plug")), "{ends:?}");
}

#[test]
fn results_on_what_is_drawn_point_at_the_assembly() {
    let snapshot = county();
    let oak = analysis(&snapshot, "offices/oak");
    let drawing = file(&snapshot, "parts/bracket");
    let findings = oak.findings();
    assert!(!findings.is_empty());
    for finding in findings {
        let places = finding.related.iter().map(|related| related.place);
        for place in places.chain([finding.place]) {
            let text = if place.file == drawing { DRAWING } else { OTHER };
            assert!(place.range.end as usize <= text.len(), "{}", finding.message);
        }
    }
    let on_drawn = findings
        .iter()
        .filter(|finding| finding.place.range.of(OTHER) == "side")
        .count();
    assert!(on_drawn > 0);
}
