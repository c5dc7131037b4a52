//! Comparisons of two states of files that are written here.

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::{Arc, Mutex};

use drysheath_office::Date;
use drysheath_report::comparison::AlongRecord;
use drysheath_report::{Comparison, Extent, KnownFile, KnownFiles, Version, compare, compare_knowing};
use drysheath_rules::Level;
use drysheath_workspace::{Content, LoweredFile, ReadFile, Snapshot};
use serde_json::Value;

const EXAMPLE: &str = include_str!("../../../../grammar/example.office");
const TODAY: Date = Date {
    year: 2026,
    month: 11,
    day: 25,
};

type Files<'f> = &'f [(&'f str, String)];

fn version(called: &str, files: Files<'_>) -> Version {
    let content = |text: &String| Content {
        text: text.as_str().into(),
        problem: None,
    };
    Version {
        called: called.to_owned(),
        commit: None,
        files: files
            .iter()
            .map(|(path, text)| ((*path).to_owned(), content(text)))
            .collect(),
    }
}

fn compared(base: Files<'_>, head: Files<'_>) -> Comparison {
    compare(version("before", base), version("now", head), TODAY, false)
}

/// What a comparison knows of files from one before it.
#[derive(Default)]
struct Remembered(Mutex<BTreeMap<Arc<Path>, KnownFile>>);

impl KnownFiles for Remembered {
    fn find(&self, _: &Snapshot, read: &ReadFile) -> Option<KnownFile> {
        self.0.lock().unwrap().get(&read.path).cloned()
    }

    fn store(&self, reading: &LoweredFile, known: &KnownFile) {
        let mut all = self.0.lock().unwrap();
        all.insert(Arc::clone(&reading.path), known.clone());
    }
}

/// Seen from the office, what the file in the middle uses counts from the top, where nothing is set; seen from that file itself, from its
/// own folder, which has settings.
#[test]
fn a_change_reaches_an_office_through_a_file_of_another_root() {
    let take = |name: &str| format!("use parts/y\npart pressure-sensor {name} : y-sensor {{ }}\n");
    let part = |proof: u32| format!("part pressure-sensor y-sensor {{ proof {proof} psi }}\n");
    let elm = edited(EXAMPLE, &[("pressure-sensor p1 {", "pressure-sensor p1 : x-sensor {")]);
    let elm = elm.replacen(
        "    proof           30 psi\n}\npressure-sensor",
        "}\npressure-sensor",
        1,
    );
    let files = |top: u32, other: u32| {
        [
            ("a/drysheath.toml", "language = 1\n".to_owned()),
            ("a/parts/x.office", take("x-sensor")),
            ("a/parts/y.office", part(other)),
            ("parts/y.office", part(top)),
            ("u.office", format!("use a/parts/x\n{elm}")),
        ]
    };
    let before = files(30, 40);
    for (after, is_reached) in [(files(20, 40), true), (files(30, 50), false)] {
        let known = Remembered::default();
        let compared = |head: Files<'_>| {
            let (base, head) = (version("before", &before), version("now", head));
            compare_knowing(base, head, TODAY, &known, false)
        };
        let told = compared(&after);
        let offices: Vec<&str> = told.offices.iter().map(|office| &*office.file).collect();
        assert_eq!(
            offices,
            if is_reached { vec!["u.office"] } else { Vec::new() },
            "{}",
            told.json()
        );
        // Where all that can be known is, the same is told.
        compared(&before);
        assert_eq!(compared(&after).json(), told.json());
    }
}

fn told(comparison: &Comparison) -> Value {
    serde_json::from_str(&comparison.json()).unwrap()
}

/// The changes of the first office in words.
fn changes(base: &str, head: &str) -> Vec<String> {
    let told = told(&compared(
        &[("a.office", base.to_owned())],
        &[("a.office", head.to_owned())],
    ));
    let word = |value: &Value| value.as_str().unwrap_or_default().to_owned();
    let Some(found) = told["offices"][0]["changes"].as_array() else {
        return Vec::new();
    };
    found
        .iter()
        .map(|change| {
            let words = [&change["what"], &change["of"], &change["subject"], &change["field"]].map(word);
            let words: Vec<&str> = words
                .iter()
                .map(String::as_str)
                .filter(|word| !word.is_empty())
                .collect();
            match (change["before"].as_str(), change["after"].as_str()) {
                (None, None) => words.join(" "),
                (before, after) => {
                    let (before, after) = (before.unwrap_or("-"), after.unwrap_or("-"));
                    format!("{}: {before} => {after}", words.join(" "))
                }
            }
        })
        .collect()
}

fn edited(text: &str, edits: &[(&str, &str)]) -> String {
    edits.iter().fold(text.to_owned(), |text, (from, to)| {
        assert!(text.contains(from), "there is no {from}");
        text.replace(from, to)
    })
}

#[test]
fn of_things_that_are_alike_each_keeps_its_place() {
    let three = |names: [&str; 3]| {
        let things: Vec<String> = names
            .iter()
            .zip(1..)
            .map(|(name, at)| format!("contact {name} {{ healthy closed }}\nwire {name} -> tb pair {at}\n"))
            .collect();
        format!("office a {{ }}\nblock tb {{ pairs 5 }}\n{}", things.concat())
    };
    assert_eq!(
        changes(&three(["one", "two", "six"]), &three(["door", "two", "fence"])),
        [
            "renamed thing contact: one => door",
            "renamed thing contact: six => fence"
        ]
    );
}

#[test]
fn another_sensor_on_other_pairs_is_no_renamed_one() {
    let head = edited(
        EXAMPLE,
        &[
            ("pressure-sensor ps1", "pressure-sensor ps9"),
            (
                "wire ps1                    -> c101 pair 37     -> tb pair 3        -> m1 sensor 3",
                "wire ps9 -> c101 pair 40 -> tb pair 9 -> m1 sensor 7",
            ),
        ],
    );
    let told = changes(EXAMPLE, &head);
    assert_eq!(
        told.iter().filter(|told| told.contains(" thing ")).collect::<Vec<_>>(),
        [
            "added thing pressure-sensor ps9 at c101 3.2 km: - => c101 pair 40 -> tb pair 9 -> m1 sensor 7",
            "removed thing pressure-sensor ps1 at c101 3.2 km: c101 pair 37 -> tb pair 3 -> m1 sensor 3 => -",
        ],
        "{told:#?}"
    );
}

#[test]
fn statements_besides_things_and_runs_are_told() {
    let accepted = "accept input-without-signal on m1 because \"ordered\" until 2027-04-30\n";
    let base = format!("{EXAMPLE}{accepted}reading 2026-05-12 f1 7.5 scfh\n");
    let head = edited(
        &base,
        &[
            ("2027-04-30", "2028-04-30"),
            ("reading 2026-05-12 f1 7.5", "reading 2026-06-12 f1 7.6"),
        ],
    );
    assert_eq!(
        changes(&base, &head),
        [
            "changed acceptance input-without-signal on m1: because \"ordered\" until 2027-04-30 => because \"ordered\" until 2028-04-30",
            "added reading reading 2026-06-12 f1 7.6 scfh",
            "removed reading reading 2026-05-12 f1 7.5 scfh",
        ]
    );
}

#[test]
fn pairs_without_a_signal_are_told_as_ranges() {
    let head = edited(
        EXAMPLE,
        &[
            (
                "spare c101 pair 38 .. 50",
                "wire c101 pair 41 .. 45 -> tb pair 11 .. 15\nspare c101 pair 38 .. 40\nspare c101 pair 46 .. 50",
            ),
            ("spare tb pair 5 .. 25", "spare tb pair 5 .. 10\nspare tb pair 16 .. 25"),
        ],
    );
    assert_eq!(
        changes(EXAMPLE, &head),
        [
            "added wire c101 pair 41 .. 45 -> tb pair 11 .. 15",
            "removed spare c101 pair 41 .. 45",
            "removed spare tb pair 11 .. 15",
        ]
    );
}

#[test]
fn the_rest_says_the_same_as_its_ranges() {
    let rest = edited(
        EXAMPLE,
        &[
            ("spare tb pair 5 .. 25", "spare tb pair rest"),
            ("spare c101 pair 1 .. 36", "spare c101 pair rest"),
            ("spare c101 pair 38 .. 50\n", ""),
        ],
    );
    assert_eq!(changes(EXAMPLE, &rest), [""; 0]);
    let head = edited(
        &rest,
        &[("tb pair 4        -> m1 contact 1", "tb pair 9 -> m1 contact 1")],
    );
    assert_eq!(
        changes(&rest, &head),
        [
            "moved wire d1 contact humidity: tb pair 4 -> m1 contact 1 => tb pair 9 -> m1 contact 1",
            "added spare tb pair 4",
            "removed spare tb pair 9",
        ]
    );
}

#[test]
fn what_becomes_of_pairs_of_others_is_told() {
    let base = edited(
        EXAMPLE,
        &[(
            "spare c101 pair 1 .. 36",
            "assigned c101 pair 1 .. 30 to \"subscribers\"\nspare c101 pair 31 .. 36",
        )],
    );
    let head = edited(
        &base,
        &[
            (
                "pair 1 .. 30 to \"subscribers\"",
                "pair 1 .. 20 to \"subscribers\"\nassigned c101 pair 21 .. 30 to \"the mill\"",
            ),
            (
                "spare c101 pair 31 .. 36",
                "defective c101 pair 31 because \"foul\"\nspare c101 pair 32 .. 36",
            ),
        ],
    );
    assert_eq!(
        changes(&base, &head),
        [
            "changed pair-state c101 pair 21 .. 30: assigned to \"subscribers\" => assigned to \"the mill\"",
            "added pair-state c101 pair 31: - => defective because \"foul\"",
            "removed spare c101 pair 31",
        ]
    );
}

#[test]
fn pieces_of_a_run_are_compared_one_by_one() {
    let office = |with: &str| EXAMPLE.replace("with 6 awg,  3 m", with);
    let before = office("with 4 awg, 1 m then 6 awg, 3 m");
    assert_eq!(
        changes(&before, &office("with 4 awg, 1 m then 6 awg, 2 m")),
        ["changed field ground m1 frame -> ogb length of piece 2: 3 m => 2 m"]
    );
    assert_eq!(
        changes(&before, &office("with 4 awg, 1 m")),
        ["removed field ground m1 frame -> ogb piece 2: 6 awg, 3 m => -"]
    );
}

#[test]
fn inner_fields_and_local_parts_are_named() {
    let base = edited(
        EXAMPLE,
        &[(
            "block tb                    { pairs 25 }",
            "part block bay { pairs 25 }\nblock tb : bay",
        )],
    );
    let head = edited(
        &base,
        &[
            ("usage 4 scfh", "usage 5 scfh"),
            ("bay { pairs 25 }", "bay { pairs 30 }"),
            ("underground 5 psi,      ", ""),
        ],
    );
    assert_eq!(
        changes(&base, &head),
        [
            "changed field c101 section s2 usage: 4 scfh => 5 scfh",
            "changed field part block bay pairs: 25 => 30",
            "removed field elm-hollow air-minimum underground: 5 psi => -",
        ]
    );
}

#[test]
fn margins_are_differences_whatever_the_unit_starts_from() {
    let sensor = |limit: &str| {
        format!(
            "{EXAMPLE}dew-point-sensor dp1 {{\n span -60 .. 20 degC\n step 1 degC\n proof 60 psi\n limit high {limit} major deadband 1 degC\n}}\n\
             air mf port 3 -> dp1 with 1/4 in tube, 0.17 in bore, 0.5 m\n"
        )
    };
    let told = told(&compared(
        &[("a.office", sensor("-20 degC"))],
        &[("a.office", sensor("-25 degC"))],
    ));
    let figures = &told["offices"][0]["figures"];
    assert_eq!(figures.as_array().unwrap().len(), 1, "{told:#}");
    let margin = &figures[0]["margins"][0];
    let (before, after) = (margin["before"].as_f64().unwrap(), margin["after"].as_f64().unwrap());
    assert!((before - after - 5.0).abs() < 0.02 && after > 0.0, "{figures:#}");
    assert_eq!(
        (&figures[0]["unit"], &figures[0]["margin_shrank"]),
        (&"degC".into(), &true.into())
    );
}

#[test]
fn figures_that_follow_are_told_with_their_margins() {
    let head = edited(
        EXAMPLE,
        &[
            ("usage 4 scfh", "usage 9 scfh"),
            ("14 awg, 6 m", "26 awg, 60 m"),
            ("24 awg", "26 awg"),
        ],
    );
    let told = told(&compared(&[("a.office", EXAMPLE.to_owned())], &[("a.office", head)]));
    let figures = told["offices"][0]["figures"].as_array().unwrap();
    let names: Vec<String> = figures
        .iter()
        .map(|figure| {
            format!(
                "{} {}",
                figure["of"].as_str().unwrap(),
                figure["subject"].as_str().unwrap()
            )
        })
        .collect();
    assert_eq!(
        names,
        [
            "reading f1",
            "reading ps1",
            "voltage m1",
            "loop ps1",
            "lowest c101 section s1",
            "lowest c101 section s2",
            "highest ps1",
        ],
        "{told:#}"
    );
    for figure in figures {
        // Less pressure is less for a proof pressure to stand.
        assert_eq!(figure["margin_shrank"], figure["of"] != "highest", "{figure:#}");
    }
}

#[test]
fn parts_that_move_or_have_another_name_are_followed() {
    let part = |name: &str| format!("part block {name} {{ pairs 25, pins 50 }}\n");
    let office = |file: &str, part: &str| format!("use {file}\noffice a {{ }}\nblock tb : {part}\n");
    let base = [("a.office", office("blocks", "bay")), ("blocks.office", part("bay"))];
    let moved = told(&compared(
        &base,
        &[("a.office", office("more", "bay")), ("more.office", part("bay"))],
    ));
    let file = &moved["parts_files"][0];
    assert_eq!(
        (&file["file"], &file["parts"][0]["what"]),
        (&"more.office".into(), &"moved".into()),
        "{moved:#}"
    );
    assert_eq!(
        (&file["parts"][0]["before"], &file["parts"][0]["offices"]),
        (&"blocks.office".into(), &1.into())
    );
    let renamed = told(&compared(
        &base,
        &[("a.office", office("blocks", "rack")), ("blocks.office", part("rack"))],
    ));
    let part = &renamed["parts_files"][0]["parts"][0];
    assert_eq!(
        (&part["what"], &part["before"]),
        (&"renamed".into(), &"bay".into()),
        "{renamed:#}"
    );
}

#[test]
fn offices_that_changed_places_are_told_apart() {
    let other = edited(
        EXAMPLE,
        &[
            ("elm-hollow", "oak"),
            ("ELMH01", "OAKS01"),
            ("192.0.2.11", "192.0.2.12"),
        ],
    );
    let base = [("a.office", EXAMPLE.to_owned()), ("b.office", other.clone())];
    let told = told(&compared(
        &base,
        &[("a.office", other), ("b.office", EXAMPLE.to_owned())],
    ));
    for office in told["offices"].as_array().unwrap() {
        assert_eq!(office["what"], "moved", "{office:#}");
    }
    assert_eq!(told["summary"]["moved_files"], 2);
    assert_eq!(told["summary"]["new"]["errors"], 0);
}

#[test]
fn nested_repositories_have_their_own_parts_and_settings() {
    let office = format!("use parts\n{EXAMPLE}");
    let part = "part block bay { pairs 25 }\n".to_owned();
    let base = [
        ("north/a.office", office.clone()),
        ("north/drysheath.toml", "language = 1\n".to_owned()),
        ("north/parts.office", part.clone()),
        (
            "south/a.office",
            edited(&office, &[("ELMH01", "X"), ("elm-hollow", "x")]),
        ),
        ("south/drysheath.toml", "language = 1\n".to_owned()),
        ("south/parts.office", part.clone()),
    ];
    let mut head = base.clone();
    head[2].1 = edited(&part, &[("25", "26")]);
    let told = told(&compared(&base, &head));
    assert_eq!(told["parts_files"].as_array().unwrap().len(), 1);
    // No thing is a bay: nothing is touched.
    assert_eq!(told["summary"]["untouched"], 2);
    assert_eq!(told["parts_files"][0]["parts"][0]["offices"], 0);
}

#[test]
fn a_comparison_fails_by_what_got_worse() {
    let head = edited(EXAMPLE, &[("low 6.7 psi minor", "low 12 psi minor")]);
    let (base, head) = ([("a.office", EXAMPLE.to_owned())], [("a.office", head)]);
    assert!(compared(&base, &head).fails(Level::Error));
    assert!(!compared(&head, &base).fails(Level::Note));
    assert!(!compared(&base, &base).fails(Level::Note));
}

/// The first sentences of the comparison of two offices.
fn first_sentences(base: &str, head: &str) -> String {
    let told = compared(&[("a.office", base.to_owned())], &[("a.office", head.to_owned())]);
    told.text(Extent::Brief)
}

#[test]
fn the_first_sentences_count_what_got_worse() {
    let worse = edited(
        EXAMPLE,
        &[("low 6.7 psi minor", "low 12 psi minor"), ("wire p1 ", "wire p9 ")],
    );
    let counted = first_sentences(EXAMPLE, &worse);
    assert!(counted.contains("\nNew: 2 errors, in 1 office.\n"), "{counted}");
    let smaller = edited(EXAMPLE, &[("usage 4 scfh", "usage 5 scfh")]);
    let shrank = "In 1 office a margin shrank by more than a step. The worst: ";
    let told = first_sentences(EXAMPLE, &smaller);
    assert!(told.contains(shrank), "{told}");
    let told = first_sentences(EXAMPLE, &edited(EXAMPLE, &[("\"Elm Hollow\"", "\"Elm Hill\"")]));
    assert!(!told.contains("a margin shrank"), "{told}");
}

#[test]
fn contacts_in_another_order_keep_their_circuits() {
    let office = |contacts: [&str; 2]| {
        let contacts = contacts
            .map(|name| format!("contact {name} {{ healthy closed }}"))
            .join("\n    ");
        edited(
            EXAMPLE,
            &[
                ("contact         humidity        { healthy closed }", &contacts),
                (
                    "m1 contact 1\n",
                    "m1 contact 1\nwire d1 contact fault -> tb pair 5 -> m1 contact 2\n",
                ),
                ("spare tb pair 5", "spare tb pair 6"),
                ("spare m1 contact 2", "spare m1 contact 3"),
            ],
        )
    };
    let none: [&str; 0] = [];
    assert_eq!(
        changes(&office(["humidity", "fault"]), &office(["fault", "humidity"])),
        none
    );
}

#[test]
fn whatever_is_written_is_compared() {
    // Every cut of a text against the whole, and the whole against it.
    let whole = [("a.office", EXAMPLE.to_owned())];
    for end in (0..EXAMPLE.len())
        .step_by(97)
        .filter(|end| EXAMPLE.is_char_boundary(*end))
    {
        let cut = [("a.office", EXAMPLE[..end].to_owned())];
        let (there, back) = (compared(&whole, &cut), compared(&cut, &whole));
        assert!(
            there.text(Extent::Full).starts_with("now compared with before\n")
                && back.markdown(Extent::Brief).starts_with("## drysheath")
        );
    }
}

#[test]
fn one_wire_is_not_buried_under_layout() {
    let office = |at: usize| {
        edited(
            EXAMPLE,
            &[
                ("elm-hollow", &format!("office-{at}")),
                ("ELMH01", &format!("S{at}")),
                ("192.0.2.11", &format!("host-{at}")),
            ],
        )
    };
    let base: Vec<(String, String)> = (0..40).map(|at| (format!("o{at}.office"), office(at))).collect();
    let mut head: Vec<(String, String)> = base
        .iter()
        .map(|(path, text)| (path.clone(), text.replace("  ", "   ")))
        .collect();
    head[17].1 = edited(
        &head[17].1,
        &[
            ("c101 pair 37 ", "c101 pair 38 "),
            ("spare c101 pair 1 .. 36", "spare c101 pair 1 .. 37"),
            ("spare c101 pair 38 .. 50", "spare c101 pair 39 .. 50"),
        ],
    );
    let comparison = compared(&files(&base), &files(&head));
    for told in [comparison.text(Extent::Brief), comparison.markdown(Extent::Brief)] {
        assert!(told.lines().count() < 24, "{told}");
        assert!(told.contains("1 changed, 39 in layout only"), "{told}");
        assert!(told.contains("office-17") && told.contains("c101 pair 38"), "{told}");
        assert!(!told.contains("office-18"), "{told}");
    }
    let full = comparison.text(Extent::Full);
    assert!(full.contains("office-18"), "{full}");
}

#[test]
fn pressures_are_told_with_their_margins_to_minimum_relief_and_rating() {
    let head = edited(EXAMPLE, &[("set             10 psi", "set 12 psi")]);
    let comparison = compared(&[("a.office", EXAMPLE.to_owned())], &[("a.office", head)]);
    let told = told(&comparison);
    let figures = told["offices"][0]["figures"].as_array().unwrap();
    let margin = |of: &str, subject: &str, limit: &str| -> (f64, f64) {
        let figure = figures
            .iter()
            .find(|figure| figure["of"] == of && figure["subject"] == subject);
        let figure = figure.unwrap_or_else(|| panic!("{of} {subject}: {told:#}"));
        let margins = figure["margins"].as_array().unwrap();
        let margin = margins.iter().find(|margin| margin["limit"] == limit).unwrap();
        (margin["before"].as_f64().unwrap(), margin["after"].as_f64().unwrap())
    };
    // What a relief has above the outlet shrinks by what the set pressure rises; the droop stays what it is.
    let (before, after) = margin("outlet", "r1", "relief");
    assert!((before - after - 2.0).abs() < 0.01 && after < 3.5, "{before} {after}");
    let (before, after) = margin("highest", "c101", "rating");
    assert!(before > after && after > 0.0, "{before} {after}");
    let (before, after) = margin("lowest", "c101 section s2", "minimum");
    assert!(before < after && before > 0.0, "{before} {after}");
    let text = comparison.text(Extent::Brief);
    let limits = text.split_once("Margins after the change").unwrap().1;
    for limit in ["minimum", "relief", "rating"] {
        assert!(
            limits.lines().any(|line| line.trim_start().starts_with(limit)),
            "{text}"
        );
    }
}

#[test]
fn an_office_with_another_name_and_another_site_is_the_same() {
    let head = edited(EXAMPLE, &[("elm-hollow", "harbour-road"), ("ELMH01", "HRBR01")]);
    let other = EXAMPLE
        .replace("elm-hollow", "oak")
        .replace("ELMH01", "OAKS01")
        .replace("192.0.2.11", "192.0.2.12");
    let base = [
        ("a.office", EXAMPLE.to_owned()),
        (
            "c.office",
            "office x { site \"X\" }\nmanifold m { ports 3 }\n".to_owned(),
        ),
    ];
    let told = told(&compared(&base, &[("b.office", head), base[1].clone()]));
    let summary = &told["summary"];
    assert_eq!(
        (&summary["added"], &summary["removed"]),
        (&0.into(), &0.into()),
        "{told:#}"
    );
    assert_eq!(told["offices"][0]["file_before"], "a.office");
    // A new office beside the old one is a new one, however much it says the same.
    let told = self::told(&compared(&base[..1], &[base[0].clone(), ("d.office", other)]));
    assert_eq!(told["summary"]["added"], 1);
    let kinds: Vec<String> = told["offices"][0]["holds"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| format!("{} {}", one["number"], one["kind"].as_str().unwrap()))
        .collect();
    assert!(
        kinds.contains(&"1 monitor".to_owned()) && kinds.contains(&"1 cable".to_owned()),
        "{kinds:?}"
    );
}

#[test]
fn spare_numbers_are_told_in_the_trades_words() {
    let head = edited(
        EXAMPLE,
        &[
            ("c101 pair 37     -> tb", "c101 pair 38 -> tb"),
            ("spare c101 pair 1 .. 36", "spare c101 pair 1 .. 37"),
            ("pair 38 .. 50", "pair 39 .. 50"),
        ],
    );
    let comparison = compared(&[("a.office", EXAMPLE.to_owned())], &[("a.office", head)]);
    for told in [
        comparison.text(Extent::Brief),
        comparison.text(Extent::Full),
        comparison.markdown(Extent::Brief),
    ] {
        assert!(
            told.contains("declared spare") && told.contains("no longer spare"),
            "{told}"
        );
        assert!(!told.contains('→'), "{told}");
    }
}

fn files(all: &[(String, String)]) -> Vec<(&str, String)> {
    all.iter().map(|(path, text)| (path.as_str(), text.clone())).collect()
}

#[test]
fn a_brief_comment_is_under_10_kb_and_its_tables_are_whole() {
    let office = |at: usize, usage: &str| {
        edited(
            EXAMPLE,
            &[
                ("elm-hollow", &format!("office-{at}")),
                ("ELMH01", &format!("S{at}")),
                ("192.0.2.11", &format!("line | {at}")),
                ("usage 4 scfh", usage),
            ],
        )
    };
    let all = |usage: &str| -> Vec<(String, String)> {
        (0..400)
            .map(|at| (format!("o{at}.office"), office(at, usage)))
            .collect()
    };
    let (base, head) = (all("usage 4 scfh"), all("usage 30 scfh"));
    let comparison = compared(&files(&base), &files(&head));
    let full = comparison.markdown(Extent::Full);
    assert!(
        (0..400).all(|at| full.contains(&format!("`o{at}.office:"))),
        "{}",
        full.len()
    );
    let told = comparison.markdown(Extent::Brief);
    assert!(told.len() < 10_000, "{told}");
    // One edit in 400 offices is one row, and so is a rule that fails in all of them.
    assert!(
        told.contains("| 400 offices | changed | section usage, 400 times, all alike, such as"),
        "{told}"
    );
    assert!(
        told.contains("| error | usage-beyond-lines | 400 in 400 files | such as o"),
        "{told}"
    );
    let mut columns = None;
    for line in told.lines() {
        if line.starts_with('|') {
            let cells = line.replace("\\|", "").matches('|').count();
            assert_eq!(*columns.get_or_insert(cells), cells, "{line}");
        } else {
            columns = None;
        }
    }
}

#[test]
fn a_change_names_what_people_call_the_thing() {
    let base = edited(
        EXAMPLE,
        &[(
            "pressure-sensor ps1 {\n",
            "pressure-sensor ps1 {\n    title \"101, Harbour Street\"\n",
        )],
    );
    let head = edited(&base, &[("low 6.7 psi", "low 6.6 psi")]);
    let comparison = compared(&[("a.office", base.clone())], &[("a.office", head)]);
    let text = comparison.text(Extent::Full);
    assert!(text.contains("ps1 (101, Harbour Street) limit low: 6.7 psi"), "{text}");
    let without = edited(&base, &[("title \"101, Harbour Street\"\n", "")]);
    assert_eq!(
        changes(&base, &without),
        ["removed field ps1 title: \"101, Harbour Street\" => -"]
    );
    let added = compared(
        &[("a.office", EXAMPLE.to_owned())],
        &[(
            "a.office",
            format!("{EXAMPLE}manifold mx {{ ports 2, title \"Annex\" }}\n"),
        )],
    );
    let text = added.text(Extent::Brief);
    assert!(text.contains("manifold mx (Annex)"), "{text}");
}

#[test]
fn a_record_changes_by_its_name() {
    let said = |facts: &str| {
        EXAMPLE.replace(
            "block tb                    { pairs 25 }",
            &format!("block tb {{ pairs 25{facts} }}"),
        )
    };
    assert_eq!(
        changes(
            &said(", record serial \"A\", record asset \"1\""),
            &said(", record asset \"2\", record shelf \"3\"")
        ),
        [
            "changed field tb record asset: \"1\" => \"2\"",
            "added field tb record shelf: - => \"3\"",
            "removed field tb record serial: \"A\" => -",
        ]
    );
}

#[test]
fn a_thing_that_says_what_it_was_called_is_followed_whatever_else_moved() {
    let head = edited(
        EXAMPLE,
        &[
            (
                "pressure-sensor ps1 {\n",
                "pressure-sensor ps-101a {\n    formerly ps1\n",
            ),
            (
                "wire ps1                    -> c101 pair 37     -> tb pair 3        -> m1 sensor 3",
                "wire ps-101a -> c101 pair 40 -> tb pair 9 -> m1 sensor 7",
            ),
            (
                "    at              c101 3.2 km\n    span            0 .. 15 psi",
                "    at c101 1.1 km\n    span 0 .. 30 psi",
            ),
        ],
    );
    let told = changes(EXAMPLE, &head);
    let of_it: Vec<_> = told
        .iter()
        .filter(|told| told.contains("ps"))
        .map(String::as_str)
        .collect();
    assert_eq!(
        of_it[..3],
        [
            "renamed thing pressure-sensor: ps1 => ps-101a",
            "moved field ps-101a at: c101 3.2 km => c101 1.1 km",
            "moved wire ps-101a: c101 pair 37 -> tb pair 3 -> m1 sensor 3 => c101 pair 40 -> tb pair 9 -> m1 sensor 7",
        ]
    );
    assert!(
        !told
            .iter()
            .any(|told| told.contains("formerly") || told.contains("removed thing")),
        "{told:#?}"
    );
}

#[test]
fn an_office_that_says_what_it_was_called_is_followed() {
    let base = EXAMPLE.replace("    site            \"ELMH01\"\n", "");
    let head = base.replace("office elm-hollow {\n", "office elm-hill {\n    formerly elm-hollow\n");
    let comparison = compared(&[("offices/a.office", base)], &[("offices/b.office", head)]);
    let told = told(&comparison);
    assert_eq!(
        (told["summary"]["added"].as_u64(), told["summary"]["removed"].as_u64()),
        (Some(0), Some(0))
    );
    assert_eq!(told["offices"][0]["changes"][0]["what"], "renamed");
}

#[test]
fn a_loss_at_another_flow_is_changed() {
    let filter = |losses: &str| format!("office a {{ }}\nfilter fl1 {{ rating 60 psi, {losses} }}\n");
    let told = |before: &str, after: &str| changes(&filter(before), &filter(after));
    assert_eq!(
        told("loss 0.5 psi at 20 scfh", "loss 0.6 psi at 20 scfh"),
        ["changed field fl1 loss at 20 scfh: 0.5 psi at 20 scfh => 0.6 psi at 20 scfh"]
    );
    assert_eq!(
        told("loss 0.5 psi at 20 scfh", "loss 0.5 psi at 25 scfh"),
        ["changed field fl1 loss: 0.5 psi at 20 scfh => 0.5 psi at 25 scfh"]
    );
    // The one that stays is told apart from the one that has moved.
    assert_eq!(
        told(
            "loss 0.2 psi at 10 scfh, loss 0.5 psi at 20 scfh",
            "loss 0.8 psi at 30 scfh, loss 0.2 psi at 10 scfh"
        ),
        ["changed field fl1 loss: 0.5 psi at 20 scfh => 0.8 psi at 30 scfh"]
    );
    assert_eq!(
        told(
            "loss 0.2 psi at 10 scfh",
            "loss 0.2 psi at 10 scfh, loss 0.5 psi at 20 scfh"
        ),
        ["added field fl1 loss at 20 scfh: - => 0.5 psi at 20 scfh"]
    );
}

#[test]
fn an_assembly_that_is_written_out_keeps_its_things() {
    let drawing = "assembly bracket
block plug { pairs 2 }
contact door { healthy closed, reports \"door open\" }
wire door -> plug pair 1
spare plug pair rest
";
    let drawn = "use parts/bracket
office elm { stage planned }
assembly b2 : bracket
assembly b3 : bracket
block tb { pairs 5 }
wire b2/plug pair 1 -> tb pair 1
";
    // As `expand` prints it.
    let written = "office elm { stage planned }
assembly b2
block b2-plug { pairs 2, assembly b2 }
contact b2-door { healthy closed, reports \"door open\", assembly b2 }
wire b2-door -> b2-plug pair 1
spare b2-plug pair rest
assembly b3
block b3-plug { pairs 2, assembly b3 }
contact b3-door { healthy closed, reports \"door open\", assembly b3 }
wire b3-door -> b3-plug pair 1
spare b3-plug pair rest
block tb { pairs 5 }
wire b2-plug pair 1 -> tb pair 1
";
    let part = || ("parts/bracket.office", drawing.to_owned());
    let comparison = compared(
        &[part(), ("a.office", drawn.to_owned())],
        &[part(), ("a.office", written.to_owned())],
    );
    let told = told(&comparison);
    let found = told["offices"][0]["changes"].as_array().unwrap();
    // Fields change, and the drawing is no longer used; no thing and no wire comes or goes.
    let is_lost = |change: &&Value| {
        let is_there = matches!(change["what"].as_str(), Some("added" | "removed"));
        is_there && !matches!(change["of"].as_str(), Some("field" | "use"))
    };
    let lost: Vec<&Value> = found.iter().filter(is_lost).collect();
    assert_eq!(lost, Vec::<&Value>::new(), "{found:#?}");
    let renamed = found.iter().filter(|change| change["what"] == "renamed");
    assert_eq!(renamed.count(), 4, "{found:#?}");
}

#[test]
fn the_pressure_along_a_line_is_known_between_known_places() {
    let along = AlongRecord {
        length: 4.0,
        pressures: vec![(1.0, 9.0), (3.0, 5.0)],
        least: Vec::new(),
    };
    let at = [0.5, 1.0, 2.5, 3.0, 4.0].map(|place| along.pressure_at(place));
    assert_eq!(at, [None, Some(9.0), Some(6.0), Some(5.0), None]);
}
