//! What people call things, wherever a thing is named.

use drysheath_fixture::example_with;
use drysheath_office::UnitPreferences;
use drysheath_report::{RECORDS_FORM, RecordsReport, note, records_csv, records_markdown, tables};
use drysheath_rules::example::TODAY;

use super::view::Computed;

const TITLED: &str = "pressure-sensor ps1 {\n    title           \"101, Harbour Street\"\n";

fn titled() -> Computed {
    Computed::new(&example_with("pressure-sensor ps1 {\n", TITLED))
}

#[test]
fn tables_call_a_thing_by_name_and_title() {
    let computed = titled();
    let record = computed.view().record();
    let told = tables(&record, &UnitPreferences::of(&computed.analysis.office));
    for wanted in ["ps1 (101, Harbour Street)  ", "ps1 (101, Harbour Street) pressure  "] {
        assert!(told.contains(wanted), "{wanted} is not in\n{told}");
    }
    assert_eq!(record.titles.len(), 1);
}

#[test]
fn records_call_a_device_by_name_and_title() {
    let computed = titled();
    let office = computed.view().records(computed.analysis.findings(), TODAY);
    let report = RecordsReport {
        form: RECORDS_FORM,
        since: None,
        offices: vec![office],
    };
    let csv = records_csv(&report, None);
    assert!(csv.lines().next().unwrap().contains(",device_title,"));
    assert!(csv.contains(",\"101, Harbour Street\","), "{csv}");
    assert!(records_markdown(&report, None).contains("pressure-sensor ps1 (101, Harbour Street), pressure"));
    assert!(note(&report, None).contains("ps1 (101, Harbour Street) pressure"));
}
