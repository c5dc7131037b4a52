//! What is told of other states and of holes, as text and as a record.

use drysheath_office::UnitPreferences;
use drysheath_report::tables;
use drysheath_rules::example::{OFFICE, compose};

use super::view::Computed;

fn told(statements: &str) -> (String, serde_json::Value) {
    let computed = Computed::new(&compose(OFFICE, statements));
    let view = computed.view();
    let record = view.record();
    let text = tables(&record, &UnitPreferences::of(&computed.analysis.office));
    (text, serde_json::to_value(record).unwrap())
}

#[test]
fn air_that_may_flow_back_into_a_stopped_source_is_told() {
    let note = " nothing keeps air from flowing back into d1: what leaves there is not counted, so that pressures may fall sooner and further";
    let expected = "when d1 stops expect c101 above minimum for 20 min, ps1 low\n";
    let (text, record) = told(expected);
    assert!(!text.contains("flowing back"), "{text}");
    assert_eq!(record["states"][0]["back_flow"], serde_json::json!([]));
    // A wide pipe in place of the regulator.
    let (text, record) = told(&format!(
        "# without air d1\nair d1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m\n{expected}"
    ));
    // Beside the hold-up and in the state.
    assert_eq!(text.lines().filter(|line| *line == note).count(), 2, "{text}");
    for place in [&record["states"][0], &record["hold_up"][0]] {
        assert_eq!(place["back_flow"], serde_json::json!(["d1"]));
    }
}

#[test]
fn what_leaves_out_the_leaks_of_an_air_system_is_told() {
    let branch = "# without spare mf port 3\nair mf port 3 -> c102 with 3/8 in tube, 1/4 in bore, 3 m\nspare mf port 4\n\
                  cable c102 { pairs 10, gauge 24 awg, rating 20 psi\n\
                  section s1 { buried 1 km, resistance 0.09 psi/scfh/kft, usage 1 scfh }\n\
                  section s2 { buried 1 km, RESISTANCE usage 1 scfh }\n}\n";
    let (text, record) = told(&branch.replace("RESISTANCE", "resistance 0.09 psi/scfh/kft,"));
    assert!(!text.contains("is not known along"), "{text}");
    assert_eq!(record["detection_not_known"], serde_json::json!([]));
    let (text, record) = told(&branch.replace("RESISTANCE ", ""));
    let why = "the file does not say the resistance of section `s2` of `c102`";
    let line = format!("which leaks and cuts trip a limit is not known along c101, c102: {why}");
    assert!(text.lines().any(|other| other == line), "{text}");
    let lines = record["detection_not_known"].as_array().unwrap();
    let lines: Vec<_> = lines
        .iter()
        .map(|line| (line["line"].as_str(), line["why"].as_str()))
        .collect();
    assert_eq!(lines, [(Some("c101"), Some(why)), (Some("c102"), Some(why))]);
}

#[test]
fn sensors_of_which_nothing_is_known_stay_in_the_table() {
    // Air that is shut in and of which nothing leaks stays at a pressure that nobody states.
    let shut_in = "when d1 stops, c101 section s1 has usage 0 scfh, c101 section s2 has usage 0 scfh expect ps1 low\n";
    let (text, record) = told(shut_in);
    let (_, state) = text.split_once("\nSensors when d1 stops").unwrap();
    let row = state.lines().find(|line| line.starts_with("  ps1 ")).unwrap();
    let cells: Vec<_> = row.split("  ").map(str::trim).filter(|cell| !cell.is_empty()).collect();
    assert_eq!(cells, ["ps1", "pressure", "7.6 psi", "-", "not known"]);
    let sensors = record["states"][0]["sensors"].as_array().unwrap();
    let row = sensors.iter().find(|row| row["name"] == "ps1").unwrap();
    assert!(row["normal"].is_number() && row["reading"].is_null(), "{row}");
}

#[test]
fn a_state_without_a_usage_says_which() {
    let cable = "cable c101 { pairs 50, gauge 24 awg, rating 20 psi
        section s1 { underground 1.2 km, depth 2 m, resistance 0.09 psi/scfh/kft }
        section s2 { buried 2 km, resistance 0.14 psi/scfh/kft, usage 4 scfh } }\n";
    let (text, record) = told(&format!("{cable}when c101 breaks at 1 km expect ps1 low\n"));
    let why = "the file does not say the usage of section `s1` of `c101`";
    assert_eq!(record["states"][0]["not_known"], why);
    assert!(
        text.contains(&format!("\nWhen c101 breaks at 1 km\n not known: {why}\n")),
        "{text}"
    );
}

#[test]
fn how_long_bottles_last_is_told_of_a_settled_state() {
    // By hand: three bottles of 200 standard cubic feet, 7 scfh in the settled state: 600 / 7 = 86 h.
    let bank =
        "bottle b1 { holds 200 scf, bottles 3, delivers 20 psi }\nair b1 -> r1 with 3/8 in tube, 1/4 in bore, 2 m\n";
    let (text, record) = told(&format!("{bank}when d1 stops expect c101 above minimum\n"));
    assert!(
        text.lines()
            .any(|line| line == " b1 counts as full here: at 7 scfh it lasts 3.6 d"),
        "{text}"
    );
    let bottles = &record["states"][0]["bottles"][0];
    assert_eq!(bottles["name"], "b1");
    let lasts = bottles["lasts_s"].as_f64().unwrap();
    assert!((lasts / 3600.0 - 600.0 / 7.0).abs() < 0.05, "{lasts} s");
}

#[test]
fn a_relief_that_is_not_counted_is_told() {
    let (text, record) = told("when r1 opens expect ps1 low\n");
    let note = " what the relief of r1 lets off is not counted: the pressures behind it are no higher than this, and may be lower";
    assert!(text.lines().any(|line| line == note), "{text}");
    assert_eq!(record["states"][0]["relieves"], "r1");
    let (text, _) = told("when r1 has set 11 psi expect ps1 low\n");
    assert!(!text.contains("relief of r1"), "{text}");
}

#[test]
fn a_pressure_that_does_not_last_has_both_its_times() {
    let (text, record) = told("when d1 stops expect c101 above 3 psi for 10 h\n");
    let unmet = &record["states"][0]["expected"][0]["unmet"][0];
    let (after, fell) = (
        unmet["after_s"].as_f64().unwrap(),
        unmet["below_after_s"].as_f64().unwrap(),
    );
    assert!(
        (after - 36_000.0).abs() < 1e-6 && (600.0..36_000.0).contains(&fell),
        "{unmet}"
    );
    assert!(
        unmet["computed"].as_f64().unwrap() < 0.1 * unmet["bound"].as_f64().unwrap(),
        "{unmet}"
    );
    assert!(text.contains(" after 10 h, against 3 psi, below that from "), "{text}");
}

#[test]
fn what_stops_with_all_others_includes_what_stands_by() {
    let bank =
        "bottle b1 { holds 200 scf, bottles 3, delivers 20 psi }\nair b1 -> r1 with 3/8 in tube, 1/4 in bore, 2 m\n";
    let (_, record) = told(bank);
    let stops: Vec<_> = record["hold_up"]
        .as_array()
        .unwrap()
        .iter()
        .map(|row| row["stops"].clone())
        .collect();
    assert_eq!(stops, [serde_json::json!(["d1"]), serde_json::json!(["d1", "b1"])]);
}

#[test]
fn a_check_valve_that_is_stuck_open_keeps_nothing_in() {
    // In place of the regulator.
    let check =
        "# without air d1\nvalve ck { function check }\nair d1 -> ck -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m\n";
    let states = "when d1 stops expect ps1 low\nwhen d1 stops, ck opens expect ps1 low\n";
    let (_, record) = told(&format!("{check}{states}"));
    let back_flow = |number: usize| &record["states"][number]["back_flow"];
    assert_eq!(back_flow(0), &serde_json::json!([]));
    assert_eq!(back_flow(1), &serde_json::json!(["d1"]));
}
