//! Where the rules about readings locate a leak, compared with leaks put there.

use std::fmt::Write;

use drysheath_engineering::units::find;
use drysheath_fixture::lowered;
use drysheath_office::Networks;
use drysheath_prediction::Prediction;
use drysheath_rules::example::{OFFICE, check, compose};
use drysheath_rules::{Finding, Settings};

/// The example's cable with two more sensors, so that the manifold's makes four.
const SENSORS: &str = "
pressure-sensor ps2 { at c101 1.2 km, span 0 .. 15 psi, step 0.01 psi, error 0.02 psi, proof 30 psi }
pressure-sensor ps1 { at c101 3.2 km, span 0 .. 15 psi, step 0.01 psi, error 0.02 psi, proof 30 psi }
pressure-sensor p1 { span 0 .. 15 psi, step 0.01 psi, error 0.02 psi, proof 30 psi }
wire ps2 -> c101 pair 38 -> tb pair 5 -> m1 sensor 4
# without spare tb
# without spare c101 pair 38
# without spare m1 sensor
spare tb pair 6 .. 25
spare c101 pair 39 .. 50
spare m1 sensor 5 .. 8
";

/// What the sensors read while `scfh` leak at so many metres, as reading statements.
fn read(example: &str, sensors: &[&str], metres: f64, scfh: f64) -> String {
    let text = compose(OFFICE, &with_leak(example, metres, scfh));
    let office = lowered(&text);
    assert_eq!(office.problems.len(), 0, "{:?}", office.problems);
    let networks = Networks::new(&office);
    let air = Prediction::new(&office, &networks).air;
    let mut statements = String::new();
    for sensor in sensors {
        let id = office.things().find(|(id, _)| office.name(*id) == *sensor).unwrap().0;
        let place = air.location_of(&office, &networks, id).unwrap();
        let pascals = air.pressure(&place).unwrap().pascals();
        let psi = find("psi").unwrap().from_si(pascals);
        writeln!(statements, "reading 2026-05-12 {sensor} {psi:.2} psi").unwrap();
    }
    statements
}

/// The same office with a leak: the section around it in two, and one of a metre between that uses the leak.
fn with_leak(example: &str, metres: f64, scfh: f64) -> String {
    // Sections as in the example office: 1200 m and 2000 m.
    let (first, rest) = (metres - 0.5, 3200.0 - metres - 0.5);
    assert!(first > 1200.0);
    let second = first - 1200.0;
    let share = |length: f64| 4.0 * length / 2000.0;
    format!(
        "{example}
cable c101 {{
    pairs 50, gauge 24 awg, rating 20 psi
    section s1 {{ underground 1.2 km, depth 2 m, resistance 0.09 psi/scfh/kft, usage 3 scfh }}
    section s2 {{ buried {second} m, resistance 0.14 psi/scfh/kft, usage {} scfh }}
    section leak {{ buried 1 m, resistance 0.14 psi/scfh/kft, usage {} scfh }}
    section s3 {{ buried {rest} m, resistance 0.14 psi/scfh/kft, usage {} scfh }}
}}
",
        share(second),
        scfh + share(1.0),
        share(rest)
    )
}

fn off(example: &str) -> Vec<Finding> {
    let found = check(example, &Settings::default()).findings;
    let mut found: Vec<_> = found
        .into_iter()
        .filter(|finding| finding.rule.name() == "reading-off-prediction")
        .collect();
    found.sort_by_key(|finding| finding.place);
    found
}

/// The figures in kilometres in a sentence.
fn kilometres(sentence: &str) -> Vec<f64> {
    let words: Vec<&str> = sentence.split_whitespace().collect();
    words
        .windows(2)
        .filter(|pair| pair[1].trim_end_matches([',', ':']) == "km")
        .map(|pair| pair[0].parse().unwrap())
        .collect()
}

#[test]
fn a_leak_beyond_a_change_of_section_is_placed() {
    for (metres, scfh) in [(1500.0, 5.0), (2100.0, 5.0), (2600.0, 4.0)] {
        let readings = read(SENSORS, &["p1", "ps2", "ps1"], metres, scfh);
        let found = off(&format!("{SENSORS}{readings}"));
        // The manifold's sensor has its own place in the office, and hardly feels it.
        assert_eq!(found.len(), 1, "{found:#?}");
        let help = found[0].help.clone().unwrap();
        let [place, near, far] = kilometres(&help)[..] else {
            panic!("{help}")
        };
        assert!(near < metres / 1000.0 && metres / 1000.0 < far, "{metres}: {help}");
        assert!((place - metres / 1000.0).abs() < 0.05, "{metres}: {help}");
        assert_eq!(
            found[0].related.len(),
            2,
            "the other sensor of the cable, and what it may be off by"
        );
    }
}

#[test]
fn too_few_readings_name_the_sensors_that_were_not_read() {
    let readings = read(SENSORS, &["ps1"], 2100.0, 5.0);
    let found = off(&format!("{SENSORS}{readings}"));
    assert_eq!(found.len(), 1);
    let help = found[0].help.clone().unwrap();
    assert!(help.contains("read `ps2` on the same day as the others"), "{help}");
    assert!(help.contains("leave its place open"), "{help}");
    // A reading of another day does not count.
    let old = read(SENSORS, &["ps2"], 2100.0, 5.0).replacen("05-12", "05-11", 1);
    let help = off(&format!("{SENSORS}{old}{readings}"))[0].help.clone().unwrap();
    assert!(help.contains("read `ps2` on the same day as the others"), "{help}");
}

#[test]
fn a_leak_is_placed_past_a_branch() {
    let readings = read(SENSORS, &["p1", "ps2", "ps1"], 2100.0, 5.0);
    let branch = "
cable c101 {
    pairs 50, gauge 24 awg, rating 20 psi
    section s1 { underground 1.2 km, depth 2 m, resistance 0.09 psi/scfh/kft, usage 3 scfh }
    section s2 { buried 2.0 km, resistance 0.14 psi/scfh/kft, usage 3.9 scfh }
    branch b1 { from 1.7 km, section x1 { aerial 300 m, resistance 0.14 psi/scfh/kft, usage 0.1 scfh } }
}
";
    let help = off(&format!("{SENSORS}{branch}{readings}"))[0].help.clone().unwrap();
    let [_, near, far, ..] = kilometres(&help)[..] else {
        panic!("{help}")
    };
    assert!(near < 2.1 && 2.1 < far, "{help}");
}

#[test]
fn readings_that_agree_say_nothing_and_older_ones_are_history() {
    let readings = read(SENSORS, &["p1", "ps2", "ps1"], 2100.0, 5.0).replace("2026-05-12", "2026-04-01");
    let mended = read(SENSORS, &["p1", "ps2", "ps1"], 2100.0, 0.0);
    assert_eq!(off(&format!("{SENSORS}{mended}")).len(), 0);
    assert_eq!(off(&format!("{SENSORS}{mended}{readings}")).len(), 0);
    assert_eq!(off(&format!("{SENSORS}{readings}")).len(), 1);
}

#[test]
fn a_reading_of_a_cold_day_is_compared_with_what_follows_for_that() {
    let told = |temperature: &str, reading: &str| {
        let settings = Settings::read("[practice]\nresistance-within = \"0 %\"\nset-within = \"0 %\"\n").0;
        let text = format!(
            "{SENSORS}reading 2026-02-03 c101 underground {temperature}\nreading 2026-02-03 c101 buried {temperature}\n{reading}\n"
        );
        let outcome = check(&text, &settings);
        let findings = outcome.findings.into_iter();
        findings
            .filter(|finding| ["reading-off-prediction", "gauge-off-prediction"].contains(&finding.rule.name()))
            .map(|finding| finding.message)
            .collect::<Vec<_>>()
    };
    // The example office has 7.56 psi at the end of its cable; in cold cable less is lost on the way there.
    let usual = "reading 2026-02-03 ps1 7.56 psi";
    assert_eq!(told("60 degF", usual), [""; 0]);
    assert_ne!(told("-40 degC", usual), [""; 0]);
}
