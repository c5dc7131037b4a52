//! An older device goes and a monitor on the wall comes: the job as two offices of the county have it, its figures computed
//! by hand.

use std::fs;
use std::path::{Path, PathBuf};

use serde_json::Value;
use tempfile::TempDir;

use crate::common::{code, out, run};

const OFFICES: [&str; 2] = ["offices/linnet-gate.office", "offices/otter-steps.office"];
const BRACKET: &str = "parts/bracket.office";
const TODAY: &str = "2026-11-25";

fn county() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/county")
}

fn text(office: &str) -> String {
    fs::read_to_string(county().join(office)).unwrap()
}

fn predicted(office: &str) -> Value {
    let told = run(&county(), &["predict", office, "--output", "json"]);
    let report: Value = serde_json::from_slice(&told.stdout).unwrap();
    report["offices"][0].clone()
}

/// Whether a figure is the expected one, but for a thousandth of it.
fn close(figure: &Value, expected: f64) {
    let found = figure.as_f64().unwrap();
    assert!(
        (found - expected).abs() <= expected.abs() * 1e-3,
        "{found} for {expected}"
    );
}

/// Copper there and back over `metres`, in ohms at 20 °C (1.7241e-8 ohm m, IEC 60028).
fn copper(metres: f64, square_millimetres: f64) -> f64 {
    1.7241e-2 * 2.0 * metres / square_millimetres
}

/// Areas in mm² by the formula of ASTM B258.
const AWG_10: f64 = 5.2612;
const AWG_14: f64 = 2.0809;
const AWG_22: f64 = 0.325_53;
const AWG_24: f64 = 0.204_72;
/// From 20 °C to the 60 °C of the region's pairs, and to the 40 °C of power wires, at 0.00393 for each degree.
const HOTTEST: f64 = 1.1572;
const HOTTEST_WIRE: f64 = 1.0786;

#[test]
fn nothing_of_the_job_is_in_a_note() {
    for office in OFFICES {
        // The bracket is drawn once for both.
        let text = text(office) + &text(BRACKET);
        assert!(!text.contains("note "), "{office}");
        for word in [
            "stage disused",
            "order ",
            "wall-monitor-16",
            "wire tb ",
            "assembly b1 : bracket",
            "spare r outlet 3",
            "adapter 1/4 in npt male at r",
            "adapter 1/4 in npt female at p",
            "spare l pair 3",
            "fuse A",
            "then ",
            "d1 contact trouble",
        ] {
            let words = text.split_whitespace().collect::<Vec<_>>().join(" ");
            assert!(words.contains(word), "{office} says nothing of `{word}`");
        }
    }
    assert!(text(OFFICES[0]).contains("link            lan") && text(OFFICES[1]).contains("link            dialled"));
}

#[test]
fn its_figures_are_those_computed_by_hand() {
    let office = predicted(OFFICES[0]);
    let of = |list: &str, key: &str, name: &str| {
        let all = office[list].as_array().unwrap().iter();
        all.clone().find(|one| one[key] == name).unwrap().clone()
    };
    // The lead alone lies between the bracket and the block.
    close(
        &of("loops", "device", "b1/f")["resistance_at_20_ohm"],
        copper(6.0, AWG_22),
    );
    let far = of("loops", "device", "ps-1b");
    close(&far["resistance_at_20_ohm"], copper(2700.0, AWG_24));
    close(&far["resistance_ohm"], copper(2700.0, AWG_24) * HOTTEST);
    // 24 V less what 0.2 A drop in 5 m there and back.
    let control = of("controls", "device", "d1");
    close(&control["left_v"], 24.0 - 0.2 * copper(5.0, AWG_22) * HOTTEST);
    // 0.9 A at 40.5 V are 36.45 W. At V = 43 V - R I the load takes I = 36.45 W / V.
    let feed = of("feeds", "load", "m1");
    let ohms = (copper(4.0, AWG_10) + copper(9.0, AWG_14)) * HOTTEST_WIRE;
    let volts = f64::midpoint(43.0, (43.0_f64.powi(2) - 4.0 * ohms * 36.45).sqrt());
    close(&feed["resistance_ohm"], ohms);
    close(&feed["voltage_v"], -volts);
    // 9 psi less the droop of 4 scfh, less what the tubes take. Squared absolute pressures fall by 2 × 14.696 psi × R × Q.
    let ambient = 14.696 * (1.0 - 2.255_77e-5 * 145.0_f64).powf(5.255_88);
    let start = 9.0 - 0.02 * 4.0 - 0.0055 + ambient;
    let fall = |resistance: f64, metres: f64, scfh: f64| 2.0 * 14.696 * resistance * metres / 304.8 * scfh;
    let end = start.powi(2) - fall(0.09, 900.0, 2.5 + 0.75) - fall(0.13, 1800.0, 1.25);
    let sensor = of("sensors", "name", "ps-1b");
    close(&sensor["expected"], (end.sqrt() - ambient) * 6894.757);
}

#[test]
fn all_that_is_to_be_entered_is_there() {
    let told = run(
        &county(),
        &["records", OFFICES[0], OFFICES[1], "--output", "json", "--today", TODAY],
    );
    assert_eq!(code(&told), 0, "{}", out(&told));
    let report: Value = serde_json::from_slice(&told.stdout).unwrap();
    let [lan, dialled] = report["offices"].as_array().unwrap().as_slice() else {
        panic!("{}", out(&told));
    };
    let keys = |office: &Value| -> Vec<String> {
        let records = office["records"].as_array().unwrap().iter();
        records.map(|one| one["key"].as_str().unwrap().to_owned()).collect()
    };
    assert_eq!(
        keys(lan),
        [
            "LNGT01/b1/f/flow",
            "LNGT01/b1/p/pressure",
            "LNGT01/ps-1a/pressure",
            "LNGT01/ps-1b/pressure",
            "LNGT01/d1/contact/trouble",
            "LNGT01/door/contact",
            "LNGT01/mains/contact",
            "LNGT01/d1/control/start",
        ]
    );
    let control = lan["records"].as_array().unwrap().last().unwrap();
    assert_eq!(
        (&control["input_kind"], &control["input"]),
        (&"output".into(), &1.into())
    );
    let pairs = control["block_pairs"].as_array().unwrap().iter();
    let pairs: Vec<_> = pairs
        .map(|pair| format!("{} {}", pair["block"], pair["pair"]))
        .collect();
    assert_eq!(pairs, ["\"tb\" 25", "\"j1\" 25"], "from the device on");
    assert_eq!(keys(dialled).len(), 7, "its control output is spare");
    for (office, link, serial, order) in [
        (lan, "lan 203.0.113.33", "HW16-0412", "QC-0533"),
        (dialled, "dialled 555-0118", "HW16-0413", "QC-0534"),
    ] {
        let monitors = office["monitors"].as_array().unwrap();
        assert_eq!(monitors.len(), 1, "the older device has gone");
        assert_eq!(
            (
                &monitors[0]["link"],
                &monitors[0]["recorded"]["serial"],
                &monitors[0]["inputs"],
                &monitors[0]["in_use"]
            ),
            (&link.into(), &serial.into(), &20.into(), &7.into())
        );
        let others = office["others"].as_array().unwrap().iter();
        let others: Vec<_> = others
            .map(|one| (one["name"].as_str().unwrap(), one["order"].as_str().unwrap()))
            .collect();
        assert_eq!(others, [("b1", order), ("j1", order)]);
    }
}

/// What lint says of the first of the two offices with an edit in it, or in the drawing of its bracket.
fn said(from: &str, to: &str) -> String {
    let folder = TempDir::new().unwrap();
    for part in fs::read_dir(county().join("parts")).unwrap() {
        let path = part.unwrap().path();
        fs::create_dir_all(folder.path().join("parts")).unwrap();
        fs::copy(&path, folder.path().join("parts").join(path.file_name().unwrap())).unwrap();
    }
    fs::copy(county().join("drysheath.toml"), folder.path().join("drysheath.toml")).unwrap();
    let (office, drawing) = (text(OFFICES[0]), text(BRACKET));
    assert_eq!(
        office.matches(from).count() + drawing.matches(from).count(),
        1,
        "{from}"
    );
    fs::write(folder.path().join("o.office"), office.replace(from, to)).unwrap();
    fs::write(folder.path().join(BRACKET), drawing.replace(from, to)).unwrap();
    let told = run(
        folder.path(),
        &[
            "lint",
            "o.office",
            "--output",
            "json",
            "--fail-on",
            "note",
            "--today",
            TODAY,
        ],
    );
    let report: Value = serde_json::from_slice(&told.stdout).unwrap();
    let results = report["results"].as_array().unwrap().iter();
    let rules: Vec<_> = results
        .map(|result| result["rule"].as_str().unwrap().to_owned())
        .collect();
    rules.join(" ")
}

#[test]
fn a_device_more_is_a_line_and_its_wire() {
    let wire = "wire ps-1b                  -> c1 pair 50       -> tb pair 4\n";
    let more = "pressure-sensor ps-1c : field-pressure-15 { at c1 2 km, limit low 7.2 psi minor deadband 0.3 psi }
wire ps-1c -> c1 pair 48 -> tb pair 5\n";
    assert_eq!(said(wire, &format!("{wire}{more}")), "");
    // The maker wired 16 of its pairs to sensor inputs.
    let none = more.replace("tb pair 5", "tb pair 21");
    assert_eq!(said(wire, &format!("{wire}{none}")), "dead-end");
}

#[test]
fn a_slip_in_it_is_one_result() {
    for (from, to, rule) in [
        ("6 awg,  0.6 m", "10 awg, 0.6 m", "ground-conductor-small"),
        ("then 4 awg,  3 m", "then 8 awg, 3 m", "ground-conductor-small"),
        ("pdf fuse A4", "pdf fuse A11", "fuse-position-out-of-range"),
        ("spare l pair 3", "spare l pair 2 .. 3", "spare-in-use"),
        ("spare r outlet 3\n", "", "outlet-open"),
        (
            "-> p                with adapter 1/4 in npt male at r,   ",
            "-> p                with ",
            "fittings-do-not-mate",
        ),
        (
            "adapter 1/4 in npt female at p",
            "adapter 1/4 in iso-7 female at p",
            "fittings-do-not-mate",
        ),
        (": socket-25", ": factory-plug", "connectors-do-not-mate"),
        ("needs 20 V", "needs 24 V", "control-voltage-short"),
        ("j1 pair 17 .. 20", "j1 pair 17 .. 21", "range-lengths-differ"),
    ] {
        assert_eq!(said(from, to), rule, "{from} → {to}");
    }
}

#[test]
fn bottles_as_the_only_source_last_for_weeks() {
    let office = predicted("offices/cold-spring-halt.office");
    let bank = &office["bottles"][0];
    // 12 bottles of 230 scf at 4 scfh: 690 h. Two digits of days are shown.
    let days = bank["lasts_s"].as_f64().unwrap() / 86_400.0;
    assert!((days - 690.0 / 24.0).abs() <= 0.5, "{days}");
    let text = text("offices/cold-spring-halt.office");
    assert!(
        text.contains("wire bank contact low-pressure"),
        "somebody hears that they run out"
    );
}
