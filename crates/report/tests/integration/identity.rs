//! What people call things, wherever a thing is named.

use drysheath_fixture::example_with;
use drysheath_office::UnitPreferences;
use drysheath_report::{Difference, EarlierRecord, Explanation, RecordsFormat, how, tables};
use drysheath_rules::example::TODAY;

use super::records::{csv, written};
use super::view::Computed;

const TITLED: &str = "pressure-sensor ps1 {\n    title           \"101, Harbour Street\"\n    record          serial-number \"A-1177\"\n";

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
    let csv = csv(&office);
    assert!(csv.lines().next().unwrap().contains(",device_title,"));
    assert!(csv.contains(",\"101, Harbour Street\","), "{csv}");
    let office = [office];
    let tables = written(RecordsFormat::Markdown, None, &office);
    assert!(tables.contains("pressure-sensor ps1 (101, Harbour Street), pressure"));
    assert!(csv.lines().next().unwrap().ends_with(",record_serial_number"), "{csv}");
    assert!(csv.lines().any(|line| line.ends_with(",A-1177")), "{csv}");
    assert!(tables.contains("| ps1 (101, Harbour Street) | serial-number A-1177 |"));
    assert!(written(RecordsFormat::Note, None, &office).contains("ps1 (101, Harbour Street) pressure"));
}

#[test]
fn what_is_recorded_is_compared_by_its_name() {
    let of = |computed: Computed| computed.view().records(computed.analysis.findings(), TODAY).records;
    let earlier = of(titled()).into_iter().map(|record| EarlierRecord {
        key_now: record.key.clone(),
        record,
    });
    let now = of(Computed::new(&example_with(
        "pressure-sensor ps1 {\n",
        &TITLED.replace("A-1177", "B-2").replace("serial-number", "serial"),
    )));
    let difference = Difference::between(&earlier.collect::<Vec<_>>(), &now).record("main");
    let fields: Vec<_> = difference.changed[0]
        .fields
        .iter()
        .map(|change| (change.field.as_str(), change.old.as_str(), change.new.as_str()))
        .collect();
    assert_eq!(
        fields,
        [("record_serial", "", "B-2"), ("record_serial_number", "A-1177", "")]
    );
}

#[test]
fn what_is_left_out_because_of_its_stage_is_said() {
    let text = example_with(
        "pressure-sensor p1 {\n",
        "room annex { title \"Annex\" }\npressure-sensor p1 {\n    stage planned\n",
    );
    let mut computed = Computed::new(&text);
    let units = UnitPreferences::of(&computed.analysis.office);
    let record = computed.view().record();
    assert_eq!(record.left_out.len(), 1);
    assert!(!record.sensors.iter().any(|sensor| sensor.name == "p1"));
    let told = tables(&record, &units);
    assert!(
        told.contains("left out, since planned: p1; --planned computes it with them"),
        "{told}"
    );
    let asked = how(&computed.view(), &units, "p1");
    assert_eq!(
        asked,
        Explanation::Nothing("nothing is computed for it, since it is planned; --planned computes it".to_owned())
    );
    let office = computed.view().records(computed.analysis.findings(), TODAY);
    assert_eq!(office.records.len(), 3);
    assert!(
        written(RecordsFormat::Markdown, None, &[office]).contains("Left out because of their stage: p1 (planned).")
    );
    computed.plan();
    let record = computed.view().record();
    assert!(record.left_out.is_empty() && record.sensors.iter().any(|sensor| sensor.name == "p1"));
}

#[test]
fn records_say_the_room_and_the_order() {
    let text = example_with(
        "pressure-sensor p1 {\n",
        "room annex { title \"Annex\" }\npressure-sensor p1 {\n    room annex\n    location \"east wall, 1.5 m\"\n    order \"W-2231\"\n",
    );
    let computed = Computed::new(&text);
    let office = computed.view().records(computed.analysis.findings(), TODAY);
    let own = office.records.iter().find(|record| record.device == "p1").unwrap();
    assert_eq!(
        (
            own.place.room.as_deref(),
            own.place.location.as_deref(),
            own.order.as_deref()
        ),
        (Some("Annex"), Some("east wall, 1.5 m"), Some("W-2231"))
    );
    assert!(written(RecordsFormat::Markdown, None, &[office]).contains("| office, Annex, east wall, 1.5 m |"));
}
