//! What is entered for each input, and the message to whoever enters it.

use drysheath_fixture::example_with;
use drysheath_report::{
    CsvRow, CsvRows, Difference, EarlierRecord, OfficeRecords, RECORDS_FORM, RecordsFormat, RecordsReport,
    RecordsWriter,
};
use drysheath_rules::example::{OFFICE, TODAY};

use super::view::Computed;

/// What the command writes of some offices.
pub(super) fn written(wording: RecordsFormat, since: Option<(&str, &Difference)>, offices: &[OfficeRecords]) -> String {
    let pieces = RecordsWriter::new(wording, since, true);
    let mut out = pieces.start();
    for (number, office) in offices.iter().enumerate() {
        out += pieces.before(number);
        out += &pieces.of(office);
    }
    out + &pieces.end(offices.len(), offices.iter().any(|office| office.missing.is_empty()))
}

/// What the command writes of an office as comma-separated values.
pub(super) fn csv(office: &OfficeRecords) -> String {
    let mut rows = CsvRows::new(std::io::Cursor::new(Vec::new()), None);
    rows.put(&CsvRow::of(office, None)).unwrap();
    let mut out = Vec::new();
    rows.finish(&mut out).unwrap();
    String::from_utf8(out).unwrap()
}

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
    let told = written(RecordsFormat::Note, Some(("main", &difference)), &[after]);
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

#[test]
fn a_document_that_is_written_office_by_office_is_the_whole_one() {
    let office = records(OFFICE);
    let nothing = Difference::between(&[], &[]);
    for since in [None, Some(("main", &nothing))] {
        for count in 0..3 {
            let report = RecordsReport {
                form: RECORDS_FORM,
                since: since.map(|(revision, difference)| difference.record(revision)),
                offices: vec![office.clone(); count],
            };
            let whole = serde_json::to_string_pretty(&report).unwrap() + "\n";
            assert_eq!(written(RecordsFormat::Json, since, &report.offices), whole);
        }
    }
}
