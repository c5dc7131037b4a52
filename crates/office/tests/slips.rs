//! What people type by habit or paste from elsewhere: one problem each, which says what to write.
#![allow(clippy::unwrap_used, clippy::panic)]

use drysheath_office::{Office, PartsInMemory, Problem, lower};
use drysheath_syntax::parse;
use drysheath_text::{FileId, apply};

/// A small office that has no problem.
const OFFICE: &str = r#"office elm-hollow { title "Elm Hollow", elevation 310 m, stage planned }
battery main { nominal -48 V, working -43 V .. -54 V, filtered yes }
fuse-panel pdf { positions 1 .. 10, current-max 30 A }
monitor m1 { sensors 8, contacts 4, loop-max 4000 ohm }
dryer d1 { compressor piston, delivers 30 psi, capacity 100 scfh, dew-point -40 degC }
regulator r1 { set 10 psi, differential 5 psi }
flow-sensor f1 { span 0 .. 15 scfh, step 0.2 scfh, limit high 10 scfh major deadband 0.6 scfh }
manifold mf { ports 4, rating 30 psi }
cable c101 { pairs 50, gauge 24 awg, section s1 { buried 2 km } }
block tb { pairs 25 }
power pdf fuse 1 -> m1 with 3 A, 14 awg, 6 m
air d1 -> r1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m
spare tb pair 5 .. 25
wire f1 flow -> tb pair 1 -> m1 sensor 1
"#;

fn office(text: &str) -> Office {
    let library = PartsInMemory::new([
        (FileId(1), "parts/regulators", "part regulator line-two { set 10 psi }"),
        (FileId(2), "offices/other", "part regulator elsewhere { set 10 psi }"),
    ]);
    lower(FileId(0), "offices/elm", text.into(), &parse(text), &library)
}

/// The one problem of the office in which `old` has become `new`, with that text.
fn slip(old: &str, new: &str) -> (String, Problem) {
    assert_eq!(OFFICE.matches(old).count(), 1, "{old}");
    let text = OFFICE.replace(old, new);
    let problems = office(&text).problems;
    let [only] = problems.as_slice() else {
        panic!("{new}: {problems:?}")
    };
    (text, only.clone())
}

/// What is said of a slip: the bytes, the message, what to do. A fix must leave nothing to say.
fn said(old: &str, new: &str) -> String {
    let (text, problem) = slip(old, new);
    if let Some(fix) = &problem.fix {
        let mended = apply(&text, &fix.edits).unwrap();
        assert_eq!(office(&mended).problems, [], "{mended}");
    }
    let help = problem.help.map_or(String::new(), |help| format!(" | {help}"));
    let fixed = problem.fix.map_or("", |_| " | fix");
    format!("{} | {}{help}{fixed}", problem.range.of(&text), problem.message)
}

#[test]
fn the_office_has_no_problem() {
    assert_eq!(office(OFFICE).problems, []);
}

#[test]
fn figures_written_by_habit() {
    for (old, new, expected) in [
        (
            "3/8 in tube",
            "3/8\" tube",
            "3/8\" | `3/8\"` has an inch mark | write `3/8 in` | fix",
        ),
        (
            "6 m\nair",
            "20'\nair",
            "20' | `20'` has a foot mark | write `20 ft` | fix",
        ),
        (
            "310 m",
            "6'2\"",
            "6' | `6'` has a foot mark | write one number and `ft`",
        ),
        (
            "310 m",
            "1,020 ft",
            "1,020 | `1,020` has a comma inside a number | write `1020`, or `1.020` if the comma is the decimal point",
        ),
        (
            "step 0.2 scfh",
            "step 0,2 scfh",
            "0,2 | `0,2` has a comma for a decimal point | write `0.2` | fix",
        ),
        (
            "step 0.2 scfh",
            "step .2 scfh",
            ".2 | `.2` has no digit before its decimal point | write `0.2` | fix",
        ),
        (
            "step 0.2 scfh",
            "step O.2 scfh",
            "O.2 | the letter O is in the place of a zero | write `0.2` | fix",
        ),
        (
            "rating 30 psi",
            "rating 3O psi",
            "3O | `3O` has a letter in the place of a digit | write `30` | fix",
        ),
        (
            "set 10 psi",
            "set l0 psi",
            "l0 | `l0` has a letter in the place of a digit | write `10` | fix",
        ),
        (
            "set 10 psi",
            "set 10. psi",
            ". | `10.` ends with a decimal point | delete the point, or write the digits after it | fix",
        ),
        (
            "span 0 .. 15 scfh",
            "span 0 to 15 scfh",
            "to | `to` does not make a range | a range is written with two dots, such as `1 .. 10` | fix",
        ),
        (
            "pair 5 .. 25",
            "pair 5 to 25",
            "to | `to` does not make a range | a range is written with two dots, such as `1 .. 10` | fix",
        ),
        (
            "span 0 .. 15 scfh",
            "span 0-15 scfh",
            "0-15 | `0-15` does not make a range | a range is written with two dots, such as `1 .. 10` | fix",
        ),
        (
            "span 0 .. 15 scfh",
            "span 0 - 15 scfh",
            "- | `-` does not make a range | a range is written with two dots, such as `0 .. 15 psi` | fix",
        ),
        (
            "span 0 .. 15 scfh",
            "span 0 ... 15 scfh",
            "... | a range is written with two dots | write `..` | fix",
        ),
        (
            "dew-point -40 degC",
            "dew-point -40 C",
            "C | unknown unit `C` | units of temperature are degF, degC, K | fix",
        ),
        (
            "4000 ohm",
            "4000 \u{b5}ohm",
            "\u{b5}ohm | unknown unit `\u{b5}ohm` | units of resistance are ohm, kohm, Mohm",
        ),
    ] {
        assert_eq!(said(old, new), expected);
    }
}

#[test]
fn fuses_and_wire_written_by_habit() {
    for (old, new, expected) in [
        (
            "3 A, 14 awg",
            "3A fuse, 14 awg",
            "fuse | unexpected `fuse` after `A` | the current alone says the fuse: delete the word | fix",
        ),
        (
            "3 A, 14 awg",
            "fuse 3 A, 14 awg",
            "fuse | unexpected `fuse` before its current | the current alone says the fuse: delete the word | fix",
        ),
        (
            "14 awg, 6 m",
            "#14, 6 m",
            "#14 | `#` starts a comment, and `#14` looks like a wire size | write `14 awg`; a comment has a blank after its `#` | fix",
        ),
        (
            "14 awg, 6 m",
            "6 m, #14 awg",
            "#14 awg | `#` starts a comment, and `#14` looks like a wire size | write `14 awg`; a comment has a blank after its `#` | fix",
        ),
        (
            "gauge 24 awg",
            "gauge #24",
            "#24 | `#` starts a comment, and `#24` looks like a wire size | write `24 awg`; a comment has a blank after its `#` | fix",
        ),
        (
            "gauge 24 awg",
            "gauge awg 24",
            "awg 24 | `awg 24` has its unit before the number | write `24 awg` | fix",
        ),
        (
            "14 awg, 6 m",
            "14 ga, 6 m",
            "ga | unknown unit `ga` | is `awg` meant? | fix",
        ),
        (
            "3/8 in tube",
            "3/8 in OD",
            "OD | unexpected `OD` after `in` | the outside diameter is written `3/8 in tube` | fix",
        ),
    ] {
        assert_eq!(said(old, new), expected);
    }
}

#[test]
fn words_written_by_habit() {
    for (old, new, expected) in [
        (
            "major deadband",
            "urgent deadband",
            "urgent | unknown severity `urgent` | the severities are `critical`, `major`, `minor` and `warning` (ITU-T X.733)",
        ),
        (
            "major deadband",
            "Major deadband",
            "Major | unknown severity `Major` | is `major` meant? | fix",
        ),
        (
            "major deadband",
            "major, deadband",
            "deadband | `deadband` belongs to the limit before it | delete the comma between the two | fix",
        ),
        (
            "wire f1",
            "wire F1",
            "F1 | nothing in this office is named `F1` | is `f1` meant? | fix",
        ),
        (
            "filtered yes",
            "filtered Yes",
            "Yes | `filtered` expects `yes` or `no`, found `Yes` | fix",
        ),
        (
            "spare tb",
            "Spare tb",
            "Spare | `Spare` has capitals, and `spare` has none | is `spare` meant? | fix",
        ),
        (
            "block tb { pairs 25 }",
            "block tb { pairs: 25 }",
            ": | `:` is not written between a field and its value | delete it | fix",
        ),
        (
            "block tb { pairs 25 }",
            "block tb { pairs = 25 }",
            "= | `=` is not written between a field and its value | delete it | fix",
        ),
        (
            "block tb { pairs 25 }",
            "block tb { pairs 25; }",
            "; | `;` ends nothing: a field ends with its line or a comma | delete it | fix",
        ),
        (
            "block tb { pairs 25 }",
            "block tb [pairs 25]",
            "[ | `[` does not mark a block | a block is between `{` and `}`",
        ),
        (
            "block tb",
            "// the block\nblock tb",
            "// | `//` starts no comment | a comment starts with `#` | fix",
        ),
        (
            "pair 5 .. 25",
            "pair 5, 7",
            ", | one `spare` names one range | write another `spare` for what follows the comma",
        ),
        (
            "spare tb",
            "reading 2026-5-2 f1 7 scfh\nspare tb",
            "2026-5-2 | `2026-5-2` is not a whole date | month and day have two digits: write `2026-05-02` | fix",
        ),
        (
            "spare tb",
            "reading 5/2/2026 f1 7 scfh\nspare tb",
            "5/2/2026 | `5/2/2026` is not a number | a date is written year first, such as 2027-04-30",
        ),
        (
            "d1 -> r1 -> f1 -> mf",
            "mf -> f1 -> r1 -> d1",
            "mf -> f1 -> r1 -> d1 | this run is written backwards | air flows along the arrows, from the dryer to the cable | fix",
        ),
        ("d1 -> r1", "d1 => r1", "=> | `=>` is not an arrow | write `->` | fix"),
        ("d1 -> r1", "d1 - r1", "- | `-` is not an arrow | write `->` | fix"),
    ] {
        assert_eq!(said(old, new), expected);
    }
}

#[test]
fn pasted_characters() {
    for (old, new, expected) in [
        (
            "-43 V .. -54 V",
            "\u{2212}43 V .. \u{2212}54 V",
            "\u{2212} | the typographic minus sign `\u{2212}` is read as `-`; this file has 1 more such character | write them as a keyboard does, so that a search finds them | fix",
        ),
        (
            "set 10 psi",
            "set 10\u{a0}psi",
            "\u{a0} | a blank that does not break a line is read as an ordinary one | write them as a keyboard does, so that a search finds them | fix",
        ),
        (
            "\"Elm Hollow\"",
            "\u{201c}Elm Hollow\u{201d}",
            "\u{201c} | the typographic quotation mark `\u{201c}` is read as `\"`; this file has 1 more such character | write them as a keyboard does, so that a search finds them | fix",
        ),
        (
            "\"Elm Hollow\"",
            "'Elm Hollow'",
            "' | `'` does not mark a text | text goes between double quotes",
        ),
        (
            "0 .. 15 scfh",
            "0\u{2013}15 scfh",
            "0\u{2013}15 | `\u{2013}` does not make a range | a range is written with two dots, such as `0 .. 15 psi` | fix",
        ),
        (
            "1/4 in bore",
            "\u{bc} in bore",
            "\u{bc} | `\u{bc}` is a fraction in one character | type `1/4` | fix",
        ),
        (
            "d1 -> r1",
            "d1 \u{2192} r1",
            "\u{2192} | `\u{2192}` is not the arrow of this language | type `->` | fix",
        ),
        (
            "step 0.2",
            "step \u{b1}0.2",
            "\u{b1} | `\u{b1}` is not written: a tolerance is its amount alone | delete the sign | fix",
        ),
        (
            "set 10 psi",
            "set 1\u{d7}10 psi",
            "\u{d7} | `\u{d7}` has no meaning: nothing is multiplied in this language | write the figure itself",
        ),
    ] {
        assert_eq!(said(old, new), expected);
    }
}

#[test]
fn a_part_whose_file_is_not_used() {
    assert_eq!(
        said("regulator r1 {", "regulator r1 : line-two {"),
        "line-two | unknown part `line-two` | `parts/regulators.office` declares it: add `use parts/regulators` | fix"
    );
    assert_eq!(
        said("regulator r1 {", "regulator r1 : elsewhere {"),
        "elsewhere | unknown part `elsewhere` | add a `use` of the file that declares it"
    );
}

#[test]
fn an_unfinished_merge_is_one_problem_that_names_both_versions() {
    for (old, new) in [
        (
            "regulator r1 { set 10 psi, differential 5 psi }",
            "regulator r1 {\n    set 10 psi\n<<<<<<< HEAD\n    differential 5 psi\n||||||| 1a2b3c4\n    differential 3 psi\n=======\n    differential 4 psi\n>>>>>>> valve-work\n}",
        ),
        (
            "block tb { pairs 25 }",
            "<<<<<<< HEAD\nblock tb { pairs 25 }\n=======\nblock tb {\n    pairs 25\n    pins yes\n>>>>>>> valve-work\n}",
        ),
    ] {
        let (text, problem) = slip(old, new);
        assert_eq!(
            problem.message,
            "a merge was not finished: both versions of these lines are in the file"
        );
        let places: Vec<_> = problem
            .related
            .iter()
            .map(|related| {
                (
                    related.place.file,
                    related.place.range.of(&text),
                    related.label.as_str(),
                )
            })
            .collect();
        assert_eq!(
            places,
            [
                (FileId(0), "<<<<<<< HEAD", "the version of `HEAD`"),
                (FileId(0), ">>>>>>> valve-work", "the version of `valve-work`"),
            ]
        );
    }
    assert_eq!(
        said("block tb", ">>>>>>> valve-work\nblock tb"),
        ">>>>>>> valve-work | this line is left over from a merge | delete the line, once the lines around it are right | fix"
    );
}

#[test]
fn a_record_is_a_name_and_a_text() {
    let office = office(&OFFICE.replace(
        "pairs 25 }",
        "pairs 25, record serial \"A-1177\", record asset \"12\" }",
    ));
    assert_eq!(office.problems, []);
    let said = |new: &str| said("block tb { pairs 25 }", &format!("block tb {{ pairs 25, {new} }}"));
    assert_eq!(
        said("record serial A-1177"),
        "A-1177 | `record` expects text in quotes, found `A-1177`"
    );
    assert_eq!(
        said("record \"A-1177\""),
        "\"A-1177\" | `record` expects a name and text in quotes, such as `serial \"A-1177\"`, found `\"A-1177\"`"
    );
    assert_eq!(
        said("record serial"),
        "serial | `record` expects text in quotes after it"
    );
    assert_eq!(
        said("record serial \"A\", record serial \"B\""),
        "record serial \"B\" | `record serial` is given twice | keep one of them"
    );
}

#[test]
fn a_former_name_is_of_one_thing() {
    let said = |new: &str| said("block tb { pairs 25 }", &format!("block tb {{ pairs 25, {new} }}"));
    assert_eq!(
        said("formerly"),
        "formerly | `formerly` expects a name that it had before, such as `ps1` after it"
    );
    assert_eq!(
        said("formerly \"ta\""),
        "\"ta\" | `formerly` expects a name that it had before, such as `ps1`, found `\"ta\"` | \
         a name is written without quotes; text for people goes into `title` or `note` | fix"
    );
    assert_eq!(
        said("formerly ta, formerly ta"),
        "formerly ta | `formerly ta` is given twice | keep one of them"
    );
    let (text, problem) = slip(
        "block tb { pairs 25 }",
        "part block strip { pairs 25, formerly ta }\nblock tb : strip",
    );
    assert_eq!(
        format!("{} | {}", problem.range.of(&text), problem.message),
        "formerly ta | a part stands for many things, and only one of them was called `ta`"
    );
}

#[test]
fn what_catalogues_call_a_deadband_is_one() {
    let limit = "limit high 10 scfh major deadband 0.6 scfh";
    assert_eq!(
        said(limit, "limit high 10 scfh major differential 0.6 scfh"),
        "differential | a limit calls `differential` its `deadband` | write `deadband` and how far the reading must come back before the \
         alarm clears, as in `deadband 0.3 psi` | fix"
    );
    assert_eq!(
        said(limit, "limit high 10 scfh hysteresis 0.6 scfh"),
        "hysteresis | a limit calls `hysteresis` its `deadband` | write `deadband` and how far the reading must come back before the \
         alarm clears, as in `deadband 0.3 psi` | fix"
    );
    assert_eq!(
        said(limit, "limit high 10 scfh major, differential 0.6 scfh"),
        "differential | a limit calls `differential` its `deadband`, and says it itself | write `deadband` right after the severity, \
         without a comma before it | fix"
    );
}

#[test]
fn signs_of_sums_are_answered_in_words() {
    let with = |loss: &str| format!("step 0.2 scfh, {loss}");
    assert_eq!(
        said("step 0.2 scfh", &with("loss 0.5 psi @ 20 scfh")),
        "@ | `@` is not written: the word is `at` | a loss is stated at a flow, as in `loss 0.5 psi at 20 scfh` | fix"
    );
    assert_eq!(
        said("step 0.2 scfh", &with("loss 0.5 psi@20 scfh")),
        "@ | `@` is not written: the word is `at` | a loss is stated at a flow, as in `loss 0.5 psi at 20 scfh` | fix"
    );
    assert_eq!(
        said("step 0.2 scfh", &with("loss 0.1 psi at 10 scfh + 0.2 psi at 20 scfh")),
        "+ | `+` has no meaning: nothing is added up in this language | write each loss as a field of its own: \
         `loss 0.1 psi at 10 scfh, loss 0.2 psi at 20 scfh`"
    );
}

#[test]
fn a_fact_of_a_repository_is_a_record() {
    assert_eq!(
        said("ports 4, rating 30 psi", "ports 4, rating 30 psi, serial \"A-1177\""),
        "serial | manifold `mf` has no field `serial` | what a repository keeps of a thing for itself is a record: write \
         `record serial \"…\"` | fix"
    );
}

#[test]
fn a_text_says_something_that_can_be_seen() {
    let with = |text: &str| format!("ports 4, rating 30 psi, note {text}");
    for empty in ["\"\"", "\" \""] {
        assert_eq!(
            said("ports 4, rating 30 psi", &with(empty)),
            format!(
                "{empty} | the text of `note` is empty | write between the quotes what people should read there, or leave it out"
            )
        );
    }
    assert_eq!(
        said("ports 4, rating 30 psi", &with("\"left\u{200b} of \u{7}it\"")),
        "\u{200b} | this text has an invisible character, U+200B; there are 2 in this file | delete it: two texts that look the \
         same would differ | fix"
    );
    // Letters of all scripts, their joiners and tabs stay.
    let text = OFFICE.replace(
        "ports 4, rating 30 psi",
        &with("\"\u{645}\u{6cc}\u{200c}\u{62e}\u{648}\u{627}\u{647}\u{645}\tß 漏\""),
    );
    assert_eq!(office(&text).problems, []);
}
