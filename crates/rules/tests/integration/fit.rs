//! What the readings of a day make of the example office. That the figures are right is checked in `tests/outside/test_fit.py`.

use drysheath_engineering::units::find;
use drysheath_fixture::lowered;
use drysheath_office::kinds::Key;
use drysheath_office::{Date, Networks};
use drysheath_prediction::Prediction;
use drysheath_rules::example::{OFFICE, compose};
use drysheath_rules::fit::{DayFit, FigureFit, fit, latest_day};
use drysheath_rules::{Inspection, Settings};

const DAY: Date = Date {
    year: 2026,
    month: 5,
    day: 12,
};

fn fitted(example: &str, settings: &str, day: Date) -> (Option<DayFit>, Option<Date>) {
    let text = compose(OFFICE, example);
    let office = lowered(&text);
    let is_meant = |message: &str| message == "pressure-sensor `ps2` has no `step`";
    assert!(
        office.problems.iter().all(|problem| is_meant(&problem.message)),
        "{:?}",
        office.problems
    );
    let networks = Networks::new(&office);
    let prediction = Prediction::new(&office, &networks);
    let settings = Settings::read(settings).0;
    let inspection = Inspection::new(&office, &networks, &prediction, &settings);
    (fit(&inspection, day), latest_day(&inspection))
}

fn usage<'f>(found: &'f DayFit, of: &str) -> &'f FigureFit {
    let figures = found.systems[0].figures.as_ref().unwrap();
    figures
        .iter()
        .find(|figure| figure.of == of && figure.key == Key::Usage)
        .unwrap()
}

#[test]
fn a_flow_tells_the_sum_of_two_usages_and_not_each() {
    let readings = "
flow-sensor f1 { span 0 .. 15 scfh, step 0.01 scfh, error 0.02 scfh, proof 60 psi }
reading 2026-05-12 f1 9.1 scfh
";
    let (found, latest) = fitted(readings, "", DAY);
    let found = found.unwrap();
    assert_eq!(latest, Some(DAY));
    let [one, other] = ["c101 section s1", "c101 section s2"].map(|of| usage(&found, of));
    let scfh = 7.865_790_72e-6;
    assert!(
        ((one.fitted + other.fitted) / scfh - 9.1).abs() < 0.01,
        "{one:?} {other:?}"
    );
    assert!(one.between.0 < one.fitted && one.fitted < one.between.1 && one.declared < one.fitted);
    // What is left open is how the two share it.
    assert!(
        (0.4..0.6).contains(&one.left_open) && (0.4..0.6).contains(&other.left_open),
        "{one:?} {other:?}"
    );
    assert_eq!(
        found.systems[0].together,
        [["usage of c101 section s1", "usage of c101 section s2"]]
    );
    assert!(!one.is_told() && !other.is_told());
    assert_eq!(one.pulled.as_ref().unwrap().0, "`f1`");
    assert!(found.systems[0].is_explained());
    // Where the file is known to be right, nothing is off but the sensor.
    let (found, _) = fitted(readings, "[practice]\nusage-estimate-within = \"0 %\"\n", DAY);
    assert!(!found.unwrap().systems[0].is_explained());
}

#[test]
fn readings_that_do_not_count_say_why_and_other_days_are_not_asked_for() {
    let readings = "
pressure-sensor ps2 { at c101 1.2 km, span 0 .. 15 psi, proof 30 psi }
cable c101 {
    pairs 50, gauge 24 awg, rating 20 psi
    section s1 { underground 1.2 km, depth 2 m, resistance 0.09 psi/scfh/kft, usage 3 scfh }
    section s2 { buried 2.0 km, resistance 0.14 psi/scfh/kft, usage 4 scfh }
    place mh-4 { at 1.2 km }
}
reading 2026-05-12 ps2 8.6 psi
reading 2026-05-12 c101 place mh-4 8.1 psi
reading 2026-05-12 ps1 7.0 psi
reading 2026-05-12 ps1 7.4 psi
reading 2026-05-11 p1 3.0 psi
";
    let (found, _) = fitted(readings, "", DAY);
    let found = found.unwrap();
    let names: Vec<&str> = found.systems[0]
        .readings
        .iter()
        .map(|reading| reading.name.as_str())
        .collect();
    assert_eq!(names, ["the gauge at `mh-4` of `c101`", "`ps1`"]);
    // Of two readings of a day the later one counts.
    assert!((found.systems[0].readings[1].read.value - 7.4).abs() < 1e-12);
    let unused: Vec<_> = found
        .unused
        .iter()
        .map(|unused| (unused.name.as_str(), unused.why))
        .collect();
    let wanted = [
        ("`ps2`", "its sensor states neither error nor step"),
        ("`ps1`", "the file has a later one of that day"),
    ];
    assert_eq!(unused, wanted);
    let before = Date { day: 10, ..DAY };
    assert!(fitted(readings, "", before).0.is_none());
}

#[test]
fn a_reading_that_may_have_been_more_does_not_count() {
    let readings = |psi: &str| {
        format!(
            "
pressure-sensor ps1 {{ at c101 3.2 km, span 0 .. 7 psi, step 0.1 psi, error 0.2 psi, proof 30 psi }}
reading 2026-05-12 ps1 {psi} psi
"
        )
    };
    for (psi, why) in [
        ("7", "it is at the top of the sensor's span, and may have been more"),
        ("7.4", "it is outside of the sensor's span"),
    ] {
        let (found, _) = fitted(&readings(psi), "", DAY);
        let found = found.unwrap();
        assert!(found.systems.is_empty());
        assert_eq!(found.unused[0].why, why);
    }
    // No pressure is below nothing.
    for psi in ["6.9", "0"] {
        let (found, _) = fitted(&readings(psi), "", DAY);
        assert_eq!(found.unwrap().unused.len(), 0, "{psi} psi");
    }
}

#[test]
fn readings_of_a_day_are_compared_at_the_temperatures_of_that_day() {
    // What the gauge reads at the end of the cable while the air in it is that cold, by the office that is that cold all year.
    let read = |temperature: &str| {
        let cold = OFFICE.replacen(
            "stage           installed",
            &format!("stage installed, cable-temperature {{ underground {temperature}, buried {temperature} }}"),
            1,
        );
        let office = lowered(&cold);
        let networks = Networks::new(&office);
        let air = Prediction::new(&office, &networks).air;
        let place = air.location_of(&office, &networks, office.named("ps1").unwrap());
        find("psi")
            .unwrap()
            .from_si(air.pressure(&place.unwrap()).unwrap().pascals())
    };
    for temperature in ["-20 degC", "35 degC"] {
        let psi = read(temperature);
        let declared = |temperatures: &str| {
            let readings = format!("reading 2026-05-12 ps1 {psi:.4} psi\n{temperatures}");
            let found = fitted(&readings, "", DAY).0.unwrap();
            find("psi").unwrap().from_si(found.systems[0].readings[0].declared)
        };
        let of_day = declared(&format!(
            "reading 2026-05-12 c101 underground {temperature}\nreading 2026-05-12 c101 buried {temperature}\n"
        ));
        assert!((of_day - psi).abs() < 1e-3, "{temperature}: {psi} psi, {of_day} psi");
        // Those of another day say nothing of this one.
        let of_another = declared(&format!("reading 2026-05-11 c101 buried {temperature}\n"));
        assert!(
            (of_another - psi).abs() > 0.1,
            "{temperature}: {psi} psi, {of_another} psi"
        );
        assert!((of_another - declared("")).abs() < 1e-9);
    }
}

#[test]
fn a_cable_has_the_temperature_that_was_read_in_it() {
    let second = "cable c102 { pairs 25, gauge 24 awg, rating 20 psi, section s1 { buried 1 km, resistance 0.14 psi/scfh/kft, usage 1 scfh } }
cable c103 { pairs 25, gauge 24 awg, rating 20 psi, section s1 { buried 1 km, resistance 0.14 psi/scfh/kft, usage 1 scfh } }
reading 2026-05-12 c101 buried 4 degC
reading 2026-05-12 c102 buried 12 degC
reading 2026-05-11 c102 buried 30 degC
";
    let office = lowered(&compose(OFFICE, second));
    let of_day = office.on_day(DAY).unwrap();
    let read = |cable: &str, key| {
        let read = of_day.temperature_of_day(of_day.named(cable).unwrap(), key);
        read.map(|read| read.to_string())
    };
    assert_eq!(read("c101", Key::Buried).as_deref(), Some("4 degC"));
    assert_eq!(read("c102", Key::Buried).as_deref(), Some("12 degC"));
    assert_eq!(
        read("c103", Key::Buried).as_deref(),
        Some("12 degC"),
        "the last that was read"
    );
    assert_eq!(read("c101", Key::Underground), None);
    assert!(office.on_day(Date { day: 10, ..DAY }).is_none());
    // None of its sections is on poles.
    let wrong = lowered(&compose(OFFICE, "reading 2026-05-12 c101 aerial 4 degC\n"));
    assert_eq!(wrong.problems[0].message, "no section of `c101` is aerial");
}
