//! The merge of two versions, statement by statement.

use std::collections::BTreeMap;

use drysheath_syntax::{Conflict, ConflictKind, Merged, formatted, parse};
use proptest::prelude::*;

const BASE: &str = "\
# Elm Hollow.

office elm-hollow {
    site ELMH
    hottest 50 degC
}

# The first sensor.
pressure-sensor ps1 { span 0 .. 10 psi }
pressure-sensor ps2 { span 0 .. 10 psi }

wire ps1 -> tb pair 1 -> m1 sensor 1
wire ps2 -> tb pair 2 -> m1 sensor 2
spare tb pair rest
";

fn merge(base: &str, ours: &str, theirs: &str, marker: usize) -> Merged {
    drysheath_syntax::merge(base.as_bytes(), ours.as_bytes(), theirs.as_bytes(), marker)
}

fn said(merged: &Merged) -> &str {
    str::from_utf8(&merged.text).unwrap()
}

fn clean(merged: &Merged) -> &str {
    assert_eq!(merged.conflicts, [], "{}", said(merged));
    assert!(!merged.by_lines);
    said(merged)
}

fn changed(from: &str, what: &[(&str, &str)]) -> String {
    what.iter().fold(from.to_owned(), |text, (old, new)| {
        assert_eq!(text.matches(old).count(), 1, "{old}");
        text.replace(old, new)
    })
}

#[test]
fn additions_at_one_place_are_both_kept() {
    let add = |number: u8| {
        let sensor = format!("pressure-sensor ps{number} {{ span 0 .. 10 psi }}\n\nwire ps1");
        let wire = format!("wire ps{number} -> tb pair {number} -> m1 sensor {number}\nspare");
        changed(BASE, &[("\nwire ps1", &sensor), ("spare", &wire)])
    };
    let merged = merge(BASE, &add(3), &add(4), 7);
    let expected = changed(
        BASE,
        &[
            (
                "\nwire ps1",
                "pressure-sensor ps3 { span 0 .. 10 psi }\npressure-sensor ps4 { span 0 .. 10 psi }\n\nwire ps1",
            ),
            (
                "spare",
                "wire ps3 -> tb pair 3 -> m1 sensor 3\nwire ps4 -> tb pair 4 -> m1 sensor 4\nspare",
            ),
        ],
    );
    assert_eq!(clean(&merged), expected);
}

#[test]
fn a_statement_that_both_move_and_one_changes_is_changed_once() {
    let moved = "spare tb pair rest\n# The first sensor.\npressure-sensor ps1 { span 0 .. 10 psi }\n";
    let ours = format!(
        "{moved}{}",
        BASE.replace("# The first sensor.\npressure-sensor ps1 { span 0 .. 10 psi }\n", "")
            .replace("spare tb pair rest\n", "")
    );
    let theirs = changed(
        BASE,
        &[(
            "pressure-sensor ps1 { span 0 .. 10 psi }",
            "pressure-sensor ps1 { span 0 .. 15 psi }",
        )],
    );
    let merged = merge(BASE, &ours, &theirs, 7);
    assert_eq!(clean(&merged), ours.replace("ps1 { span 0 .. 10", "ps1 { span 0 .. 15"));
}

#[test]
fn layout_on_one_side_and_a_change_on_the_other_are_both_kept() {
    let ours = formatted(BASE);
    assert_ne!(ours, BASE);
    let theirs = changed(BASE, &[("hottest 50", "hottest 65")]);
    let merged = merge(BASE, &ours, &theirs, 7);
    assert_eq!(formatted(clean(&merged)), formatted(&theirs));
    let merged = merge(BASE, &theirs, &ours, 7);
    assert_eq!(formatted(clean(&merged)), formatted(&theirs));
}

#[test]
fn fields_of_one_thing_on_separate_lines_merge() {
    let base = "monitor m1 {\n    model \"Q\"\n    sensors 16\n    contacts 4\n    draws 30 W\n}\n";
    let ours = changed(base, &[("\"Q\"", "\"Q2\"")]);
    let theirs = changed(base, &[("30 W", "35 W")]);
    assert_eq!(
        clean(&merge(base, &ours, &theirs, 7)),
        changed(&ours, &[("30 W", "35 W")])
    );
}

#[test]
fn one_statement_changed_on_both_sides_is_a_conflict() {
    let ours = changed(BASE, &[("tb pair 2", "tb pair 3")]);
    let theirs = changed(BASE, &[("tb pair 2", "tb pair 4")]);
    let merged = merge(BASE, &ours, &theirs, 9);
    assert_eq!(
        merged.conflicts,
        [Conflict {
            line: 13,
            statement: Some("wire ps2 -> m1 sensor 2".to_owned()),
            conflict_kind: ConflictKind::BothChanged,
        }]
    );
    let hunk = "\
<<<<<<<<< ours
wire ps2 -> tb pair 3 -> m1 sensor 2
||||||||| original
wire ps2 -> tb pair 2 -> m1 sensor 2
=========
wire ps2 -> tb pair 4 -> m1 sensor 2
>>>>>>>>> theirs
";
    assert_eq!(
        said(&merged),
        changed(BASE, &[("wire ps2 -> tb pair 2 -> m1 sensor 2\n", hunk)])
    );
}

#[test]
fn a_statement_that_one_side_deletes_and_the_other_changes_is_a_conflict() {
    let line = "pressure-sensor ps2 { span 0 .. 10 psi }\n";
    let deleted = changed(BASE, &[(line, "")]);
    let other = changed(BASE, &[(line, "pressure-sensor ps2 { span 0 .. 15 psi }\n")]);
    for (ours, theirs, conflict_kind) in [
        (&deleted, &other, ConflictKind::DeletedAndChanged),
        (&other, &deleted, ConflictKind::ChangedAndDeleted),
    ] {
        let merged = merge(BASE, ours, theirs, 7);
        let [conflict] = merged.conflicts.as_slice() else {
            panic!("{:?}", merged.conflicts);
        };
        assert_eq!(
            (conflict.conflict_kind, conflict.line),
            (conflict_kind, 10),
            "{}",
            said(&merged)
        );
        assert!(
            parse(said(&merged)).cut,
            "a lint of it says that the merge is not finished"
        );
    }
    assert_eq!(clean(&merge(BASE, &deleted, BASE, 7)), deleted);
    assert_eq!(
        clean(&merge(BASE, &format!("{BASE}spare m1 sensor rest\n"), &deleted, 7)),
        format!("{deleted}spare m1 sensor rest\n")
    );
}

#[test]
fn a_thing_that_both_add_clashes_unless_it_is_the_same() {
    let add = |span: &str| format!("{BASE}pressure-sensor ps9 {{ span 0 .. {span} psi }}\n");
    let respaced = format!("{BASE}pressure-sensor   ps9   {{ span 0 .. 5 psi }}\n");
    assert_eq!(clean(&merge(BASE, &add("5"), &respaced, 7)), add("5"));
    let merged = merge(BASE, &add("5"), &add("15"), 7);
    assert_eq!(merged.conflicts.len(), 1, "{}", said(&merged));
    assert_eq!(merged.conflicts[0].conflict_kind, ConflictKind::BothAdded);
}

#[test]
fn a_renamed_thing_keeps_what_the_other_side_says_of_it() {
    let base = "office elm {\n    site ELMH\n    hottest 50 degC\n    coldest 5 degC\n    title \"Elm\"\n}\n";
    let ours = changed(base, &[("office elm", "office elm-hollow")]);
    let theirs = changed(base, &[("\"Elm\"", "\"Elm Hollow\"")]);
    assert_eq!(
        clean(&merge(base, &ours, &theirs, 7)),
        changed(&ours, &[("\"Elm\"", "\"Elm Hollow\"")])
    );
}

#[test]
fn a_thing_that_says_its_former_name_is_the_same() {
    let sensor = "pressure-sensor ps2 { span 0 .. 10 psi }";
    let ours = changed(
        BASE,
        &[(
            sensor,
            "pressure-sensor ps2-old {\n    formerly ps2\n    span 0 .. 10 psi\n}",
        )],
    );
    let theirs = changed(BASE, &[(sensor, "pressure-sensor ps2 { span 0 .. 15 psi }")]);
    let merged = merge(BASE, &ours, &theirs, 7);
    let [conflict] = merged.conflicts.as_slice() else {
        panic!("{}", said(&merged));
    };
    assert_eq!(conflict.conflict_kind, ConflictKind::BothChanged);
    let one = "pressure-sensor ps2 {\n    span 0 .. 10 psi\n    step 0.1 psi\n    proof 30 psi\n}\n";
    let ours =
        "pressure-sensor ps2-old {\n    formerly ps2\n    span 0 .. 10 psi\n    step 0.1 psi\n    proof 30 psi\n}\n";
    let theirs = changed(one, &[("30 psi", "60 psi")]);
    assert_eq!(
        clean(&merge(one, ours, &theirs, 7)),
        changed(ours, &[("30 psi", "60 psi")])
    );
}

#[test]
fn a_thing_in_the_place_of_another_does_not_take_over_what_was_said_of_that() {
    let base = "regulator r1 {\n    model \"A\"\n    set 8 psi\n    rating 60 psi\n}\n";
    let ours = "regulator r2 {\n    model \"B\"\n    set 8 psi\n    rating 60 psi\n}\n";
    let theirs = changed(base, &[("60 psi", "80 psi")]);
    let merged = merge(base, ours, &theirs, 7);
    assert_eq!(merged.conflicts.len(), 1, "{}", said(&merged));
    assert!(said(&merged).contains(ours), "{}", said(&merged));
}

#[test]
fn a_comment_that_stands_alone_stays_alone() {
    let ours = format!("{BASE}spare m1 sensor rest\n");
    let theirs = format!("# Copied from the wall in May.\n\n{BASE}");
    let merged = merge(BASE, &ours, &theirs, 7);
    assert_eq!(clean(&merged), format!("# Copied from the wall in May.\n\n{ours}"));
}

#[test]
fn what_is_no_statement_is_merged_by_lines() {
    let base = format!("{BASE}monitor m1 {{\n");
    let ours = changed(&base, &[("hottest 50", "hottest 65")]);
    let theirs = changed(&base, &[("tb pair 2", "tb pair 4")]);
    let merged = merge(&base, &ours, &theirs, 7);
    assert!(merged.by_lines);
    assert_eq!(merged.conflicts, []);
    assert_eq!(said(&merged), changed(&ours, &[("tb pair 2", "tb pair 4")]));
    let merged = merge(&base, &ours, &changed(&base, &[("hottest 50", "hottest 60")]), 7);
    assert_eq!(merged.conflicts.len(), 1);
    assert_eq!(merged.conflicts[0].line, 5);
}

#[test]
fn line_ends_and_a_missing_last_one_are_kept() {
    let base = BASE.replace('\n', "\r\n");
    let ours = changed(&base, &[("hottest 50", "hottest 65")]);
    let theirs = format!("{base}spare m1 sensor rest");
    let merged = merge(&base, &ours, &theirs, 7);
    assert_eq!(clean(&merged), format!("{ours}spare m1 sensor rest\r\n"));
    let ours = base.trim_end();
    assert_eq!(
        clean(&merge(&base, ours, &theirs, 7)),
        format!("{base}spare m1 sensor rest\r\n")
    );
}

#[test]
fn bytes_that_are_no_text_are_merged_by_lines_and_kept() {
    let with = |line: &[u8]| [BASE.as_bytes(), line].concat();
    let (base, ours) = (with(b"# Stra\xdfe\n"), with(b"# Stra\xdfe\n# more\n"));
    let mut theirs = base.clone();
    theirs.splice(0..0, *b"# First.\n\n");
    let merged = drysheath_syntax::merge(&base, &ours, &theirs, 7);
    assert!(merged.by_lines && merged.conflicts.is_empty());
    assert_eq!(merged.text, [b"# First.\n\n", ours.as_slice()].concat());
}

#[test]
fn all_lines_end_as_the_side_that_changed_their_ends_lets_them() {
    let edited = changed(BASE, &[("hottest 50", "hottest 65")]);
    let with_returns = |text: &str| text.replace('\n', "\r\n");
    assert_eq!(
        clean(&merge(BASE, &edited, &with_returns(BASE), 7)),
        with_returns(&edited)
    );
    assert_eq!(
        clean(&merge(BASE, &with_returns(BASE), &edited, 7)),
        with_returns(&edited)
    );
}

/// What becomes of a statement on each side.
#[derive(Clone, Copy, Debug)]
enum Fate {
    Kept,
    Changed(bool),
    Deleted(bool),
    BothDelete,
    BothChangeAlike,
    Clash,
}

fn fate() -> impl Strategy<Value = Fate> {
    prop_oneof![
        4 => Just(Fate::Kept),
        2 => any::<bool>().prop_map(Fate::Changed),
        2 => any::<bool>().prop_map(Fate::Deleted),
        1 => Just(Fate::BothDelete),
        1 => Just(Fate::BothChangeAlike),
        1 => Just(Fate::Clash),
    ]
}

/// A statement by its number, in one of its versions.
fn statement(number: usize, version: usize) -> String {
    match number % 4 {
        0 => format!("pressure-sensor ps{number} {{\n    span 0 .. {} psi\n}}", 10 + version),
        1 => format!(
            "wire ps{number} -> tb pair {} -> m1 sensor {number}",
            100 * version + number
        ),
        2 => format!("# About r{number}.\nregulator r{number} {{ set {} psi }}", 8 + version),
        _ => format!("air mf port {number} -> c{number} with {} in tube", 1 + version),
    }
}

fn counted<'t>(statements: impl IntoIterator<Item = &'t str>) -> BTreeMap<String, usize> {
    let mut counted = BTreeMap::new();
    for statement in statements {
        *counted.entry(statement.to_owned()).or_default() += 1;
    }
    counted
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(500))]

    /// What each side did is known here, so that what must come out is counted without the merge.
    #[test]
    fn each_side_keeps_what_it_did(
        fates in proptest::collection::vec(fate(), 0..20),
        added in 0_usize..4,
        orders in (any::<u64>(), any::<u64>()),
    ) {
        let (mut base, mut ours, mut theirs, mut expected) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
        let mut clashes = 0;
        for (number, fate) in fates.iter().enumerate() {
            let version = |version| statement(number, version);
            base.push(version(0));
            let (our, their, merged) = match fate {
                Fate::Kept => (Some(0), Some(0), Some(0)),
                Fate::Changed(true) => (Some(1), Some(0), Some(1)),
                Fate::Changed(false) => (Some(0), Some(1), Some(1)),
                Fate::Deleted(true) => (None, Some(0), None),
                Fate::Deleted(false) => (Some(0), None, None),
                Fate::BothDelete => (None, None, None),
                Fate::BothChangeAlike => (Some(1), Some(1), Some(1)),
                Fate::Clash => {
                    clashes += 1;
                    (Some(1), Some(2), None)
                }
            };
            ours.extend(our.map(version));
            theirs.extend(their.map(version));
            expected.extend(merged.map(version));
        }
        for number in 0..added {
            // Not what a deleted statement said under another name, which would be a renamed thing.
            let (our, their) = (statement(100 + 2 * number, 7), statement(101 + 2 * number, 9));
            expected.extend([our.clone(), their.clone()]);
            ours.push(our);
            theirs.push(their);
        }
        shuffle(&mut ours, orders.0);
        shuffle(&mut theirs, orders.1);
        let text = |statements: &[String]| statements.join("\n") + "\n";
        let merged = merge(&text(&base), &text(&ours), &text(&theirs), 7);
        prop_assert_eq!(merged.conflicts.len(), clashes, "{}", said(&merged));
        prop_assert!(!merged.by_lines);
        let mut outside = String::new();
        let mut inside = false;
        for line in said(&merged).lines() {
            inside |= line.starts_with("<<<<<<<");
            if !inside && !line.is_empty() {
                outside.push_str(line);
                outside.push('\n');
            }
            inside &= !line.starts_with(">>>>>>>");
        }
        let lines = |all: &[String]| counted(all.iter().flat_map(|one| one.lines()));
        prop_assert_eq!(counted(outside.lines()), lines(&expected));
        // The sides are equal but for the order.
        let other = merge(&text(&base), &text(&theirs), &text(&ours), 7);
        prop_assert_eq!(other.conflicts.len(), clashes);
    }

    /// Any text at all: a merge ends, and with a side that changed nothing it gives the other.
    #[test]
    fn any_texts_merge(base in ".{0,80}", ours in "(.|\n){0,80}", theirs in "(.|\n){0,80}") {
        prop_assert_eq!(merge(&base, &ours, &base, 7).text, ours.clone().into_bytes());
        prop_assert_eq!(merge(&base, &base, &theirs, 7).text, theirs.clone().into_bytes());
        let _ = merge(&base, &ours, &theirs, 7);
    }
}

/// Another order of the statements, by a linear congruential sequence.
fn shuffle(statements: &mut [String], seed: u64) {
    let mut state = seed;
    for at in (1..statements.len()).rev() {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
        statements.swap(at, (state >> 33) as usize % (at + 1));
    }
}
