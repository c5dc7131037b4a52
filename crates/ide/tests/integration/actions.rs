//! Code actions: which are offered, and what they leave behind.

use std::collections::BTreeMap;

use drysheath_fixture::{Change, caret, county, example_and, example_with, faults, mutated, open};
use drysheath_ide::{Action, ActionKind, actions, fixes_of_file};
use drysheath_rules::example::{OFFICE, compose};
use drysheath_rules::{Family, Finding, RULES, example, find};
use drysheath_text::{TextRange, apply};

fn at_caret(marked: &str) -> (String, Vec<Action>) {
    let (text, at) = caret(marked);
    let (snapshot, analysis) = open("office", &text, &[]);
    let actions = actions(&snapshot, &analysis, TextRange::empty(at));
    (text, actions)
}

fn titles(marked: &str) -> Vec<String> {
    at_caret(marked).1.into_iter().map(|action| action.title).collect()
}

/// The text after the action whose title starts so.
fn done(marked: &str, title: &str) -> String {
    let (text, actions) = at_caret(marked);
    let action = actions.iter().find(|action| action.title.starts_with(title));
    let all: Vec<_> = actions.iter().map(|action| &action.title).collect();
    let action = action.unwrap_or_else(|| panic!("{title} is not among {all:?}"));
    apply(&text, &action.edits).unwrap()
}

fn unaccepted(findings: &[Finding]) -> Vec<(&'static str, String)> {
    let open = findings.iter().filter(|finding| finding.accepted.is_none());
    let mut open: Vec<_> = open
        .map(|finding| (finding.rule.name(), finding.message.clone()))
        .collect();
    open.sort();
    open
}

/// Tries every action on every result of a file. Counts what was tried, by rule and title, and tells which left its result or
/// brought another.
fn try_all(path: &str, text: &str, others: &[(String, String)], tried: &mut BTreeMap<String, u32>) -> Vec<String> {
    let mut harms = Vec::new();
    let (snapshot, analysis) = open(path, text, others);
    let before = snapshot.findings(analysis.file);
    for finding in before.iter().filter(|finding| finding.accepted.is_none()) {
        for action in actions(&snapshot, &analysis, finding.place.range) {
            let Some(mended) = action.mends.first() else { continue };
            let after = apply(text, &action.edits).unwrap_or_else(|| panic!("{path}: {}", action.title));
            let (snapshot, analysis) = open(path, &after, others);
            let (now, was) = (unaccepted(&snapshot.findings(analysis.file)), unaccepted(&before));
            let rule = mended.rule.name();
            let own = mended.fix.as_ref().is_some_and(|fix| fix.title == action.title);
            *tried
                .entry(format!(
                    "{rule}: {:?}{}",
                    action.kind,
                    if own { "" } else { ", generated" }
                ))
                .or_default() += 1;
            let count = |results: &[(&str, String)]| {
                results
                    .iter()
                    .filter(|result| result.0 == rule && result.1 == mended.message)
                    .count()
            };
            let place = &text[finding.place.range.start as usize..finding.place.range.end as usize];
            if count(&now) >= count(&was) {
                harms.push(format!(
                    "{path}: `{}` at `{place}` leaves: {}",
                    action.title, mended.message
                ));
            }
            // An acceptance covers one result, and the lesser ones that gave way to it are shown again.
            let gave_way = |result: &(&str, String)| {
                let yields_to = find(result.0).map_or(&[][..], |rule| rule.yields_to);
                action.title.starts_with("Accept ")
                    && yields_to.iter().any(|(_, rules)| rules.contains(&mended.rule.id))
            };
            let is_new = |result: &&(&str, String)| {
                !was.contains(result)
                    && (rule != "frame-ground-missing" || result.0 != "ground-run-unsized")
                    && !gave_way(result)
            };
            let new: Vec<_> = now.iter().filter(is_new).collect();
            // What could not be read before may be wrong in another way, but it must not be less readable.
            let about_reading = |results: &[(&str, String)]| {
                let rules = results.iter().filter_map(|(rule, _)| find(rule));
                rules.filter(|rule| rule.family == Family::Language).count()
            };
            let is_allowed = mended.rule.family == Family::Language && about_reading(&now) < about_reading(&was);
            if !new.is_empty() && !is_allowed {
                harms.push(format!("{path}: `{}` at `{place}` brings {new:?}", action.title));
            }
        }
    }
    harms
}

#[test]
fn every_action_mends_what_it_says_in_the_faults() {
    let files = faults();
    let mut tried = BTreeMap::new();
    let parts: Vec<_> = files
        .iter()
        .filter(|(path, _)| path.starts_with("parts/"))
        .cloned()
        .collect();
    for (path, text) in &files {
        assert_eq!(try_all(path, text, &parts, &mut tried), Vec::<String>::new());
    }
    for (what, count) in &tried {
        println!("{count:4} {what}");
    }
}

#[test]
fn every_action_mends_what_it_says_in_the_examples() {
    let mut tried = BTreeMap::new();
    for rule in RULES {
        let Some(given) = rule.example.filter(|it| !it.failing.contains("# file ")) else {
            continue;
        };
        let text = example::compose(example::OFFICE, given.failing);
        assert_eq!(try_all("office.office", &text, &[], &mut tried), Vec::<String>::new());
    }
    for (what, count) in &tried {
        println!("{count:4} {what}");
    }
}

#[test]
fn a_pair_given_twice_gets_the_next_free_one() {
    let text = example_with(
        "-> tb pair 3        -> m1 sensor 3",
        "-> tb$0 pair 2        -> m1 sensor 3",
    );
    let done = done(&text, "Use `tb pair 3`, which is free");
    assert!(done.contains("-> tb pair 3        -> m1 sensor 3"), "{done}");
}

#[test]
fn a_run_moves_from_a_defective_pair_to_the_next_free_one() {
    let text = example_with(
        "spare c101 pair 1 .. 36",
        "spare c101 pair 1 .. 36\ndefective c101 pair 37 because \"open\"",
    )
    .replace("-> c101 pair 37 ", "-> c1$001 pair 37 ");
    let done = done(&text, "Use `c101 pair 1`, which is free");
    assert!(
        done.contains("-> c101 pair 1 ") && done.contains("spare c101 pair 2 .. 36\ndefective c101 pair 37"),
        "{done}"
    );
}

#[test]
fn stated_colours_move_with_the_pair() {
    let text = example_with(
        "-> tb pair 3        -> m1 sensor 3",
        "-> tb$0 pair 2 white-orange -> m1 sensor 3",
    );
    assert!(done(&text, "Use `tb pair 3`").contains("-> tb pair 3 white-green -> m1 sensor 3"));
}

#[test]
fn a_line_of_several_runs_moves_as_a_whole() {
    let text = example_with(
        "-> tb pair 3        -> m1 sensor 3",
        "-> tb pair 2\nwire tb$0 pair 2 -> m1 sensor 3",
    );
    let done = done(&text, "Use `tb pair 3`");
    assert!(done.contains("-> tb pair 3\nwire tb pair 3 -> m1 sensor 3"), "{done}");
}

#[test]
fn a_sensor_gets_its_way_to_an_input() {
    let line = "\npressure-sensor ps$02 { at c101 1 km, span 0 .. 10 psi, step 0.1 psi, proof 30 psi, limit low 5 psi minor deadband 0.3 psi }\n";
    let done = done(
        &example_and(line),
        "Add `wire ps2 -> c101 pair 1 -> tb pair 5 -> m1 sensor 4`",
    );
    let wires: Vec<&str> = done.lines().filter(|line| line.starts_with("wire")).collect();
    assert_eq!(
        wires.last(),
        Some(&"wire ps2                    -> c101 pair 1      -> tb pair 5        -> m1 sensor 4")
    );
    for spare in [
        "spare tb pair 6 .. 25",
        "spare c101 pair 2 .. 36",
        "spare m1 sensor 5 .. 8",
    ] {
        assert!(done.contains(spare), "{done}");
    }
}

#[test]
fn a_terminated_pair_is_taken_on_from_its_block() {
    let line = "pressure-sensor ps$02 { at c101 1 km, span 0 .. 10 psi, step 0.1 psi, proof 30 psi, limit low 5 psi minor deadband 0.3 psi }";
    let text = example_with(
        "spare c101 pair 1 .. 36\nspare c101 pair 38 .. 50",
        "wire c101 pair 1 .. 36 -> tb pair 5 .. 40\nspare c101 pair 1 .. 36",
    )
    .replace("pairs           50", "pairs           37")
    .replace("{ pairs 25 }", "{ pairs 40 }")
    .replace("spare tb pair 5 .. 25", &format!("spare tb pair 5 .. 40\n{line}"));
    let done = done(
        &text,
        "Add `wire ps2 -> c101 pair 1` and `wire tb pair 5 -> m1 sensor 4`",
    );
    assert!(
        done.contains("spare c101 pair 2 .. 36") && done.contains("spare tb pair 6 .. 40"),
        "{done}"
    );
}

#[test]
fn a_wire_that_stops_is_wired_on() {
    let text = example_with("-> tb pair 3        -> m1 sensor 3", "-> tb$0 pair 3");
    assert!(done(&text, "Wire it on").contains("-> tb pair 3 -> m1 sensor 3\n"));
    let cable = example_with(
        "-> c101 pair 37     -> tb pair 3        -> m1 sensor 3",
        "-> c101$0 pair 37",
    );
    assert!(done(&cable, "Wire it on").contains("-> c101 pair 37 -> tb pair 3 -> m1 sensor 3\n"));
}

#[test]
fn the_rest_is_said_to_be_spare() {
    let text = example_with("spare tb pair 5 .. 25", "spare tb pair 10 .. 12").replace("block tb ", "block t$0b ");
    let done = done(&text, "Declare the rest of `tb` spare");
    assert!(done.contains("spare tb pair 10 .. 12\nspare tb pair rest\n"), "{done}");
    assert!(titles(&text).contains(&"Fix all 2 results of pair-not-said-spare in this file".to_owned()));
    let monitor = example_with("spare m1 sensor 4 .. 8\n", "").replace("monitor m1", "monitor m$01");
    let monitor = self::done(&monitor, "Declare whatever nothing uses of `m1` spare");
    assert!(
        monitor.contains("spare m1 contact 2 .. 4\nspare m1 sensor rest\n"),
        "{monitor}"
    );
}

#[test]
fn the_ground_has_the_size_that_is_asked_for() {
    let text = example_with("ground m1 frame             -> ogb              with 6 awg,  3 m\n", "")
        .replace("monitor m1", "monitor m$01");
    let done = done(&text, "Ground its frame to `ogb` with 6 awg");
    assert!(
        done.contains("\nground m1 frame             -> ogb              with 6 awg\n"),
        "{done}"
    );
}

#[test]
fn a_regulator_is_put_between() {
    let text = example_with("-> r1               -> f1", "-> f1").replace("dryer d1", "dryer d$01");
    // One is there and stands in no run.
    assert!(done(&text, "Lead the air through `r1`").contains("air d1 -> r1                      -> f1"));
    let start = text.find("regulator r1").unwrap();
    let end = start + text[start..].find("}\n").unwrap() + 2;
    let without = format!("{}{}", &text[..start], &text[end..]);
    let done = done(&without, "Put a regulator `r1` between");
    assert!(
        done.contains("regulator r1                { set 10 psi,             differential 5 psi,"),
        "{done}"
    );
}

#[test]
fn a_result_is_accepted_with_a_reason() {
    let text = example_with(
        "-> tb pair 3        -> m1 sensor 3",
        "-> tb$0 pair 2        -> m1 sensor 3",
    );
    let done = done(&text, "Accept pair-assigned-twice on `tb`");
    assert!(
        done.ends_with("\naccept pair-assigned-twice on tb because \"…\" until 2027-11-01\n"),
        "{done}"
    );
    let windows = text.replace('\n', "\r\n");
    assert!(self::done(&windows, "Accept pair-assigned-twice").ends_with("2027-11-01\r\n"));
    let expired = "accept title-missing on elm-hollow because \"x\" until 2026-0$01-01\n";
    let untitled = example_with("    title           \"Elm Hollow\"\n", "") + expired;
    assert!(self::done(&untitled, "Accept it until 2027-11-01").ends_with("until 2027-11-01\n"));
    // What accepts nothing any more is not worth another year.
    let unneeded = titles(&example_and(expired));
    assert!(
        unneeded.iter().all(|title| !title.starts_with("Accept")),
        "{unneeded:?}"
    );
    // What cannot be read is mended, not accepted.
    let slip = titles(&example_and("valve v9 { function chec$0k, set 3 }\n"));
    assert!(slip.iter().all(|title| !title.starts_with("Accept")), "{slip:?}");
}

#[test]
fn a_part_takes_what_is_not_the_things_own() {
    let text = example::OFFICE.replace("pressure-sensor ps1 {", "pressure-sensor ps$01 {");
    let done = done(&text, "Make a part `ps1-like` of `ps1`");
    let part = "part pressure-sensor ps1-like {\n    span            0 .. 15 psi\n    step            0.1 psi\n    error           0.2 psi\n    proof           30 psi\n}\npressure-sensor ps1 : ps1-like {\n    at              c101 3.2 km\n    limit           low 6.7 psi minor deadband 0.3 psi\n}\n";
    assert!(done.contains(part), "{done}");
    let one_line = self::done(
        &example::OFFICE.replace("battery main ", "battery ma$0in "),
        "Make a part",
    );
    assert!(one_line.contains("battery main : main-like\n"), "{one_line}");
    let text = example_with(
        "    flow-max        80 scfh\n",
        "    flow-max        80 scfh, note \"x\" # as stamped\n",
    )
    .replace("regulator r1", "regulator r$01");
    let kept = self::done(&text, "Make a part");
    assert!(
        kept.contains("regulator r1 : r1-like {\n     note \"x\" # as stamped\n}\n"),
        "{kept}"
    );
}

#[test]
fn quantities_are_written_in_other_units() {
    let set = titles(&example_with("set             10 psi", "set             1$00 psi"));
    assert!(
        set.contains(&"Write `68.95 kPa`".to_owned()) && set.contains(&"Write `20.36 inHg`".to_owned()),
        "{set:?}"
    );
    assert!(
        !set.iter()
            .any(|title| title.ends_with("Pa-abs`") || title.ends_with(" Pa`")),
        "{set:?}"
    );
    let both = done(
        &example_with("span            0 .. 15 psi", "span            $00 .. 15 psi"),
        "Write `0 .. 103.4 kPa`",
    );
    assert!(both.contains("span            0 .. 103.4 kPa\n"), "{both}");
    let own = done(
        &example_with("working -43 V .. -54 V", "working -43 V .. -54 V$0"),
        "Write `-54000 mV`".get(..5).unwrap(),
    );
    assert!(own.contains("working -43 V .. -0.054 kV"), "{own}");
    let bore = titles(&example_with("0.17 in bore,   0.5 m", "0.17$0 in bore,   0.5 m"));
    assert!(bore.contains(&"Write `4.318 mm`".to_owned()), "{bore:?}");
    let tube = titles(&example_and("air c101 -> p1 with 9.525 m$0m tube\n"));
    assert!(tube.contains(&"Write `3/8 in`".to_owned()), "{tube:?}");
    let wire = titles(&example_with("with 10 awg, 4 m", "with 10 aw$0g, 4 m"));
    assert!(wire.contains(&"Write `5.261 mm2`".to_owned()), "{wire:?}");
    let gauge = titles(&example_with("with 10 awg, 4 m", "with 5.26 mm$02, 4 m"));
    assert!(gauge.contains(&"Write `10 awg`".to_owned()), "{gauge:?}");
    let back = titles(&example_with(
        "block tb                    { pairs 25 }",
        "block tb { pairs 25 }\ndew-point-sensor dp1 { span -60 .. 20 degC, limit high -30 degC minor deadband $05 degC }",
    ));
    assert!(back.contains(&"Write `9 degF`".to_owned()), "{back:?}");
    assert!(back.contains(&"Write `5 K`".to_owned()), "{back:?}");
    let cold = titles(&example_with("coldest         -25 degC", "coldest         -2$05 degC"));
    assert_eq!(
        cold,
        [
            "Write `-13 degF`",
            "Write `248.15 K`".replace("248.15", "248.2").as_str()
        ]
    );
    // In a text or a comment a quantity is only words.
    assert!(titles(&example_and("# 10 ps$0i\n")).is_empty());
}

#[test]
fn all_results_of_a_rule_go_at_once() {
    let text = example_and("valve v8 { function chekc }\nvalve v9 { function chek }\n");
    let (snapshot, analysis) = open("office", &text, &[]);
    let all = fixes_of_file(&snapshot, &analysis);
    let values: Vec<_> = all.iter().filter(|action| action.kind == ActionKind::FixAll).collect();
    assert_eq!(values.len(), 1, "{values:?}");
    let done = apply(&text, &values[0].edits).unwrap();
    assert!(
        done.ends_with("valve v8 { function check }\nvalve v9 { function check }\n"),
        "{done}"
    );
}

#[test]
fn results_of_several_files_are_accepted_in_each() {
    let text = example_with("site            \"ELMH01\"", "site            \"ELMH01$0\"");
    let (text, at) = caret(&text);
    let other = (
        "b.office".to_owned(),
        "office other { title \"Other\", site \"ELMH01\" }\n".to_owned(),
    );
    let (snapshot, analysis) = open("c", &text, &[other]);
    let all = actions(&snapshot, &analysis, TextRange::empty(at));
    assert!(
        all.iter()
            .any(|action| action.title == "Accept site-code-twice on `elm-hollow`, with a reason"),
        "{all:?}"
    );
}

#[test]
fn every_prefix_and_every_place_has_an_answer() {
    for files in [county(), faults()] {
        let mut random = fastrand::Rng::with_seed(11);
        for (path, text) in &files {
            for _ in 0..2 {
                let cut = &text[..text.floor_char_boundary(random.usize(..=text.len()))];
                let (snapshot, analysis) = open(path, cut, &[]);
                let (one, another) = (random.usize(..=cut.len()), random.usize(..=cut.len()));
                for at in [cut.len(), one, another, cut.len() + 9] {
                    let range = TextRange::new(at as u32, (at + random.usize(..200)) as u32);
                    for action in actions(&snapshot, &analysis, range) {
                        assert!(apply(cut, &action.edits).is_some(), "{path}: {} at {at}", action.title);
                    }
                }
            }
        }
    }
}

#[test]
fn every_action_mends_what_it_says_after_random_damage() {
    const CASES: u32 = 400;
    let mut harms = Vec::new();
    let mut random = fastrand::Rng::with_seed(1);
    let files = county();
    let parts: Vec<_> = files
        .iter()
        .filter(|(path, _)| path.starts_with("parts/"))
        .cloned()
        .collect();
    let mut tried = BTreeMap::new();
    for _ in 0..CASES {
        let (path, text) = &files[random.usize(..files.len())];
        let changes: Vec<Change> = (0..random.usize(1..3))
            .map(|_| (random.u8(..), random.u16(..), random.u16(..)))
            .collect();
        harms.extend(try_all(path, &mutated(text, &changes), &parts, &mut tried));
    }
    for (what, count) in &tried {
        println!("{count:4} {what}");
    }
    assert!(harms.is_empty(), "{} harms\n{}", harms.len(), harms.join("\n"));
}

#[test]
fn comments_go_with_their_statement() {
    let thing =
        "# Left of the door.\npressure-sensor p$08 { at c101 1 km, span 0 .. 15 psi, step 0.1 psi, proof 30 psi }";
    let extracted = done(&example_and(thing), "Make a part");
    let (_, end) = extracted.split_once("part pressure-sensor p8-like {").unwrap();
    assert!(end.contains("# Left of the door.\npressure-sensor p8"), "{end}");
    let accepted = example_and(
        "# It comes with the lease.\nacc$0ept outlet-open on r1 because \"plugged\" until 2026-12-24\n# Next.\nblock tz { pairs 1 }\nspare tz pair 1\n",
    );
    let deleted = done(&accepted, "Delete the acceptance");
    assert!(
        !deleted.contains("lease") && deleted.contains("# Next.\nblock tz"),
        "{deleted}"
    );
}

/// Readings of an office whose first section loses less than declared, told by sensors of small error.
const READ: &str = "
flow-sensor f1 { span 0 .. 15 scfh, step 0.01 scfh, error 0.02 scfh, proof 60 psi }
pressure-sensor p1 { span 0 .. 15 psi, step 0.01 psi, error 0.02 psi, proof 30 psi }
pressure-sensor ps1 { at c101 3.2 km, span 0 .. 15 psi, step 0.01 psi, error 0.02 psi, proof 30 psi }
cable c101 {
    pairs 50
    gauge 24 awg
    rating 20 psi
    section s1 { underground 1.2 km, depth 2 m, resistance 0.09 psi/scfh/kft, usage 3 scfh }
    section s2 { buried 2.0 km, resistance 0.14 psi/scfh/kft, usage 0.1 scfh }
}
reading 2026-05-12 f1 2.60 scfh
reading 2026-05-12 p1 9.99 psi
reading 2026-05-12 ps1 9.64 psi
";

#[test]
fn a_usage_that_readings_tell_is_written_with_their_day() {
    // The pressure at the end tells the resistance of the first section with it: each is right only with the other.
    let title = "Write the 2 figures that the readings of 2026-05-12 tell: usage of `c101 section s1` 3 scfh -> 2.51 scfh, \
                 resistance of `c101 section s1` 0.09 psi/scfh/kft -> 0.0969 psi/scfh/kft";
    let text = compose(OFFICE, READ);
    let marked = text.replacen("usage 3", "usage$0 3", 1);
    let after = done(&marked, title);
    let line = after.lines().find(|line| line.contains("section s1")).unwrap();
    assert!(
        line.contains("resistance 0.0969 psi/scfh/kft")
            && line.contains("usage 2.51 scfh")
            && line.ends_with("} # usage by readings of 2026-05-12; resistance by readings of 2026-05-12"),
        "{line}"
    );
    // What they do not tell stays as it is, also where it is asked for by itself.
    assert!(after.contains("usage 0.1 scfh }\n"), "{after}");
    let at_second = text.replace("usage 0.1", "usage$0 0.1");
    assert!(
        titles(&at_second)
            .iter()
            .all(|title| !title.starts_with("Write the usage"))
    );
    // Of a reading all figures are meant.
    let at_reading = text.replace("f1 2.60", "f1$0 2.60");
    assert_eq!(done(&at_reading, "Write the 2 figures that"), after);
    // The day of a later visit takes the place of the one before, and readings that nothing explains are not taken over.
    let again = after
        .replace("2026-05-12 ", "2026-06-01 ")
        .replace("usage 2.", "usage$0 2.")
        .replace("f1 2.60", "f1 2.40");
    let later = done(&again, "Write the 2 figures that the readings of 2026-06-01 tell");
    assert!(
        later.contains("} # usage by readings of 2026-06-01; resistance by readings of 2026-06-01\n")
            && !later.contains("2026-05-12"),
        "{later}"
    );
    let leaking = marked.replace("ps1 9.64 psi", "ps1 5.64 psi");
    assert!(
        titles(&leaking)
            .iter()
            .all(|title| !title.starts_with("Write the usage"))
    );
}

/// The example with one section of cable, of which the readings determine every figure.
fn one_section() -> String {
    let one = "
flow-sensor f1 { span 0 .. 15 scfh, step 0.01 scfh, error 0.02 scfh, proof 60 psi }
pressure-sensor p1 { span 0 .. 15 psi, step 0.01 psi, error 0.02 psi, proof 30 psi }
pressure-sensor ps1 { at c101 3.2 km, span 0 .. 15 psi, step 0.01 psi, error 0.02 psi, proof 30 psi }
cable c101 { pairs 50, gauge 24 awg, rating 20 psi
    section s1 { underground 3.2 km, depth 2 m, resistance 0.12 psi/scfh/kft, usage 7 scfh, volume 19 ft3 }
}
reading 2026-05-12 f1 6.20 scfh
reading 2026-05-12 p1 9.90 psi
reading 2026-05-12 ps1 7.25 psi
";
    compose(OFFICE, one)
}

#[test]
fn a_resistance_and_a_set_pressure_that_readings_tell_are_written_with_their_day() {
    let text = one_section();
    let of_cable = done(
        &text.replacen("resistance 0.12", "resistance$0 0.12", 1),
        "Write the 2 figures that the readings of 2026-05-12 tell: usage of `c101 section s1` 7 scfh -> 6.2 scfh, ",
    );
    let written = "resistance 0.126 psi/scfh/kft, usage 6.2 scfh, volume 19 ft3 } \
                   # usage by readings of 2026-05-12; resistance by readings of 2026-05-12\n";
    assert!(
        of_cable.contains(written) && of_cable.contains("set             10 psi"),
        "{of_cable}"
    );
    let at_set = text.replacen("set             10 psi", "set$0             10 psi", 1);
    let of_regulator = done(
        &at_set,
        "Write the set pressure that the readings of 2026-05-12 tell: `r1` 10 psi -> 9.91 psi",
    );
    let written = "    set 9.91 psi # set pressure by readings of 2026-05-12\n    differential";
    assert!(of_regulator.contains(written), "{of_regulator}");
    // Of a reading all of them are meant, and the air computed with them reads what was read.
    let all = done(
        &text.replacen("ps1 7.25", "ps1$0 7.25", 1),
        "Write the 3 figures that the readings of 2026-05-12 tell",
    );
    assert!(
        all.contains(written) && all.contains("resistance 0.126 psi/scfh/kft, usage 6.2 scfh"),
        "{all}"
    );
    let (_, again) = at_caret(&all.replacen("ps1 7.25", "ps1$0 7.25", 1));
    let again: Vec<_> = again
        .iter()
        .filter(|action| action.title.starts_with("Write the"))
        .collect();
    assert!(again.is_empty(), "{again:?}");
    // What a dryer delivers is behind its regulator, and no reading tells it.
    assert!(
        titles(&text.replacen("delivers        30 psi", "delivers$0        30 psi", 1))
            .iter()
            .all(|title| !title.starts_with("Write the"))
    );
}

#[test]
fn what_a_part_states_is_written_on_the_thing_that_is_of_it() {
    let part =
        "part regulator small { set 10 psi, differential 5 psi, inlet-max 60 psi, flow-max 80 scfh, relief 15 psi }\n";
    let text = |own: &str| compose(&one_section(), &format!("{part}{own}"));
    let title =
        "Write the set pressure that the readings of 2026-05-12 tell: `r1` 10 psi -> 9.91 psi, beside its part `small`";
    let bare = text("regulator r1 : small\n");
    let after = done(&bare.replacen("{ set 10", "{ set$0 10", 1), title);
    let written = "regulator r1 : small { set 9.91 psi } # set pressure by readings of 2026-05-12\n";
    assert!(after.contains(written) && after.contains(part), "{after}");
    // Of a reading it is meant beside the figures of the cable.
    let all = done(
        &bare.replacen("ps1 7.25", "ps1$0 7.25", 1),
        "Write the 3 figures that the readings of 2026-05-12 tell",
    );
    assert!(all.contains(written) && all.contains("usage 6.2 scfh"), "{all}");
    let lines = text("regulator r1 : small {\n    title \"West\"\n}\n");
    let after = done(&lines.replacen("{ set 10", "{ set$0 10", 1), title);
    let written = "    title \"West\"\n    set             9.91 psi # set pressure by readings of 2026-05-12\n}\n";
    assert!(after.contains(written), "{after}");
}

#[test]
fn what_would_be_right_is_written_where_the_figure_stands() {
    // By hand: 7 scfh and the tolerance of 0.4 scfh, two steps above that, and the deadband of two steps.
    let limit = OFFICE.replacen("high 10 scfh", "high$0 11 scfh", 1);
    let after = done(&limit, "Take `limit high 7.8 scfh major deadband 0.4 scfh`: ");
    assert!(
        after.contains("limit high 7.8 scfh major deadband 0.4 scfh\n"),
        "{after}"
    );
    // By hand: 7 scfh is half of 14.
    let span = OFFICE.replacen("span            0 .. 15 scfh", "span            $00 .. 40 scfh", 1);
    let after = done(&span, "Take `span 0 .. 14 scfh`: ");
    assert!(after.contains("    span 0 .. 14 scfh\n"), "{after}");
    // The least that gives the cable its minimum, and 2 % more.
    let set = OFFICE.replacen("set             10 psi", "set             $06 psi", 1);
    let after = done(&set, "Take `set 6.58");
    assert!(after.contains("    set 6.58"), "{after}");
    // 40 W at 40.5 V want 1.25 A.
    let fuse = OFFICE.replacen("with 3 A,    14 awg, 6 m", "with $01 A,    14 awg, 6 m", 1);
    let after = done(&fuse, "Take `3 A`: ");
    assert!(after.contains("with 3 A,    14 awg, 6 m"), "{after}");
    // The end of the first section is the neediest: it may have 3.3 psi less, and 1.6 mm take 1.6 psi at 7 scfh by Poiseuille, and turbulent,
    // at a Reynolds number of 3000, nearly twice that.
    let bore = OFFICE.replacen(
        "with 3/8 in tube,    1/4 in bore,    3 m",
        "with 1/8 in tube,    1.2 mm$0 bore,    3 m",
        1,
    );
    let after = done(&bore, "Take `1.6 mm bore`: the least that does all of this");
    assert!(after.contains("with 1/8 in tube,    1.6 mm bore,    3 m"), "{after}");
    let pipe = compose(
        OFFICE,
        "air-pipe ap1 { length 1 km, bore$0 4 mm, rating 20 psi }\n\
         air mf port 1 -> ap1 with 3/8 in tube, 1/4 in bore, 3 m\nair ap1 -> c101\n",
    );
    // By hand, as in the tests of sizing: 9.206 mm take 0.5 psi, so 5.8 mm take 0.5 x (9.206/5.8)^4 = 3.2 psi.
    let after = done(&pipe, "Take `bore 5.8 mm`: the least that does all of this");
    assert!(after.contains("{ length 1 km, bore 5.8 mm, rating 20 psi }"), "{after}");
    let battery = OFFICE.replacen("filtered yes }", "filtered yes, capacity$0 5 Ah }", 1);
    let after = done(&battery, "Take `capacity 10 Ah`: ");
    assert!(after.contains("filtered yes, capacity 10 Ah }"), "{after}");
}

/// The example with parts to choose from for its flow sensor.
fn with_parts(own: &str) -> String {
    let parts = "part flow-sensor narrow { span 0 .. 11 scfh, step 0.1 scfh, error 0.1 scfh, proof 60 psi }
part flow-sensor base { error 0.2 scfh, proof 60 psi }
part flow-sensor right : base { span 0 .. 14 scfh, step 0.1 scfh }
part flow-sensor wide { span 0 .. 40 scfh, step 0.5 scfh, error 0.6 scfh, proof 60 psi }
";
    compose(OFFICE, &format!("{parts}{own}"))
}

#[test]
fn at_the_span_of_a_part_its_sensors_take_another_part_together() {
    let text = compose(
        OFFICE,
        "part pressure-sensor wide { span$0 0 .. 60 psi, step 0.1 psi, error 0.3 psi, proof 60 psi }
part pressure-sensor right { span 0 .. 15 psi, step 0.1 psi, error 0.2 psi, proof 60 psi }
pressure-sensor p1 : wide { normal 10 psi, limit low 8 psi major deadband 0.3 psi }
pressure-sensor ps1 : wide { at c101 3.2 km, limit low 6.8 psi minor deadband 0.3 psi }
",
    );
    let offered = titles(&text);
    let mut taken: Vec<&String> = offered.iter().filter(|title| title.starts_with("Take `")).collect();
    let all = taken.len();
    taken.sort();
    taken.dedup();
    assert_eq!(taken.len(), all, "{offered:?}");
    let after = done(&text, "Take `: right`");
    for sensor in ["\npressure-sensor p1 : right {", "\npressure-sensor ps1 : right {"] {
        assert!(after.contains(sensor), "{after}");
    }
}

#[test]
fn the_part_to_take_is_written_in_place_of_what_it_says() {
    let title = "Take `: right`, span 0 scfh .. 14 scfh, error 0.2 scfh: the narrowest of the parts within reach that do all that is wanted";
    let own = "flow-sensor f1 {
    span$0 0 .. 40 scfh
    step 0.5 scfh
    error 0.6 scfh
    normal 7 scfh
    proof 60 psi
    limit high 10 scfh major deadband 0.6 scfh
}
";
    let after = done(&with_parts(own), title);
    assert!(
        after.contains(
            "\nflow-sensor f1 : right {\n    normal 7 scfh\n    limit high 10 scfh major deadband 0.6 scfh\n}\n"
        ),
        "{after}"
    );
    let of_wide = "flow-sensor f1 : wi$0de { normal 7 scfh, limit high 10 scfh major deadband 0.6 scfh }\n";
    let after = done(&with_parts(of_wide), title);
    assert!(
        after.contains("\nflow-sensor f1 : right { normal 7 scfh, limit high 10 scfh major deadband 0.6 scfh }\n"),
        "{after}"
    );
    // Neither a part that it has already, nor one that is no better.
    for own in [
        "flow-sensor f1 : ri$0ght { normal 7 scfh, limit high 10 scfh major deadband 0.6 scfh }\n",
        "flow-sensor f1 { span$0 0 .. 13 scfh, step 0.1 scfh, error 0.1 scfh, proof 60 psi, normal 7 scfh, limit high 10 scfh major deadband 0.6 scfh }\n",
    ] {
        let offered = titles(&with_parts(own));
        assert!(
            !offered.iter().any(|title| title.starts_with("Take `:")),
            "{own}: {offered:?}"
        );
    }
    // Nor one that does not bear what can reach it.
    let too_weak = with_parts(own).replace("error 0.2 scfh, proof 60 psi", "error 0.2 scfh, proof 10 psi");
    assert!(!titles(&too_weak).iter().any(|title| title.starts_with("Take `: right")));
}

#[test]
fn what_is_right_as_it_is_is_not_offered_again() {
    for (stated, at) in [
        ("set             10 psi", "set$0             10 psi"),
        ("span            0 .. 15 scfh", "span$0            0 .. 15 scfh"),
        ("with 3 A,    14 awg, 6 m", "with 3$0 A,    14 awg, 6 m"),
        ("with 3 A,    14 awg, 6 m", "with 3 A,    14$0 awg, 6 m"),
    ] {
        let offered = titles(&OFFICE.replacen(stated, at, 1));
        assert!(
            !offered.iter().any(|title| title.starts_with("Take ")),
            "{at}: {offered:?}"
        );
    }
}
