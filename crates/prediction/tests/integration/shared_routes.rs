//! Routes between offices: each office computes the one network that they are together.

use drysheath_fixture::thing;
use drysheath_office::{Networks, Office, PartsInMemory, lower};
use drysheath_prediction::{AirLocation, HoldUp, PathSource, Prediction, StateError, hold_up};
use drysheath_syntax::parse;
use drysheath_text::FileId;

use super::air::{psi, scfh};

const ROUTE: &str = "route t7 { from offices/elm, to offices/forkwater }\n";
const CABLE: &str = "cable c7 {
    pairs 50, gauge 24 awg
    section s1 { buried 3 km, resistance 0.14 psi/scfh/kft, usage 3 scfh }
    section s2 { buried 3 km, resistance 0.09 psi/scfh/kft, usage 1 scfh }
    place mh-2 { at 4 km }
}\n";
const ELM: &str = "dryer d1 { compressor piston, delivers 30 psi, capacity 100 scfh, dew-point -40 degC }
regulator r1 { set 10 psi, differential 5 psi, droop 0.02 psi/scfh }
air d1 -> r1 -> c7 with 3/8 in tube, 1/4 in bore, 4 m
cable c1 { pairs 25, gauge 24 awg, section s1 { buried 1 km, resistance 0.14 psi/scfh/kft, usage 2 scfh } }
air r1 -> c1
";
const FORKWATER: &str = "dryer d2 { compressor piston, delivers 25 psi, capacity 60 scfh, dew-point -40 degC }
regulator r2 { set 8 psi, differential 5 psi, droop 0.02 psi/scfh }
air d2 -> r2 -> c7 end with 3/8 in tube, 1/4 in bore, 9 m
cable c2 { pairs 25, gauge 24 awg, section s1 { buried 2 km, resistance 0.14 psi/scfh/kft, usage 1 scfh } }
air c7 place mh-2 -> c2
";

struct Joined {
    office: Office,
    networks: Networks,
    prediction: Prediction,
}

fn compute(path: &str, files: &[(&str, &str)]) -> Joined {
    let numbered: Vec<(FileId, &str, &str)> = (0..)
        .map(FileId)
        .zip(files)
        .map(|(file, (path, text))| (file, *path, *text))
        .collect();
    let library = PartsInMemory::new(numbered.iter().copied());
    let (file, path, text) = *numbered.iter().find(|(_, own, _)| *own == path).unwrap();
    let office = lower(file, path, text.into(), &parse(text), &library);
    assert!(office.problems.is_empty(), "{:?}", office.problems);
    let networks = Networks::new(&office);
    let prediction = Prediction::new(&office, &networks);
    Joined {
        office,
        networks,
        prediction,
    }
}

impl Joined {
    fn along(&self, name: &str, metres: f64) -> f64 {
        let id = thing(&self.office, name);
        let route = self
            .prediction
            .air
            .lines()
            .iter()
            .find(|route| route.thing == id)
            .unwrap();
        psi(self.prediction.air.pressure_along(route, metres).unwrap())
    }

    fn flow_along(&self, name: &str, metres: f64) -> f64 {
        let id = thing(&self.office, name);
        let route = self
            .prediction
            .air
            .lines()
            .iter()
            .find(|route| route.thing == id)
            .unwrap();
        scfh(self.prediction.air.flow_along(route, metres).unwrap())
    }

    /// How long the pressures hold once some sources stop.
    fn hold_up(&self, stops: &[&str]) -> HoldUp<'_> {
        let stops: Vec<_> = stops.iter().map(|name| thing(&self.office, name)).collect();
        hold_up(&self.office, &self.networks, &[None; 3], &self.prediction.air, &stops)
    }

    fn supply(&self, name: &str) -> f64 {
        scfh(self.prediction.air.supply(thing(&self.office, name)).unwrap().flow)
    }
}

fn offices(elevations: (u32, u32)) -> (Joined, Joined) {
    let route = format!("{ROUTE}{CABLE}");
    let elm = format!(
        "use routes/t7\noffice elm {{ elevation {} m, coldest -30 degC }}\n{ELM}",
        elevations.0
    );
    let forkwater = format!(
        "use routes/t7\noffice forkwater {{ elevation {} m, coldest -30 degC }}\n{FORKWATER}",
        elevations.1
    );
    let files = [
        ("routes/t7", route.as_str()),
        ("offices/elm", &elm),
        ("offices/forkwater", &forkwater),
    ];
    (compute("offices/elm", &files), compute("offices/forkwater", &files))
}

#[test]
fn both_offices_compute_what_one_office_with_all_of_it_would() {
    let (elm, forkwater) = offices((0, 0));
    let one = format!("office one {{ elevation 0 m, coldest -30 degC }}\n{CABLE}{ELM}{FORKWATER}");
    let one = compute("offices/one", &[("offices/one", &one)]);
    let near = |one: f64, other: f64| (one - other).abs() < 1e-9;
    for metres in [0.0, 1_000.0, 3_000.0, 4_000.0, 5_500.0, 6_000.0] {
        let wanted = one.along("c7", metres);
        assert!(wanted > 5.0 && wanted < 10.0);
        for office in [&elm, &forkwater] {
            assert!(
                near(office.along("c7", metres), wanted),
                "{metres} m: {} psi, not {wanted}",
                office.along("c7", metres)
            );
            assert!(near(office.flow_along("c7", metres), one.flow_along("c7", metres)));
        }
    }
    assert!(near(elm.supply("d1"), one.supply("d1")));
    assert!(near(forkwater.supply("d2"), one.supply("d2")));
    assert!(near(elm.along("c1", 1_000.0), one.along("c1", 1_000.0)));
    assert!(near(forkwater.along("c2", 2_000.0), one.along("c2", 2_000.0)));
    // What is used comes from the two: 2 + 3 + 1 + 1 scfh.
    assert!((elm.supply("d1") + forkwater.supply("d2") - 7.0).abs() < 1e-6);
}

#[test]
fn pressures_are_above_the_air_around_the_office_that_shows_them() {
    // By ISO 2533 the air has 84.56 kPa at 1500 m and 101.33 kPa at sea level.
    let (elm, forkwater) = offices((1_500, 0));
    let ambient = |joined: &Joined| joined.prediction.air.conditions.ambient.pascals();
    let absolute = |joined: &Joined, metres| joined.along("c7", metres) * 6_894.757 + ambient(joined);
    assert!((ambient(&forkwater) - ambient(&elm) - 16_768.0).abs() < 30.0);
    for metres in [0.0, 3_000.0, 6_000.0] {
        assert!((absolute(&elm, metres) - absolute(&forkwater, metres)).abs() < 0.1);
    }
    assert!((forkwater.along("c7", 6_000.0) - 8.0).abs() < 0.2);
}

#[test]
fn the_path_of_the_air_ends_where_another_office_feeds_it() {
    let (elm, _) = offices((0, 0));
    let air = &elm.prediction.air;
    let id = thing(&elm.office, "c7");
    let line = air.lines().iter().find(|route| route.thing == id).unwrap();
    let source = |metres| air.supply_path(&AirLocation::OnLine(line, metres)).unwrap().source;
    assert_eq!(source(100.0), PathSource::Dryer(thing(&elm.office, "d1")));
    assert!(matches!(source(5_900.0), PathSource::Elsewhere(0, pressure) if (psi(pressure) - 8.0).abs() < 0.2));
}

#[test]
fn what_is_missing_in_the_other_office_is_said_of_the_route() {
    let route = format!("{ROUTE}{CABLE}");
    let elm = format!("use routes/t7\noffice elm {{ elevation 0 m, coldest -30 degC }}\n{ELM}");
    let forkwater = format!(
        "use routes/t7\noffice forkwater {{ elevation 0 m }}\n{}",
        FORKWATER.replace("resistance 0.14 psi/scfh/kft, ", "")
    );
    let missing = |forkwater: &str| {
        let files = [
            ("routes/t7", route.as_str()),
            ("offices/elm", &elm),
            ("offices/forkwater", forkwater),
        ];
        let elm = compute("offices/elm", &files);
        let missing = elm.prediction.missing.iter();
        missing
            .map(|missing| (missing.what.clone(), missing.range.of(&elm.office.text).to_owned()))
            .collect::<Vec<_>>()
    };
    assert_eq!(
        missing(&forkwater),
        [(
            "the resistance of section `s1` of `c2` in forkwater".to_owned(),
            "routes/t7".to_owned()
        )]
    );
    assert_eq!(
        missing("use routes/t7\noffice forkwater { elevation 0 m }\nair d2 ->"),
        [(
            "what `forkwater` feeds into this route: its file has errors".to_owned(),
            "routes/t7".to_owned()
        )]
    );
}

#[test]
fn offices_behind_the_next_one_count_too() {
    let t7 = format!("{ROUTE}{CABLE}");
    let t8 = "route t8 { from offices/forkwater, to offices/gorse }\ncable c8 { pairs 25, gauge 24 awg, section s1 { buried 2 km, resistance 0.1 psi/scfh/kft, usage 0.5 scfh } }\n";
    let elm = format!("use routes/t7\noffice elm {{ elevation 0 m, coldest -30 degC }}\n{ELM}");
    let forkwater =
        "use routes/t7\nuse routes/t8\noffice forkwater { elevation 0 m, coldest -30 degC }\nair c7 -> c8\n";
    let gorse = "use routes/t8\noffice gorse { elevation 0 m, coldest -30 degC }\ncable c9 { pairs 25, gauge 24 awg, section s1 { buried 1 km, resistance 0.1 psi/scfh/kft, usage 0.5 scfh } }\nair c8 -> c9\n";
    let files = [
        ("routes/t7", t7.as_str()),
        ("routes/t8", t8),
        ("offices/elm", &elm),
        ("offices/forkwater", forkwater),
        ("offices/gorse", gorse),
    ];
    let elm = compute("offices/elm", &files);
    assert_eq!(elm.prediction.missing, []);
    // 2 in c1, 4 in c7, half in c8 and in c9.
    assert!((elm.supply("d1") - 7.0).abs() < 1e-6, "{}", elm.supply("d1"));
    let gorse = compute("offices/gorse", &files);
    let (here, there) = (elm.along("c7", 6_000.0), gorse.along("c8", 0.0));
    assert!((here - there).abs() < 1e-5, "{here} psi and {there} psi");
}

#[test]
fn a_route_without_things_or_ends_takes_nothing_down() {
    let heads = [
        "route t7 { from offices/elm, to offices/forkwater }\n",
        "route t7 { from offices/elm }\n",
        "route t7 { to offices/forkwater }\n",
        "route t7 { }\n",
        "route t7\n",
        "route\n",
        "",
    ];
    let neighbour = [
        "use routes/t7\noffice forkwater { elevation 0 m }\nregulator r2\nair r2 ->",
        "use routes/t7\noffice forkwater\ncable c2\n",
        "",
    ];
    let own = [
        "use routes/t7\noffice elm\nblock tb { pairs 2 }\n",
        "use routes/t7\nblock tb { pairs 2 }\n",
        "use routes/t7\n",
    ];
    let mut cases = Vec::new();
    for head in heads {
        for neighbour in neighbour {
            cases.extend(own.map(|own| (head, neighbour, own)));
        }
    }
    for (head, neighbour, own) in cases {
        let files = [
            (FileId(0), "routes/t7", head),
            (FileId(1), "offices/elm", own),
            (FileId(2), "offices/forkwater", neighbour),
        ];
        for (file, path, text) in files {
            let office = lower(file, path, text.into(), &parse(text), &PartsInMemory::new(files));
            let prediction = Prediction::new(&office, &Networks::new(&office));
            for missing in &prediction.missing {
                assert!(office.has(missing.on), "{head:?} {own:?} {}", missing.what);
            }
        }
    }
}

/// The route, Elm and Forkwater, with what they hold. Forkwater has bottles, and a tank and a pipe that air is stored in.
const CABLE_IN_TIME: &str = "cable c7 {
    pairs 50, gauge 24 awg
    section s1 { buried 3 km, resistance 0.14 psi/scfh/kft, usage 3 scfh, volume 30 ft3, minimum 4 psi }
    section s2 { buried 3 km, resistance 0.09 psi/scfh/kft, usage 1 scfh, volume 45 ft3, minimum 4 psi }
    place mh-2 { at 4 km }
}\n";
const ELM_IN_TIME: &str = "dryer d1 { compressor piston, delivers 30 psi, capacity 100 scfh, dew-point -40 degC }
regulator r1 { set 10 psi, differential 5 psi, droop 0.02 psi/scfh }
air d1 -> r1 -> c7 with 3/8 in tube, 1/4 in bore, 4 m
";
const FORKWATER_IN_TIME: &str = "bottle n2 { delivers 40 psi, holds 90 scf, dew-point -40 degC }
regulator r2 { set 8 psi, differential 5 psi, droop 0.02 psi/scfh }
tank tk { volume 0.4 m3, rating 60 psi }
air n2 -> r2 -> tk -> c7 end with 3/8 in tube, 1/4 in bore, 9 m
cable c2 { pairs 25, gauge 24 awg, section s1 { buried 2 km, resistance 0.14 psi/scfh/kft, usage 1 scfh, volume 20 ft3 } }
air c7 place mh-2 -> c2
air-pipe ap { length 500 m, bore 0.75 in, usage 0.3 scfh }
air tk -> ap with 3/8 in tube, 1/4 in bore, 2 m
";

fn in_time(forkwater: &str) -> Joined {
    let route = format!("{ROUTE}{CABLE_IN_TIME}");
    let elm = format!("use routes/t7\noffice elm {{ elevation 0 m, coldest -30 degC }}\n{ELM_IN_TIME}");
    let forkwater = format!("use routes/t7\noffice forkwater {{ elevation 0 m, coldest -30 degC }}\n{forkwater}");
    let files = [
        ("routes/t7", route.as_str()),
        ("offices/elm", &elm),
        ("offices/forkwater", &forkwater),
    ];
    compute("offices/elm", &files)
}

/// The time, and the place on `c7` in metres.
fn fall(joined: &Joined) -> (f64, f64) {
    match joined.hold_up(&["d1"]) {
        HoldUp::Falls(fall) => (fall.time.seconds(), fall.metres),
        other => panic!("{other:?}"),
    }
}

#[test]
fn pressures_hold_as_long_as_in_one_office_with_all_of_it() {
    let elm = in_time(FORKWATER_IN_TIME);
    let one =
        format!("office one {{ elevation 0 m, coldest -30 degC }}\n{CABLE_IN_TIME}{ELM_IN_TIME}{FORKWATER_IN_TIME}");
    let one = compute("offices/one", &[("offices/one", &one)]);
    let (wanted, there) = fall(&one);
    assert!(wanted > 3_600.0, "{wanted} s");
    let (found, place) = fall(&elm);
    assert!((found - wanted).abs() < 1e-6 * wanted, "{found} s, not {wanted}");
    assert!((place - there).abs() < 1e-6);
    // What the other office holds counts: its tank, its cable and its bottles.
    for less in [
        FORKWATER_IN_TIME.replace("0.4 m3", "0.1 m3"),
        FORKWATER_IN_TIME.replace("volume 20 ft3", "volume 5 ft3"),
        FORKWATER_IN_TIME.replace("90 scf", "60 scf"),
    ] {
        let (shorter, _) = fall(&in_time(&less));
        assert!(shorter < wanted - 30.0, "{shorter} s, {wanted} s with more");
    }
}

#[test]
fn a_volume_that_the_other_office_does_not_declare_is_said_of_the_route() {
    let without = [
        ("volume 20 ft3", "the volume of section `s1` of `c2` in forkwater"),
        ("volume 0.4 m3, ", "the volume of `tk` in forkwater"),
        ("holds 90 scf, ", "what one bottle of `n2` holds in forkwater"),
    ];
    for (given, wanted) in without {
        let text = FORKWATER_IN_TIME
            .replace(&format!(", {given} }}"), " }")
            .replace(given, "");
        let elm = in_time(&text);
        match elm.hold_up(&["d1"]) {
            HoldUp::NotKnown(StateError::Missing(missing)) => {
                assert_eq!(missing[0].what, wanted);
                assert_eq!(missing[0].range.of(&elm.office.text), "routes/t7");
            }
            other => panic!("{given}: {other:?}"),
        }
    }
}
