//! Words of earlier languages are understood as they were meant, and their fixes say the same today.
#![allow(missing_docs, clippy::unwrap_used)]

use drysheath_office::kinds::Key;
use drysheath_office::{Fields, NoParts, Office, ProblemId, Value, lower};
use drysheath_syntax::parse;
use drysheath_text::{Edit, FileId, apply};

fn read(text: &str) -> Office {
    lower(FileId(0), "office", text.into(), &parse(text), &NoParts)
}

/// The text once every fix is made.
fn mended(office: &Office) -> String {
    let fixes = office.problems.iter().filter_map(|problem| problem.fix.clone());
    let edits: Vec<Edit> = fixes.flat_map(|fix| fix.edits).collect();
    apply(&office.text, &edits).unwrap()
}

#[track_caller]
fn becomes(before: &str, after: &str) -> Office {
    let office = read(before);
    let ids: Vec<ProblemId> = office.problems.iter().map(|problem| problem.id).collect();
    assert!(
        !ids.is_empty() && ids.iter().all(|id| *id == ProblemId::WordOutdated),
        "{before}: {:?}",
        office.problems
    );
    assert_eq!(mended(&office), after);
    assert_eq!(read(after).problems, []);
    office
}

#[test]
fn fields_have_their_names_of_today() {
    let panel = becomes(
        "fuse-panel pdf { positions 1 .. 10, limit 30 A }\n",
        "fuse-panel pdf { positions 1 .. 10, current-max 30 A }\n",
    );
    let pdf = panel.things().next().unwrap().1;
    assert_eq!(pdf.quantity(Key::CurrentMax).unwrap().0.to_string(), "30 A");
    becomes(
        "part pressure-sensor field {\n    current 12 mA # as its maker says\n    limit low 5 psi minor\n}\n",
        "part pressure-sensor field {\n    current-max 12 mA # as its maker says\n    limit low 5 psi minor\n}\n",
    );
    // The same said twice is said twice.
    let twice = read("fuse-panel pdf { positions 1 .. 10, limit 30 A, current-max 20 A }\n");
    let ids: Vec<ProblemId> = twice.problems.iter().map(|problem| problem.id).collect();
    assert_eq!(ids, [ProblemId::WordOutdated, ProblemId::FieldTwice]);
}

#[test]
fn a_single_position_is_a_range_of_one() {
    let office = becomes(
        "fuse-panel pdf { positions 10 }\n",
        "fuse-panel pdf { positions 10 .. 10 }\n",
    );
    let (_, pdf) = office.things().next().unwrap();
    assert!(matches!(
        pdf.field(Key::Positions).unwrap().value,
        Value::Numbers(10, 10)
    ));
}

#[test]
fn plugs_are_spare_outlets() {
    let office = becomes(
        "regulator r1 { set 9 psi, plugged 2 .. 3 } # in the rack\nmanifold mf { ports 2 }\n",
        "regulator r1 { set 9 psi } # in the rack\nspare r1 outlet 2 .. 3\nmanifold mf { ports 2 }\n",
    );
    let numbers: Vec<_> = office.spares.iter().map(|spare| spare.end.numbers).collect();
    assert_eq!(numbers, [(2, 3)]);
    becomes(
        "regulator r1 { plugged 3, set 9 psi }\n",
        "regulator r1 { set 9 psi }\nspare r1 outlet 3\n",
    );
    becomes(
        "regulator r1 {\n    set     9 psi\n    plugged 3\n    outlets 3\n}\n",
        "regulator r1 {\n    set     9 psi\n    outlets 3\n}\nspare r1 outlet 3\n",
    );
    becomes(
        "regulator r1 { plugged 3 }\r\n",
        "regulator r1 { }\r\nspare r1 outlet 3\r\n",
    );
}

#[test]
fn plugs_of_a_part_are_said_of_each_place() {
    let office = becomes(
        "part regulator three { set 9 psi, plugged 3 }\nregulator r1 : three\nregulator r2 : three { plugged 2 }\n",
        "part regulator three { set 9 psi }\nregulator r1 : three\nspare r1 outlet 3\nregulator r2 : three { }\n\
         spare r2 outlet 2\n",
    );
    assert_eq!(office.problems.len(), 3);
}

#[test]
fn a_decay_test_takes_its_time_over() {
    let cable = "cable c1 { pairs 4 }\n";
    becomes(
        &format!("{cable}reading 2026-05-12 c1 decay 10 psi .. 9.5 psi in 12 min\n"),
        &format!("{cable}reading 2026-05-12 c1 decay 10 psi .. 9.5 psi over 12 min\n"),
    );
}
