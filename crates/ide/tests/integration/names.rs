//! Definition, references, highlights and rename.

use drysheath_fixture::{
    analysis, caret, county, faults, file, marked, name, on_damaged_texts, snapshot, snapshot_unlinted,
};
use drysheath_ide::{
    Declaration, Name, definition, highlights, mentions, name_at, prepare_rename, references, rename, type_definition,
};
use drysheath_text::{FileId, TextRange, apply};
use drysheath_workspace::Analysis;
use drysheath_workspace::Snapshot;

const PARTS: &str = "use parts/more
part dryer big {
    compressor  piston
    delivers    30 psi
    capacity    100 scfh
    contact     humidity { healthy closed }
}
part air-pipe main-pipe { length 2 km, place mh-2 { at 1 km } }
";

const MORE: &str = "part pressure-sensor gauge { span 0 .. 15 psi }\n";

const OFFICE: &str = "use parts/plant
office elm { title \"Elm\" }
dryer d1 : big
dryer d2 : big { contact humidity { healthy open }, contact own { healthy closed } }
air-pipe ap1 : main-pipe
cable c1 { pairs 25, branch b1 { from 1 km, section s1 { buried 1 km } }, section s1 { buried 2 km } }
pressure-sensor p1 : gauge { at c1 branch b1 0.4 km }
pressure-sensor p2 : gauge { at ap1 place mh-2 }
air ap1 place mh-2 -> c1
block tb { pairs 10 }
wire d1 contact humidity -> tb pair 1
wire d2 contact own -> tb pair 2
wire p1 -> c1 pair 1 -> tb pair 3
spare tb pair 4 .. 10
accept pressure-below-minimum on c1 because \"it is short\" until 2027-04-30
reading 2026-05-02 d1 contact humidity loop 300 ohm
";

fn plant(office: &str) -> Snapshot {
    snapshot(&[("parts/plant", PARTS), ("parts/more", MORE), ("offices/elm", office)])
}

/// Where a caret in `OFFICE` is: before the first `at` within the line that starts with `line`.
fn offset(line: &str, at: &str) -> u32 {
    let start = OFFICE.find(&format!("\n{line}")).unwrap();
    (start + OFFICE[start..].find(at).unwrap()) as u32
}

fn targets(snapshot: &Snapshot, found: Option<(TextRange, Vec<Declaration>)>) -> Vec<String> {
    let targets = found.map(|(_, targets)| targets).unwrap_or_default();
    let show = |target: &Declaration| {
        let (text, _) = snapshot.text(target.place.file).unwrap();
        assert!(target.whole.contains(target.place.range));
        let file = name(snapshot, target.place.file);
        format!("{file}: {}", marked(&text, target.place.range))
    };
    targets.iter().map(show).collect()
}

fn defined(line: &str, at: &str) -> Vec<String> {
    let snapshot = plant(OFFICE);
    let analysis = analysis(&snapshot, "offices/elm");
    let found = definition(&snapshot, &analysis, offset(line, at));
    targets(&snapshot, found)
}

#[test]
fn definitions_of_things_parts_fields_and_files() {
    let cases: [(&str, &str, &[&str]); 11] = [
        (
            "wire p1",
            "p1 ->",
            &["offices/elm: pressure-sensor [p1] : gauge { at c1 branch b1 0.4 km }"],
        ),
        (
            "accept",
            "c1",
            &[
                "offices/elm: cable [c1] { pairs 25, branch b1 { from 1 km, section s1 { buried 1 km } }, section s1 { buried 2 km } }",
            ],
        ),
        ("dryer d1", "big", &["parts/plant: part dryer [big] {"]),
        (
            "pressure-sensor p1",
            "gauge",
            &["parts/more: part pressure-sensor [gauge] { span 0 .. 15 psi }"],
        ),
        (
            "wire d1",
            "humidity",
            &["parts/plant: contact [humidity] { healthy closed }"],
        ),
        (
            "wire d2",
            "own",
            &["offices/elm: dryer d2 : big { contact humidity { healthy open }, contact [own] { healthy closed } }"],
        ),
        (
            "reading",
            "humidity",
            &["parts/plant: contact [humidity] { healthy closed }"],
        ),
        (
            "air ap1",
            "mh-2",
            &["parts/plant: part air-pipe main-pipe { length 2 km, place [mh-2] { at 1 km } }"],
        ),
        (
            "pressure-sensor p2",
            "mh-2",
            &["parts/plant: part air-pipe main-pipe { length 2 km, place [mh-2] { at 1 km } }"],
        ),
        (
            "pressure-sensor p1",
            "b1",
            &[
                "offices/elm: cable c1 { pairs 25, branch [b1] { from 1 km, section s1 { buried 1 km } }, section s1 { buried 2 km } }",
            ],
        ),
        ("accept", "pressure", &[]),
    ];
    for (line, at, wanted) in cases {
        assert_eq!(defined(line, at), wanted, "{line} {at}");
    }
}

#[test]
fn a_used_file_is_its_beginning() {
    let snapshot = plant(OFFICE);
    let analysis = analysis(&snapshot, "offices/elm");
    let (origin, found) = definition(&snapshot, &analysis, 6).unwrap();
    assert_eq!(marked(OFFICE, origin), "use [parts/plant]");
    assert_eq!(found[0].place.file, file(&snapshot, "parts/plant"));
    assert_eq!(found[0].place.range, TextRange::default());
    let users = references(&snapshot, &analysis, 6);
    assert_eq!(users.len(), 1);
}

#[test]
fn the_type_of_a_thing_is_its_part() {
    let snapshot = plant(OFFICE);
    let analysis = analysis(&snapshot, "offices/elm");
    let found = type_definition(&snapshot, &analysis, offset("wire d1", "d1"));
    assert_eq!(targets(&snapshot, found), ["parts/plant: part dryer [big] {"]);
    let found = type_definition(&snapshot, &analysis, offset("block tb", "tb"));
    assert_eq!(targets(&snapshot, found), [""; 0]);
}

fn all(snapshot: &Snapshot, file: &str, offset: u32) -> Vec<String> {
    let analysis = analysis(snapshot, file);
    let mut out = Vec::new();
    for mentioned in references(snapshot, &analysis, offset) {
        let (text, _) = snapshot.text(mentioned.file).unwrap();
        for (range, declares) in mentioned.places {
            let mark = if declares { "!" } else { "" };
            out.push(format!(
                "{}{mark}: {}",
                name(snapshot, mentioned.file),
                marked(&text, range)
            ));
        }
    }
    out
}

#[test]
fn references_of_a_thing_are_all_in_its_file() {
    let snapshot = plant(OFFICE);
    let found = all(&snapshot, "offices/elm", offset("cable c1", "c1"));
    assert_eq!(
        found,
        [
            "offices/elm!: cable [c1] { pairs 25, branch b1 { from 1 km, section s1 { buried 1 km } }, section s1 { buried 2 km } }",
            "offices/elm: pressure-sensor p1 : gauge { at [c1] branch b1 0.4 km }",
            "offices/elm: air ap1 place mh-2 -> [c1]",
            "offices/elm: wire p1 -> [c1] pair 1 -> tb pair 3",
            "offices/elm: accept pressure-below-minimum on [c1] because \"it is short\" until 2027-04-30",
        ]
    );
}

#[test]
fn references_of_a_part_are_in_every_file_that_means_it() {
    let other = "use parts/alien\nuse parts/plant\ndryer d : big\npressure-sensor p : gauge\n";
    let alien = "part dryer big { compressor none, delivers 1 psi, capacity 1 scfh }\n";
    let snapshot = snapshot(&[
        ("parts/plant", PARTS),
        ("parts/more", MORE),
        ("parts/alien", alien),
        ("offices/elm", OFFICE),
        ("offices/oak", other),
    ]);
    let big = PARTS.find("big").unwrap() as u32;
    let found = all(&snapshot, "parts/plant", big);
    assert_eq!(
        found,
        [
            "parts/plant!: part dryer [big] {",
            "offices/elm: dryer d1 : [big]",
            "offices/elm: dryer d2 : [big] { contact humidity { healthy open }, contact own { healthy closed } }",
        ]
    );
    let found = all(&snapshot, "offices/elm", offset("pressure-sensor p1", "gauge"));
    assert_eq!(found.len(), 4);
    assert!(found.contains(&"parts/more!: part pressure-sensor [gauge] { span 0 .. 15 psi }".to_owned()));
    assert!(found.contains(&"offices/oak: pressure-sensor p : [gauge]".to_owned()));
}

#[test]
fn where_parts_are_taken_is_known_as_reading_the_files_tells_it() {
    for (files, are_clean) in [(county(), true), (faults(), false)] {
        let snapshot = snapshot(&files);
        let (mut known, mut taken) = (0, 0);
        for (path, _) in &files {
            let analysis = analysis(&snapshot, path);
            let parts = analysis.office.own_things();
            let mut parts: Vec<_> = parts.filter_map(|(_, thing)| thing.part.clone()).collect();
            parts.dedup_by_key(|part| part.place);
            taken += parts.len();
            for part in parts {
                let Some(places) = snapshot.places_of_part(analysis.file, &part.name, part.place) else {
                    continue;
                };
                let read = mentions(&analysis).filter(|mention| mention.name == Name::Part(&part.name));
                assert_eq!(
                    places,
                    read.map(|mention| mention.range).collect::<Vec<_>>(),
                    "{path}: {}",
                    part.name
                );
                known += 1;
            }
        }
        assert!(known > 0 && (!are_clean || known > taken / 2), "{known} of {taken}");
    }
}

#[test]
fn references_of_what_a_part_has_cross_files_too() {
    let snapshot = plant(OFFICE);
    let found = all(&snapshot, "offices/elm", offset("wire d1", "humidity"));
    assert_eq!(
        found,
        [
            "offices/elm!: dryer d2 : big { contact [humidity] { healthy open }, contact own { healthy closed } }",
            "offices/elm: wire d1 contact [humidity] -> tb pair 1",
            "offices/elm: reading 2026-05-02 d1 contact [humidity] loop 300 ohm",
            "parts/plant!: contact [humidity] { healthy closed }",
        ]
    );
}

#[test]
fn highlights_tell_declarations_from_uses() {
    let (text, at) = caret(
        "cable c1 { pairs 5, branch b1 { from 1 km }, section b1 { buried 2 km } }\ncontact k { healthy closed, at c1 branch $0b1 1 km }\ncable c2 { pairs 5, branch b1 { from 1 km } }\n",
    );
    let snapshot = snapshot(&[("elm", &text)]);
    let analysis = analysis(&snapshot, "elm");
    let found = highlights(&analysis, at);
    let shown: Vec<_> = found
        .iter()
        .map(|(range, declares)| (range.start, range.of(&text), *declares))
        .collect();
    let used = text.find("branch b1 1").unwrap() as u32 + 7;
    assert_eq!(shown, [(27, "b1", true), (used, "b1", false)]);
}

#[test]
fn a_caret_between_two_names_takes_the_one_around_it() {
    let (text, at) = caret("block tb { pairs 2 }\nblock t { pairs 2 }\nwire tb pair 1->$0t pair 1\n");
    let snapshot = snapshot(&[("elm", &text)]);
    let analysis = analysis(&snapshot, "elm");
    assert_eq!(name_at(&analysis, at).unwrap().name.word(), "t");
    assert_eq!(name_at(&analysis, at + 1).unwrap().name.word(), "t");
    assert!(name_at(&analysis, at + 5).is_none(), "a number is no name");
}

fn renamed(snapshot: &Snapshot, file: &str, offset: u32, to: &str) -> Result<Vec<(String, String)>, String> {
    let analysis = analysis(snapshot, file);
    let edits = rename(snapshot, &analysis, offset, to)?;
    let edit = |(file, edits): &(FileId, Vec<_>)| {
        let (text, _) = snapshot.text(*file).unwrap();
        (name(snapshot, *file), apply(&text, edits).unwrap())
    };
    Ok(edits.iter().map(edit).collect())
}

#[test]
fn a_thing_is_renamed_in_its_file() {
    let snapshot = plant(OFFICE);
    let found = renamed(&snapshot, "offices/elm", offset("wire p1", "c1"), "c-long").unwrap();
    let [(file, text)] = found.as_slice() else {
        panic!("one file")
    };
    assert_eq!(file, "offices/elm");
    assert_eq!(*text, OFFICE.replace("c1", "c-long"));
}

#[test]
fn a_thing_of_an_installed_office_says_what_it_was_called() {
    let office = |stage: &str, thing: &str| {
        format!("office elm {{ stage {stage} }}\n{thing}\nspare tb pair rest\npart block strip {{ pairs 5 }}\n")
    };
    let after = |stage: &str, thing: &str, to: &str| {
        let text = office(stage, thing);
        let snapshot = plant(&text);
        let at = text.find("tb").unwrap() as u32;
        let (_, after) = renamed(&snapshot, "offices/elm", at, to).unwrap().remove(0);
        let (_, thing) = after.split_once("}\n").unwrap();
        thing.split_once("\nspare").unwrap().0.to_owned()
    };
    for stage in ["installed", "in-service"] {
        for (before, wanted) in [
            ("block tb { pairs 5 }", "block tc { pairs 5, formerly tb }"),
            ("block tb : strip", "block tc : strip { formerly tb }"),
            ("block tb : strip {}", "block tc : strip { formerly tb }"),
            (
                "block tb {\n  pairs 5 # of the old one\n}",
                "block tc {\n  pairs 5 # of the old one\n  formerly        tb\n}",
            ),
            (
                "block tb { pairs 5, formerly ta }",
                "block tc { pairs 5, formerly ta, formerly tb }",
            ),
            ("block tb { pairs 5, formerly tc }", "block tc { pairs 5, formerly tb }"),
        ] {
            assert_eq!(after(stage, before, "tc"), wanted);
        }
    }
    assert_eq!(after("planned", "block tb { pairs 5 }", "tc"), "block tc { pairs 5 }");
}

#[test]
fn a_part_and_what_it_has_are_renamed_across_files() {
    let snapshot = plant(OFFICE);
    let found = renamed(&snapshot, "offices/elm", offset("dryer d1", "big"), "huge").unwrap();
    assert_eq!(
        found,
        [
            ("offices/elm".to_owned(), OFFICE.replace("big", "huge")),
            ("parts/plant".to_owned(), PARTS.replace("big", "huge")),
        ]
    );
    let place = PARTS.find("mh-2").unwrap() as u32;
    let found = renamed(&snapshot, "parts/plant", place, "pole-4").unwrap();
    assert_eq!(
        found,
        [
            ("parts/plant".to_owned(), PARTS.replace("mh-2", "pole-4")),
            ("offices/elm".to_owned(), OFFICE.replace("mh-2", "pole-4")),
        ]
    );
}

#[test]
fn refusals_are_in_words() {
    let cases = [
        ("wire p1", "c1", "d1", "the name `d1` is already taken"),
        (
            "wire p1",
            "c1",
            "with",
            "`with` is a word of the language and can be no name",
        ),
        (
            "wire p1",
            "c1",
            "c 1",
            "`c 1` is no name: a name is letters, digits, `-` and `_`, starts with a letter and does not end in `-`",
        ),
        (
            "wire p1",
            "c1",
            "",
            "`` is no name: a name is letters, digits, `-` and `_`, starts with a letter and does not end in `-`",
        ),
        ("dryer d1", "big", "gauge", "the name `gauge` is already taken"),
        ("wire d2", "own", "humidity", "the name `humidity` is already taken"),
        ("wire d1", "humidity", "own", "the name `own` is already taken"),
        (
            "accept",
            "pressure",
            "x",
            "`pressure-below-minimum` is the name of a rule, and every office knows it by that",
        ),
        ("spare", "pair", "x", "there is no name here that could be changed"),
    ];
    for (line, at, to, why) in cases {
        let snapshot = plant(OFFICE);
        let found = renamed(&snapshot, "offices/elm", offset(line, at), to);
        assert_eq!(found, Err(why.to_owned()), "{line} {at}");
    }
}

#[test]
fn names_in_what_cannot_be_read_stay() {
    let (text, at) = caret("block $0tb { pairs 2 }\nblock t2 { pairs 2 }\nwire tb pair 1 -> -> t2 pair 1\n");
    let snapshot = snapshot(&[("elm", &text)]);
    let analysis = analysis(&snapshot, "elm");
    assert_eq!(prepare_rename(&analysis, at), None);
    assert_eq!(
        rename(&snapshot, &analysis, at, "tc").unwrap_err(),
        "line 3 has `tb` in it and cannot be read: put that right first"
    );
}

#[test]
fn names_that_are_not_clear_stay() {
    let (text, at) = caret("block $0tb { pairs 2 }\nblock tb { pairs 2 }\nspare tc pair 1\n");
    let snapshot = snapshot(&[("elm", &text)]);
    let analysis = analysis(&snapshot, "elm");
    assert_eq!(
        rename(&snapshot, &analysis, at, "tx").unwrap_err(),
        "`tb` is declared 2 times, so that it is not clear which is meant"
    );
    let unknown = text.find("tc").unwrap() as u32;
    assert_eq!(prepare_rename(&analysis, unknown), None);
    assert_eq!(
        rename(&snapshot, &analysis, unknown, "tx").unwrap_err(),
        "`tc` is not declared, so that it is not clear what it means"
    );
}

#[test]
fn a_name_that_would_change_the_meaning_is_refused() {
    let (text, at) = caret("contact $0k { healthy closed }\nblock tb { pairs 2 }\nwire k -> tb pair 1 white-blue\n");
    let snapshot = snapshot(&[("elm", &text)]);
    let analysis = analysis(&snapshot, "elm");
    assert!(rename(&snapshot, &analysis, at, "white-orange").is_ok());
    let why = rename(&snapshot, &analysis, at, "white-blue").unwrap_err();
    assert_eq!(
        why,
        "with the name `white-blue` there is something new: an arrow is missing before `white-blue`"
    );
}

#[test]
fn a_part_that_another_file_shadows_is_refused() {
    let other =
        "use parts/plant\npart dryer huge { compressor none, delivers 1 psi, capacity 1 scfh }\ndryer d : huge\n";
    let snapshot = snapshot(&[
        ("parts/plant", PARTS),
        ("parts/more", MORE),
        ("offices/elm", OFFICE),
        ("offices/oak", other),
    ]);
    let why = renamed(&snapshot, "offices/elm", offset("dryer d1", "big"), "huge").unwrap_err();
    assert!(why.starts_with("offices/oak.office: with the name `huge`"), "{why}");
}

#[test]
fn preparing_gives_the_name() {
    let snapshot = plant(OFFICE);
    let analysis = analysis(&snapshot, "offices/elm");
    let range = prepare_rename(&analysis, offset("wire p1", "c1") + 2).unwrap();
    assert_eq!(marked(OFFICE, range), "wire p1 -> [c1] pair 1 -> tb pair 3");
    assert_eq!(prepare_rename(&analysis, 6), None, "a file");
    assert_eq!(prepare_rename(&analysis, offset("wire p1", "pair")), None);
}

/// What is found in a file, without the words: by the statement, since a renamed thing may have a line more.
fn results(analysis: &Analysis) -> Vec<(usize, &'static str, bool)> {
    let statements = &analysis.tree.statements;
    let number = |at: u32| statements.partition_point(|statement| statement.range.end < at);
    let mut results: Vec<_> = analysis
        .findings()
        .iter()
        .map(|finding| {
            (
                number(finding.place.range.start),
                finding.rule.name(),
                finding.accepted.is_some(),
            )
        })
        .collect();
    results.sort_unstable();
    results
}

#[test]
fn every_name_of_the_county_can_be_changed_and_nothing_else_changes() {
    const STEP: usize = 11;
    for (files, are_clean) in [(county(), true), (faults(), false)] {
        let snapshot = snapshot(&files);
        let (mut done, mut refused) = (0, Vec::new());
        for (number, (path, _)) in files.iter().enumerate() {
            let analysis = analysis(&snapshot, path);
            let declared = mentions(&analysis).filter(|mention| mention.declares);
            for mention in declared.skip(number % STEP).step_by(STEP) {
                let to = format!("{}-anew", mention.name.word());
                match rename(&snapshot, &analysis, mention.range.start, &to) {
                    Ok(edits) => {
                        if done % 5 == 0 {
                            assert_same_results(&files, &snapshot, &edits);
                        }
                        done += 1;
                    }
                    Err(why) => refused.push(why),
                }
            }
        }
        let clear = ["cannot be read", "is declared 2 times", "is not declared"];
        for why in &refused {
            assert!(clear.iter().any(|clear| why.contains(clear)), "{why}");
        }
        assert!(done > 40, "{done}");
        assert!(!are_clean || refused.is_empty(), "{refused:?}");
    }
}

fn assert_same_results(files: &[(String, String)], snapshot: &Snapshot, edits: &[(FileId, Vec<drysheath_text::Edit>)]) {
    let mut after = files.to_vec();
    for (file, edits) in edits {
        let name = name(snapshot, *file);
        let (_, text) = after.iter_mut().find(|(path, _)| *path == name).unwrap();
        *text = apply(text, edits).unwrap();
    }
    let one = snapshot_unlinted(files);
    let other = snapshot_unlinted(&after);
    for (file, _) in edits {
        let path = name(snapshot, *file);
        let (before, after) = (analysis(&one, &path), analysis(&other, &path));
        assert_ne!(before.text, after.text);
        assert_eq!(results(&before), results(&after), "{path}");
    }
}

#[test]
fn damaged_texts_are_no_trouble() {
    let mut asked = 0;
    on_damaged_texts(|snapshot, analysis, offset| {
        asked += 1;
        definition(snapshot, analysis, offset);
        type_definition(snapshot, analysis, offset);
        references(snapshot, analysis, offset);
        highlights(analysis, offset);
        if let Some(range) = prepare_rename(analysis, offset) {
            assert!(range.start <= offset && offset <= range.end);
            if asked % 8 == 0 {
                let _ = rename(snapshot, analysis, offset, "another-name");
            }
        }
    });
}

#[test]
fn things_and_sections_are_renamed_in_what_is_expected() {
    let office = "office elm { stage planned }
dryer d1 { delivers 10 psi, capacity 50 scfh }
cable c1 { section s1 { buried 1 km }, place mh-1 { at 500 m } }
pressure-sensor ps1 { at c1 1 km, span 0 .. 15 psi, limit low 5 psi }
air d1 -> c1
when d1 stops, c1 section s1 has usage 5 scfh expect ps1 low, c1 above 2 psi
when c1 breaks at place mh-1 expect ps1 low
";
    let snapshot = plant(office);
    let at = |line: &str, word: &str| {
        let start = office.find(line).unwrap();
        (start + office[start..].find(word).unwrap()) as u32
    };
    for (line, word, to) in [
        ("when d1", "d1", "d-old"),
        ("when d1", "c1", "c-long"),
        ("when d1", "s1", "duct"),
        ("when d1", "ps1", "ps-end"),
        ("when c1", "mh-1", "mh-9"),
    ] {
        let found = renamed(&snapshot, "offices/elm", at(line, word), to).unwrap();
        let [(_, text)] = found.as_slice() else {
            panic!("one file")
        };
        let words = |text: &str| {
            let is_part = |one: char| one.is_alphanumeric() || one == '-';
            let words = text.split_inclusive(|one| !is_part(one)).map(str::to_owned);
            words.collect::<Vec<_>>()
        };
        let wanted = words(office).into_iter().map(|one| match one.strip_prefix(word) {
            Some(end) if !end.starts_with(|one: char| one.is_alphanumeric() || one == '-') => format!("{to}{end}"),
            _ => one,
        });
        assert_eq!(*text, wanted.collect::<String>(), "{word}");
    }
}
