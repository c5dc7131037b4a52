//! Completion in the example office and in damaged texts.

use drysheath_fixture::{caret, county, example_and, example_with, faults, open};
use drysheath_ide::{Completion, CompletionKind, completions};
use drysheath_rules::Family;
use drysheath_text::{Edit, apply};

fn offered(marked: &str) -> Vec<Completion> {
    let (text, at) = caret(marked);
    let (snapshot, analysis) = open("office", &text, &[]);
    completions(&snapshot, &analysis, at)
}

fn labels(marked: &str) -> Vec<String> {
    offered(marked).into_iter().map(|item| item.label).collect()
}

/// The first few labels at the end of the example office.
fn first(line: &str, count: usize) -> Vec<String> {
    labels(&example_and(line)).into_iter().take(count).collect()
}

/// The text after a completion was taken.
fn taken(marked: &str, label: &str) -> String {
    let (text, at) = caret(marked);
    let (snapshot, analysis) = open("office", &text, &[]);
    let all = completions(&snapshot, &analysis, at);
    let item = all.iter().find(|item| item.label == label);
    let item = item.unwrap_or_else(|| {
        panic!(
            "{label} is not among {:?}",
            all.iter().map(|it| &it.label).collect::<Vec<_>>()
        )
    });
    let mut edits = item.also.clone();
    edits.push(Edit {
        range: item.replace,
        replacement: item.insert.clone(),
    });
    apply(&text, &edits).unwrap()
}

#[test]
fn a_statement_starts_with_a_kind_or_a_word() {
    let all = offered(&example_and("$0"));
    let regulator = all.iter().find(|item| item.label == "regulator").unwrap();
    assert_eq!(regulator.kind, CompletionKind::Kind);
    assert_eq!(regulator.insert, "regulator ");
    assert!(regulator.documentation.starts_with("A pressure regulator"));
    let snippet = regulator.snippet.as_deref().unwrap();
    assert_eq!(
        snippet,
        "regulator ${1:r2} { set ${2:10 psi}, differential ${3:5 psi} \\}$0"
    );
    for word in [
        "air",
        "wire",
        "power",
        "ground",
        "spare",
        "assigned",
        "defective",
        "accept",
        "reading",
        "part",
        "use",
    ] {
        assert!(all.iter().any(|item| item.label == word), "{word}");
    }
    assert!(all.iter().all(|item| item.label != "office"), "a file has one office");
    assert_eq!(labels("$0").first().map(String::as_str), Some("office"));
    // Half a word changes nothing of what is offered: the editor compares.
    assert!(first("regu$0", 99).contains(&"regulator".to_owned()));
    assert!(first("block x { pairs 5 } $0", 99).contains(&"air".to_owned()));
}

#[test]
fn a_whole_thing_is_one_that_can_be_read() {
    let all = offered(&example_and("$0"));
    for item in all.iter().filter(|item| item.kind == CompletionKind::Kind) {
        let written = filled(item.snippet.as_deref().unwrap());
        let (_, analysis) = open("office", &example_and(&written), &[]);
        let slips = analysis
            .findings()
            .iter()
            .filter(|finding| finding.rule.family == Family::Language);
        // What stands between the quotes is for whoever types.
        let slips = slips.filter(|finding| !finding.message.ends_with("is empty"));
        let slips: Vec<_> = slips.map(|finding| &finding.message).collect();
        assert!(slips.is_empty(), "{written}: {slips:?}");
    }
}

/// A snippet with its places as they are filled.
fn filled(snippet: &str) -> String {
    let mut out = String::new();
    let mut rest = snippet.chars().peekable();
    let mut depth = 0;
    while let Some(character) = rest.next() {
        match character {
            '\\' => out.extend(rest.next()),
            '$' if rest.peek() == Some(&'{') => {
                depth += 1;
                for skipped in rest.by_ref() {
                    if skipped == ':' {
                        break;
                    }
                }
            }
            '$' => {
                rest.next();
            }
            '}' if depth > 0 => depth -= 1,
            other => out.push(other),
        }
    }
    out
}

#[test]
fn fields_are_those_not_said_yet() {
    let names = first("regulator r2 {\n    set 5 psi\n    $0\n    relief 9 psi\n}\n", 99);
    assert_eq!(
        names.first().map(String::as_str),
        Some("differential"),
        "what must be there comes first"
    );
    assert!(
        !names.contains(&"set".to_owned()) && !names.contains(&"relief".to_owned()),
        "{names:?}"
    );
    let all = offered(&example_and("valve v2 { function check, st$0 }"));
    let stands = all.iter().find(|item| item.label == "stands").unwrap();
    assert_eq!(stands.detail, "open, closed; open where it is left out");
    assert_eq!(stands.documentation, "Its position in normal operation.");
    // The brace is not there yet, and the next statement is.
    let open = labels(&example_with(
        "regulator r1 {",
        "regulator r9 {\n    $0\nregulator r1 {",
    ));
    assert!(open.contains(&"set".to_owned()), "{open:?}");
    let inner = first("cable c9 { pairs 5, section s1 { buried 3 km, $0", 99);
    assert!(
        inner.contains(&"resistance".to_owned()) && !inner.contains(&"buried".to_owned()),
        "{inner:?}"
    );
    // Limits and sections may be said again.
    assert!(first("pressure-sensor p9 { limit low 3 psi minor, $0 }", 99).contains(&"limit".to_owned()));
}

#[test]
fn a_forgotten_comma_is_put_there() {
    let text = taken(&example_and("regulator r2 { set 5 psi $0 }"), "relief");
    assert!(text.ends_with("regulator r2 { set 5 psi, relief  }"), "{text}");
}

#[test]
fn values_are_of_their_field() {
    assert_eq!(
        first("dryer d2 { compressor $0 }", 9),
        ["piston", "diaphragm", "scroll", "rotary", "none"]
    );
    assert_eq!(first("block b2 { pins $0 }", 9), ["yes", "no"]);
    assert_eq!(
        first("office x { stage pl$0 }", 9),
        ["planned", "installed", "in-service"]
    );
    assert_eq!(
        first("pressure-sensor p9 { limit $0 }", 9),
        ["low-low", "low", "high", "high-high"]
    );
    assert_eq!(
        first("pressure-sensor p9 { limit low 3 psi $0 }", 5),
        ["critical", "major", "minor", "warning", "deadband"]
    );
    assert_eq!(first("pressure-sensor p9 { at $0 }", 9), ["c101"]);
    assert_eq!(
        first("regulator r2 { inlet 1/4 in $0 }", 9),
        ["compression", "barb", "push-in", "npt", "iso-7", "iso-228", "thread"]
    );
    assert_eq!(first("regulator r2 { inlet 1/4 in thread $0 }", 9), ["male", "female"]);
    assert_eq!(first("monitor m2 { link $0 }", 9), ["lan", "dialled"]);
}

#[test]
fn units_are_of_the_dimension_and_the_habitual_comes_first() {
    assert_eq!(first("pressure-sensor p9 { span 0 .. 15 $0 }", 2), ["psi", "psia"]);
    assert_eq!(
        first("regulator r2 { droop 0.1 $0 }", 9),
        ["psi/scfh", "psi/scfm", "kPa/slpm"]
    );
    // `elevation` is in metres here, although inches and kilometres are more frequent.
    let metres = first("office x { elevation 3 $0 }", 1);
    assert_eq!(metres, ["m"]);
    // What counts from vacuum has no other units.
    assert_eq!(
        first("dryer d9 { rating-pressure 14.7 $0 }", 99),
        ["psia", "kPa-abs", "bar-abs"]
    );
    // A difference is neither gauge nor absolute.
    assert!(!first("pressure-sensor p9 { step 0.1 $0 }", 99).contains(&"psia".to_owned()));
    let metric = example_and("regulator r2 { set 50 kPa, relief 70 $0 }").replace(" psi", " kPa");
    assert_eq!(labels(&metric).first().map(String::as_str), Some("kPa"));
    // Right behind the number a blank is put before the unit; half a unit is taken away.
    assert!(taken(&example_and("regulator r2 { set 5$0 }"), "kPa").ends_with("set 5 kPa }"));
    assert!(taken(&example_and("regulator r2 { set 5 ps$0 }"), "kPa").ends_with("set 5 kPa }"));
    assert_eq!(first("reading 2026-05-12 f1 7 $0", 1), ["scfh"]);
    assert_eq!(first("power pdf fuse 2 -> m1 with 3 $0", 2), ["m", "awg"]);
}

#[test]
fn the_next_free_pair_comes_first() {
    // ps1 stands on the cable, so that its pair there comes first.
    let ends = first("wire ps1 -> $0", 3);
    assert_eq!(ends, ["c101 pair 1", "tb pair 5", "m1 sensor 4"]);
    assert_eq!(first("wire p1 -> $0", 2), ["tb pair 5", "m1 sensor 4"]);
    assert_eq!(
        first("wire d1 contact humidity -> tb pair 6 -> $0", 2),
        ["m1 contact 2", "c101 pair 1"]
    );
    assert_eq!(first("wire p1 -> tb $0", 2), ["pair 5", "pair"]);
    assert_eq!(first("wire p1 -> tb pair $0", 3), ["5", "6", "7"]);
    assert_eq!(first("wire p1 -> tb pair 1$0", 3), ["10", "11", "12"]);
    assert_eq!(first("power $0", 1), ["pdf fuse 2"]);
    assert_eq!(first("air $0", 1), ["mf port 3"]);
    // As many as the end before has.
    assert_eq!(first("wire c101 pair 41 .. 45 -> tb pair $0", 1), ["5 .. 9"]);
    assert_eq!(first("wire c101 pair 41 .. 45 -> tb pair 5 .. $0", 1), ["9"]);
}

#[test]
fn what_is_taken_is_no_longer_said_to_be_spare() {
    let all = offered(&example_and("wire p1 -> $0"));
    assert_eq!(all[0].detail, "free, declared spare; it is taken off the `spare` line");
    assert_eq!(all[0].documentation, "white-slate");
    let text = taken(&example_and("wire p1 -> $0"), "tb pair 5");
    assert!(text.contains("\nspare tb pair 6 .. 25\n"), "{text}");
    let text = taken(&example_and("wire p1 -> tb pair $0"), "7");
    assert!(
        text.contains("\nspare tb pair 5 .. 6\nspare tb pair 8 .. 25\n"),
        "{text}"
    );
    let text = taken(
        &example_with("spare tb pair 5 .. 25", "spare tb pair 5\nwire p1 -> tb pair $0"),
        "5",
    );
    assert!(!text.contains("spare tb"), "{text}");
    // Free and not said to be: nothing else changes.
    let free = offered(&example_with("spare tb pair 5 .. 25\n", "wire p1 -> tb pair $0\n"));
    assert_eq!((free[0].label.as_str(), free[0].detail.as_str()), ("5", "free"));
    assert!(free[0].also.is_empty());
}

#[test]
fn what_another_run_brought_goes_on() {
    let text = example_with("-> tb pair 3        -> m1 sensor 3", "-> tb pair 3\nwire $0");
    let all = offered(&text);
    assert_eq!(all[0].label, "tb pair 3");
    assert_eq!(all[0].detail, "carries `ps1`, which reaches no input yet");
    let pairs = labels(&text.replace("wire $0", "wire tb pair $0"));
    assert_eq!(pairs.first().map(String::as_str), Some("3"));
    let inputs = labels(&text.replace("wire $0", "wire tb pair 3 -> $0"));
    assert_eq!(inputs.first().map(String::as_str), Some("m1 sensor 3"), "{inputs:?}");
}

#[test]
fn terminated_pairs_come_after_free_ones() {
    let line = "wire c101 pair 1 .. 2 -> tb pair 5 .. 6\nwire ps1 -> c101 pair $0";
    let all = offered(&example_and(line));
    let at = |label: &str| all.iter().position(|item| item.label == label).unwrap();
    assert!(at("3") < at("1"));
    assert_eq!(all[at("1")].detail, "terminated, carries nothing");
}

#[test]
fn things_are_offered_where_they_can_stand() {
    assert_eq!(first("ground m1 -> $0", 1), ["ogb"]);
    assert_eq!(first("ground $0", 3), ["pdf", "m1", "d1"]);
    assert_eq!(
        labels(&example_with(
            "ground d1 frame             -> ogb              with 10 awg, 4 m",
            "ground $0"
        ))
        .first()
        .map(String::as_str),
        Some("d1")
    );
    assert_eq!(first("power pdf fuse 2 -> $0", 1), ["m1"]);
    let air = first("air d1 -> $0", 99);
    assert!(
        air.contains(&"r1".to_owned()) && !air.contains(&"tb".to_owned()) && !air.contains(&"d1".to_owned()),
        "{air:?}"
    );
    let wire = first("wire $0", 99);
    assert!(
        wire.contains(&"d1 contact humidity".to_owned()) && !wire.contains(&"mf".to_owned()),
        "{wire:?}"
    );
    assert_eq!(first("wire p1 -> tb pair 5 $0", 3), ["white-slate", "->", "with"]);
    assert_eq!(first("wire p1 -> m1 $0", 2), ["sensor 4", "sensor"]);
}

#[test]
fn the_line_below_stays_what_it_is() {
    let old = "block tb                    { pairs 25 }";
    for line in ["wire p1 -> $0", "wire p1 -> tb $0", "wire p1 -> tb pair $0"] {
        let text = example_with(old, &format!("{line}\n{old}"));
        assert!(labels(&text).iter().any(|label| label.ends_with('5')), "{line}");
    }
    let run = "wire f1 flow                -> tb pair 1";
    let text = example_with(run, &format!("wire p1 -> tb pair 5 -> $0\n{run}"));
    assert_eq!(labels(&text).first().map(String::as_str), Some("m1 sensor 4"));
}

#[test]
fn sizes_are_the_usual_ones() {
    assert_eq!(first("wire p1 -> tb pair 5 with $0", 1), ["22 awg"]);
    assert_eq!(first("air d1 -> r1 with 3/8 in $0", 9), ["tube", "bore", "then"]);
    let more = first("air d1 -> r1 with 3/8 in tube, $0", 99);
    assert!(
        more.contains(&"1/4 in bore".to_owned()) && !more.iter().any(|size| size.ends_with("tube")),
        "{more:?}"
    );
    // Each piece has sizes of its own.
    assert_eq!(first("power pdf fuse 2 -> m1 with 3 A, 14 awg, 6 m $0", 9), ["then"]);
    let piece = first("power pdf fuse 2 -> m1 with 3 A, 14 awg, 6 m then $0", 3);
    assert!(piece.contains(&"14 awg".to_owned()), "{piece:?}");
    assert_eq!(
        first("power pdf fuse 2 -> m1 with 3 A, 14 awg, 6 m then 14 awg, 2 $0", 2),
        ["awg", "m"]
    );
    assert_eq!(
        first("air d1 -> r1 with adapter 1/4 in $0", 9),
        ["compression", "barb", "push-in", "npt", "iso-7", "iso-228", "thread"]
    );
}

#[test]
fn spare_offers_what_nobody_said() {
    let text = example_with("spare tb pair 5 .. 25\n", "spare $0\n");
    assert_eq!(labels(&text).first().map(String::as_str), Some("tb pair 5 .. 25"));
    assert_eq!(
        labels(&text.replace("spare $0", "spare tb $0"))
            .first()
            .map(String::as_str),
        Some("pair 5 .. 25")
    );
    assert_eq!(
        labels(&text.replace("spare $0", "spare tb pair $0"))
            .first()
            .map(String::as_str),
        Some("5 .. 25")
    );
    assert_eq!(
        labels(&text.replace("spare $0", "spare tb pair $0"))
            .last()
            .map(String::as_str),
        Some("rest")
    );
    assert_eq!(labels(&text.replace("spare $0", "spare d1 contact $0")), ["humidity"]);
    let assigned = |line: &str| labels(&text.replace("spare $0", line));
    assert_eq!(assigned("assigned $0"), ["m1", "c101", "tb"]);
    assert_eq!(assigned("assigned tb $0"), ["pair"]);
    assert_eq!(assigned("assigned tb pair $0"), ["5 .. 25"]);
    assert_eq!(assigned("assigned tb pair 5 .. 9 $0"), ["to"]);
    assert_eq!(assigned("defective tb pair 5 $0"), ["..", "because"]);
    assert_eq!(assigned("defective tb pair 5 because $0"), ["\"\""]);
    // What is taken of the rest changes nothing but the run.
    let text = taken(
        &example_with("spare tb pair 5 .. 25", "spare tb pair rest\nwire p1 -> tb pair $0"),
        "5",
    );
    assert!(text.contains("spare tb pair rest\nwire p1 -> tb pair 5"), "{text}");
}

#[test]
fn an_acceptance_is_led_word_by_word() {
    let text = example_with("spare tb pair 5 .. 25\n", "accept $0\n");
    assert!(labels(&text).contains(&"pair-not-said-spare".to_owned()));
    // While the statement is written, nothing is known to be missing; the rules come in their order.
    assert_eq!(labels(&example_and("accept pair-not-said-spare $0")), ["on"]);
    assert!(first("accept pair-not-said-spare on $0", 99).contains(&"tb".to_owned()));
    assert_eq!(labels(&example_and("accept pair-not-said-spare on tb $0")), ["because"]);
    assert_eq!(
        labels(&example_and("accept pair-not-said-spare on tb because $0")),
        ["\"\""]
    );
    assert_eq!(
        labels(&example_and("accept pair-not-said-spare on tb because \"x\" $0")),
        ["until"]
    );
    let days = labels(&example_and("accept pair-not-said-spare on tb because \"x\" until $0"));
    assert_eq!(days, ["2027-11-01", "2027-05-01", "2027-02-01"]);
    let text = taken(
        &example_and("accept pair-not-said-spare on tb because \"x\" until 2027-0$0"),
        "2027-11-01",
    );
    assert!(text.ends_with("until 2027-11-01"), "{text}");
}

#[test]
fn an_acceptance_offers_the_results_at_hand_first() {
    let text = example_and("accept $0")
        .replace(
            "-> ogb              with 6 awg,  3 m",
            "-> ogb              with 12 awg, 3 m",
        )
        .replace("set             10 psi", "set             25 psi");
    let offered = offered(&text);
    let given: Vec<_> = offered
        .iter()
        .take_while(|item| item.detail == "given in this file")
        .map(|item| &*item.label)
        .collect();
    assert_eq!(given, ["ground-conductor-small", "regulator-set-above-rating"]);
    // Then all others that can be accepted on a thing, each once.
    let others: Vec<_> = offered.iter().skip(given.len()).collect();
    assert!(others.len() > 100 && others.iter().all(|item| item.detail != "given in this file"));
    assert!(others.iter().all(|item| !given.contains(&&*item.label)));
}

#[test]
fn a_reading_is_led_word_by_word() {
    assert_eq!(labels(&example_and("reading $0")), ["2026-11-01"]);
    assert_eq!(
        first("reading 2026-05-12 $0", 9),
        ["m1", "d1", "f1", "p1", "c101", "ps1"]
    );
    assert_eq!(first("reading 2026-05-12 m1 $0", 9), ["supply"]);
    assert_eq!(
        first("reading 2026-05-12 c101 $0", 9),
        ["decay", "place", "underground", "buried", "aerial"]
    );
    assert_eq!(first("reading 2026-05-12 ps1 $0", 9), ["loop"]);
    assert_eq!(first("reading 2026-05-12 ps1 loop 1120 $0", 1), ["ohm"]);
    assert_eq!(first("reading 2026-05-12 c101 decay 9 psi .. 8 psi $0", 9), ["over"]);
    assert_eq!(
        first("reading 2026-05-12 c101 decay 9 psi .. 8 psi over 12 min $0", 9),
        ["at"]
    );
}

#[test]
fn parts_and_their_files() {
    let parts = (
        "parts/field.office".to_owned(),
        "part pressure-sensor field-pressure { span 0 .. 10 psi }\npart regulator line-two { set 5 psi }\n".to_owned(),
    );
    let more = (
        "parts/more.office".to_owned(),
        "part block ten { pairs 10 }\n".to_owned(),
    );
    let offered = |marked: &str| {
        let (text, at) = caret(marked);
        let (snapshot, analysis) = open("offices/a", &text, &[parts.clone(), more.clone()]);
        completions(&snapshot, &analysis, at)
    };
    let labels = |marked: &str| offered(marked).into_iter().map(|item| item.label).collect::<Vec<_>>();
    assert_eq!(labels("use $0"), ["parts/field", "parts/more"]);
    assert_eq!(labels("use parts/field\nuse pa$0"), ["parts/more"]);
    assert_eq!(labels("use parts/field\npressure-sensor ps1 : $0"), ["field-pressure"]);
    assert_eq!(
        labels("use parts/field\npart regulator own { set 3 psi }\nregulator r1 : $0 { }"),
        ["own", "line-two"]
    );
    assert_eq!(labels("use parts/field\nregulator r1 $0"), [": line-two", "{"]);
    let part = &offered("use parts/field\nregulator r1 : $0")[0];
    assert_eq!(
        (part.detail.as_str(), part.documentation.as_str()),
        ("part in field", "says set")
    );
}

#[test]
fn nothing_is_offered_within_comments_and_texts() {
    for line in [
        "# air $0",
        "office x { title \"air $0\" }",
        "office x { title \"air $0",
        "wire p1 -> tb pair 5 # $0",
    ] {
        assert!(offered(&example_and(line)).is_empty(), "{line}");
    }
}

#[test]
fn every_prefix_and_every_place_has_an_answer() {
    for files in [county(), faults()] {
        let mut random = fastrand::Rng::with_seed(7);
        for (path, text) in &files {
            for _ in 0..6 {
                let cut = &text[..text.floor_char_boundary(random.usize(..=text.len()))];
                let (snapshot, analysis) = open(path, cut, &[]);
                let (one, another) = (random.usize(..=cut.len()), random.usize(..=cut.len()));
                for at in [cut.len(), one, another, cut.len() + 9] {
                    for item in completions(&snapshot, &analysis, at as u32) {
                        assert!(item.replace.end as usize <= cut.len());
                        let mut edits = item.also.clone();
                        edits.push(Edit {
                            range: item.replace,
                            replacement: item.insert,
                        });
                        assert!(apply(cut, &edits).is_some(), "{path}: {} at {at}", item.label);
                    }
                }
            }
        }
    }
}

#[test]
fn things_are_offered_with_what_people_call_them() {
    let titled = example_and("$0").replace(
        "pressure-sensor ps1 {\n",
        "pressure-sensor ps1 {\n    title \"101, Harbour Street\"\n",
    );
    for line in ["accept limit-near-span-end on $0", "reading 2026-11-01 $0"] {
        let all = offered(&titled.replace("$0", line));
        let sensor = all.iter().find(|item| item.label == "ps1");
        assert_eq!(
            sensor.map(|item| item.detail.as_str()),
            Some("pressure-sensor \"101, Harbour Street\""),
            "{line}"
        );
    }
}

#[test]
fn names_of_records_are_those_of_other_things() {
    let text = "block tc { pairs 5, record serial \"A\" }\nblock td { pairs 5, record $0 }\n";
    assert_eq!(labels(&example_and(text)), ["serial"]);
    let after = "block td { pairs 5, record serial $0 }\n";
    assert_eq!(labels(&example_and(after)), ["\"\""]);
}

#[test]
fn numbers_have_the_letters_that_are_printed_before_them() {
    let panel = "fuse-panel pdf { positions A1 .. A3, positions B1 .. B2 }\nmonitor m1 { sensors 8 }\npower pdf fuse A1 -> m1\n";
    assert_eq!(labels(&format!("{panel}power pdf fuse $0")), ["A2", "A3", "B1", "B2"]);
    assert_eq!(labels(&format!("{panel}power pdf fuse B$0")), ["B1", "B2"]);
    let positions = labels(&format!("{panel}fuse-panel other {{ positions $0 }}"));
    assert_eq!(positions, ["1 .. 10", "A1 .. A10"]);
}

#[test]
fn rooms_are_offered() {
    let text = "room annex { title \"Annex\" }\nroom plant { title \"Plant\" }\nblock td { pairs 5, room $0 }\n";
    assert_eq!(labels(&example_and(text)), ["annex", "plant"]);
    let stage = "block td { pairs 5, stage $0 }\n";
    assert_eq!(
        labels(&example_and(stage)),
        ["planned", "installed", "in-service", "disused"]
    );
}

#[test]
fn what_is_spoken_for_is_not_offered_as_free() {
    let text =
        "pressure-sensor p9 { stage planned }\nwire p9 -> tb pair 5 -> m1 sensor 4\nwire f1 pressure -> tb pair $0\n";
    assert_eq!(labels(&example_and(text)).first().map(String::as_str), Some("6"));
}

#[test]
fn the_next_address_of_a_shared_pair() {
    let wired = "monitor m1 { sensors 8, addresses 16 }\ncable c1 { pairs 25 }\npressure-sensor ps1 { address 1 }\n\
                 pressure-sensor ps2 { address 3 }\nwire ps1 -> c1 pair 3 -> m1 sensor 1\nwire ps2 -> c1 pair 4 -> m1 sensor 2\n";
    let on_pair = format!("{wired}pressure-sensor ps3 {{ address $0 }}\nwire ps3 -> c1 pair 4\n");
    assert_eq!(labels(&on_pair), ["1"]);
    let alone = format!("{wired}pressure-sensor ps3 {{ address $0 }}\n");
    assert_eq!(labels(&alone), ["2"]);
}

#[test]
fn outputs_lead_to_controls_and_connectors_to_connectors() {
    let office = "monitor m1 { sensors 8, outputs 2 }\ndryer d1 { control start { needs 24 V } }\n\
                  block j1 { pairs 4, connector plug }\nblock j2 { pairs 4, connector socket }\n";
    let after = |run: &str| labels(&format!("{office}{run}"));
    assert_eq!(
        after("wire m1 output 1 -> j1 pair 1 -> $0").first().map(String::as_str),
        Some("d1 control start")
    );
    assert!(
        !after("wire m1 output 1 -> $0")
            .iter()
            .any(|label| label.contains("sensor"))
    );
    assert_eq!(after("wire j1 -> $0"), ["j2"]);
}

#[test]
fn a_device_goes_over_a_free_pair_of_a_lead_to_a_block() {
    let office = "monitor m1 { sensors 8 }\nblock tb { pairs 25 }\npressure-sensor p1 { span 0 .. 15 psi }\npressure-sensor p2 { span 0 .. 15 psi }
lead l1 { pairs 3, gauge 22 awg, length 6 m, pair 1 black-red, pair 2 black-white, pair 3 black-green }
wire p1 -> l1 pair 1 -> tb pair 1 -> m1 sensor 1\nspare l1 pair rest\n";
    let after = |run: &str| offered(&format!("{office}{run}"));
    let free = after("wire p2 -> l1 pair $0");
    let shown: Vec<_> = free
        .iter()
        .map(|item| format!("{} {}", item.label, item.documentation))
        .collect();
    assert_eq!(shown, ["2 black-white", "3 black-green"]);
    assert!(labels(&format!("{office}wire p2 -> $0")).contains(&"l1 pair 2".to_owned()));
    assert_eq!(
        labels(&format!("{office}wire p2 -> l1 pair 2 -> $0"))
            .first()
            .map(String::as_str),
        Some("tb pair 2"),
        "a lead ends at a block"
    );
}

#[test]
fn a_position_on_a_cable_is_a_place_the_end_of_a_section_or_where_a_sensor_is() {
    let office = "cable c1 { pairs 25, gauge 24 awg\nsection s1 { buried 1.5 km }\nsection s2 { aerial 0.5 km }\nplace mill { at 0.7 km } }
pressure-sensor p1 { at c1 0.4 km }\npressure-sensor p2 { at c1 1.5 km }\n";
    let shown: Vec<String> = offered(&format!("{office}pressure-sensor p3 {{ at c1 $0 }}\n"))
        .iter()
        .map(|item| format!("{} ({})", item.label, item.detail))
        .collect();
    for wanted in [
        "place mill (0.7 km)",
        "1.5 km (end of s1)",
        "2 km (end of s2)",
        "0.4 km (where p1 is)",
    ] {
        assert!(shown.contains(&wanted.to_owned()), "{wanted} in {shown:?}");
    }
    assert_eq!(
        shown.iter().filter(|item| item.starts_with("1.5 km")).count(),
        1,
        "{shown:?}"
    );
}

#[test]
fn a_position_is_offered_once_in_whatever_unit_it_is_written_and_not_for_what_is_there_itself() {
    let office = "cable c1 { pairs 25, gauge 24 awg, section s1 { buried 1.5 km } }
air-pipe ap1 { length 1 km }
pressure-sensor p1 { at c1 1500 m }
pressure-sensor p2 { at c1 400 m }
";
    let positions = |line: &str| labels(&format!("{office}pressure-sensor p3 {{ at {line} }}\n"));
    let along_cable = positions("c1 $0");
    assert!(along_cable.contains(&"1.5 km".to_owned()) && along_cable.contains(&"400 m".to_owned()));
    assert!(!along_cable.contains(&"1500 m".to_owned()), "{along_cable:?}");
    let along_pipe = offered(&format!("{office}pressure-sensor p3 {{ at ap1 $0 }}\n"));
    let end = along_pipe.iter().find(|item| item.label == "1 km");
    assert_eq!(end.map(|item| &*item.detail), Some("end of ap1"));
    let own = labels(&office.replace("at c1 400 m", "at c1 $0400 m"));
    assert!(
        own.contains(&"1.5 km".to_owned()) && !own.contains(&"400 m".to_owned()),
        "{own:?}"
    );
}

#[test]
fn what_has_no_name_yet_is_not_offered_by_it() {
    let nameless = "cable { pairs 25, section { }, place { } }\nblock { pairs 25 }\nfuse-panel { }\n";
    for line in [
        "pressure-sensor p9 { at $0 }",
        "pressure-sensor p9 { at c101 $0 }",
        "fuse-panel p9 { battery $0 }",
        "spare $0",
        "defective $0",
        "air d1 -> $0",
        "when $0",
        "when c101 section $0",
        "when d1 stops expect $0",
    ] {
        for item in offered(&example_and(&format!("{nameless}{line}"))) {
            assert_eq!(item.label, item.label.trim(), "{line}: {item:?}");
            assert!(!item.label.is_empty(), "{line}: {item:?}");
        }
    }
}

#[test]
fn sizes_within_an_assembly_are_offered_as_they_are_written_there() {
    let files = county();
    let (path, text) = files.iter().find(|(path, _)| path.ends_with("linnet-gate")).unwrap();
    let after = "air b1/f                    -> c1               with ";
    let at = text.find(after).unwrap() + after.len();
    let (snapshot, analysis) = open(path, text, &files);
    let sizes = completions(&snapshot, &analysis, at as u32).into_iter();
    let sizes = sizes.filter(|item| item.kind == CompletionKind::Value);
    let mut labels: Vec<String> = sizes.map(|item| item.label).collect();
    labels.sort();
    assert_eq!(labels, ["1/4 in bore", "3/8 in tube"]);
}

#[test]
fn an_end_is_offered_with_its_thing_and_what_it_is() {
    let text = example_and("air-pipe ap1 { length 1 km, bore 20 mm, place mh-2 { at 500 m } }\nair mf port 3 -> $0");
    let found = offered(&text);
    let detail = |label: &str| found.iter().find(|item| item.label == label).map(|item| &*item.detail);
    assert_eq!(
        detail("ap1 place mh-2"),
        Some("air-pipe: a place along it, by its name")
    );
    assert_eq!(detail("ap1"), Some("air-pipe"));
}

#[test]
fn a_state_is_led_word_by_word() {
    // What something can happen to, and what: nothing happens to a sensor, and only pipes and cables leak.
    assert_eq!(first("when $0", 99), ["d1", "r1", "c101"]);
    assert_eq!(first("when d1 $0", 99), ["stops"]);
    assert_eq!(first("when r1 $0", 99), ["opens", "closes", "has"]);
    assert_eq!(first("when r1 has $0", 99), ["set"]);
    assert_eq!(first("when r1 has set 8 $0", 2), ["psi", "psia"]);
    assert_eq!(first("when c101 $0", 99), ["section", "leaks", "breaks"]);
    assert_eq!(first("when c101 leaks 10 scfh $0", 99), ["at"]);
    assert_eq!(first("when c101 leaks 10 scfh at $0", 99), ["1.2 km", "3.2 km"]);
    assert_eq!(first("when c101 section $0", 99), ["s1", "s2"]);
    assert_eq!(first("when c101 section s2 has $0", 99), ["usage", "resistance"]);
    let branched =
        "cable c9 { pairs 25, branch b1 { at 1 km, section s7 { buried 1 km } } }\nwhen c9 branch b1 section $0";
    assert_eq!(first(branched, 99), ["s7"]);
    assert_eq!(first("when d1 stops $0", 99), ["expect"]);
    assert_eq!(first("when d1 stops, $0", 99), ["d1", "r1", "c101"]);
    // What can be expected of what, and until when.
    assert_eq!(
        first("when d1 stops expect $0", 99),
        ["d1", "f1", "p1", "c101", "ps1", "all", "no"]
    );
    assert_eq!(first("when d1 stops expect c101 $0", 99), ["above"]);
    assert_eq!(first("when d1 stops expect c101 above $0", 99), ["minimum"]);
    assert_eq!(
        first("when d1 stops expect c101 above minimum $0", 99),
        ["for", "within"]
    );
    assert_eq!(first("when d1 stops expect d1 $0", 99), ["contact"]);
    assert_eq!(first("when d1 stops expect d1 contact $0", 99), ["humidity"]);
    // A flow sensor has a pressure only where the file declares one.
    assert_eq!(
        first("when d1 stops expect f1 $0", 99),
        ["high"],
        "the limits that it has"
    );
    assert_eq!(first("when d1 stops expect no $0", 99), ["alarm"]);
    assert_eq!(first("when d1 stops expect c101 above minimum, $0", 2), ["d1", "f1"]);
    let levels = first("when d1 stops expect p1 $0", 99);
    assert_eq!(levels, ["low"]);
}
