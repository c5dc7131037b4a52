//! What is entered for each input, and the message to whoever enters it.

use drysheath_fixture::example_with;
use drysheath_report::{Difference, EarlierRecord, OfficeRecords, RECORDS_FORM, RecordsReport, note};
use drysheath_rules::example::{OFFICE, TODAY};

use super::view::Computed;

fn records(text: &str) -> OfficeRecords {
    let computed = Computed::new(text);
    computed.view().records(computed.analysis.findings(), TODAY)
}

/// The binder's number and the super-unit of the pair that `ps1` comes in on, in a cable of so many pairs.
fn binder(pairs: u32) -> Option<(u32, Option<String>)> {
    let text = example_with("pairs           50", &format!("pairs           {pairs}"));
    let text = text.replace("c101 pair 37", "c101 pair 7");
    let records = records(&text).records;
    let record = records.iter().find(|record| record.device == "ps1").unwrap();
    let binder = record.cable_pairs[0].binder.as_ref()?;
    Some((binder.group, binder.super_unit.clone()))
}

#[test]
fn a_pair_names_the_binders_that_its_cable_has() {
    assert_eq!(binder(25), None);
    assert_eq!(binder(26), Some((1, None)));
    assert_eq!(binder(600), Some((1, None)));
    assert_eq!(binder(601), Some((1, Some("WH".to_owned()))));
}

#[test]
fn the_message_marks_what_is_new_and_what_changed() {
    let before = records(OFFICE);
    let after = records(&example_with("low 8 psi", "low 7.5 psi"));
    let earlier: Vec<EarlierRecord> = before
        .records
        .into_iter()
        .filter(|record| record.device != "f1")
        .map(|record| EarlierRecord {
            key_now: record.key.clone(),
            record,
        })
        .collect();
    let difference = Difference::between(&earlier, &after.records);
    let report = RecordsReport {
        form: RECORDS_FORM,
        since: Some(difference.record("main")),
        offices: vec![after],
    };
    let told = note(&report, Some(&difference));
    let (_, list) = told.split_once("What is where\n").expect(&told);
    let (list, _) = list.split_once("\n\n").unwrap();
    let starts: Vec<&str> = list.lines().map(|line| line.split(',').next().unwrap()).collect();
    assert_eq!(
        starts,
        [
            "  NEW m1 sensor 1: f1 flow",
            "  CHANGED m1 sensor 2: p1 pressure",
            "  m1 sensor 3: ps1 pressure",
            "  m1 contact 1: d1 contact humidity",
        ]
    );
}
