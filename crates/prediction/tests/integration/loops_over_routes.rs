//! Loops that go on in other offices over routes.

use drysheath_fixture::thing;
use drysheath_office::{Networks, Office, PartsInMemory, lower};
use drysheath_prediction::{Loop, MissingInput, controls, loops};
use drysheath_syntax::parse;
use drysheath_text::FileId;

/// Worked example AWG-1, ohm/kft there and back at 20 °C, as ohm/m.
const LOOP_24: f64 = 51.337_512_861_228_75 / 304.8;
/// From 20 °C to 60 °C: IEC 60028, 0.00393 for each degree.
const AT_SIXTY: f64 = 1.0 + 0.003_93 * 40.0;

const ONE: &str = "route one { from offices/oak, to offices/forkwater }
cable c7 { pairs 25, gauge 24 awg, section s1 { buried 2 km }, section s2 { buried 4 km }, branch b1 { from 3 km, section s1 { aerial 500 m } } }
";
const TWO: &str = "route two { from offices/forkwater, to offices/gorse }
lead lp { pairs 2, loop 900 ohm }
";

struct Computed {
    office: Office,
    networks: Networks,
    loops: Vec<Loop>,
    missing: Vec<MissingInput>,
}

fn compute(path: &str, offices: [&str; 3]) -> Computed {
    let heads = [
        "use routes/one\noffice oak { stage planned, hottest 50 degC }\nblock tb { pairs 4 }\n",
        "use routes/one\nuse routes/two\noffice forkwater { stage planned }\nblock tb { pairs 4 }\n",
        "use routes/two\noffice gorse { stage planned }\nblock tb { pairs 4 }\n",
    ];
    let texts = heads
        .iter()
        .zip(offices)
        .map(|(head, office)| format!("{head}{office}"));
    let texts: Vec<String> = texts.collect();
    let files = [
        ("routes/one", ONE),
        ("routes/two", TWO),
        ("offices/oak", &texts[0]),
        ("offices/forkwater", &texts[1]),
        ("offices/gorse", &texts[2]),
    ];
    let numbered = || {
        (0..)
            .map(FileId)
            .zip(files)
            .map(|(file, (path, text))| (file, path, text))
    };
    let library = PartsInMemory::new(numbered());
    let (file, path, text) = numbered().find(|(_, own, _)| *own == path).unwrap();
    let office = lower(file, path, text.into(), &parse(text), &library);
    assert!(office.problems.is_empty(), "{:?}", office.problems);
    let networks = Networks::new(&office);
    let mut missing = Vec::new();
    let loops = loops(&office, &networks, &mut missing);
    Computed {
        office,
        networks,
        loops,
        missing,
    }
}

impl Computed {
    /// The device, the monitor and the resistance of each loop, with the names that this office has for them.
    fn told(&self) -> Vec<(&str, &str, f64)> {
        let all = self.networks.merged(&self.office).office;
        let told = self.loops.iter().map(|one| {
            let (device, monitor) = (all.name(one.signal.thing), all.name(one.input.thing));
            (device, monitor, one.resistance.ohms())
        });
        told.collect()
    }

    #[track_caller]
    fn tells(&self, wanted: &[(&str, &str, f64)]) {
        let told = self.told();
        let is_same = told.len() == wanted.len()
            && told
                .iter()
                .zip(wanted)
                .all(|(found, wanted)| (found.0, found.1) == (wanted.0, wanted.1) && (found.2 - wanted.2).abs() < 1e-6);
        assert!(is_same, "{told:?}, not {wanted:?}");
    }
}

const SENSOR: &str = "pressure-sensor ps1 { at c7 1 km, span 0 .. 15 psi }\nwire ps1 -> c7 pair 1\n";

#[test]
fn both_offices_have_the_loop_between_them() {
    let monitor = "monitor m1 { sensors 4 }\nwire c7 pair 1 -> tb pair 1 -> m1 sensor 1\n";
    let offices = [SENSOR, monitor, ""];
    // From the sensor at 1 km to the far end at 6 km, where the monitor is, at the hottest that either office says.
    let ohms = 5_000.0 * LOOP_24 * AT_SIXTY;
    compute("offices/oak", offices).tells(&[("ps1", "forkwater/m1", ohms)]);
    compute("offices/forkwater", offices).tells(&[("oak/ps1", "m1", ohms)]);
    compute("offices/gorse", offices).tells(&[]);
}

#[test]
fn a_pair_is_counted_from_the_end_where_the_monitor_is() {
    let monitor = "monitor m1 { sensors 4 }\nwire c7 pair 1 -> tb pair 1 -> m1 sensor 1\n";
    // The office where the cable ends has both the sensor and the monitor.
    let own = format!("{SENSOR}{monitor}");
    compute("offices/forkwater", ["", &own, ""]).tells(&[("ps1", "m1", 5_000.0 * LOOP_24 * AT_SIXTY)]);
    // That where it begins is 1 km away, and 50 degC at the most.
    let at_fifty = 1.0 + 0.003_93 * 30.0;
    compute("offices/oak", [&own, "", ""]).tells(&[("ps1", "m1", 1_000.0 * LOOP_24 * at_fifty)]);
    // On a branch at 3 km, 200 m from there.
    let branch = own.replace("at c7 1 km", "at c7 branch b1 200 m");
    compute("offices/forkwater", ["", &branch, ""]).tells(&[("ps1", "m1", 3_200.0 * LOOP_24 * AT_SIXTY)]);
}

#[test]
fn a_wire_is_followed_through_one_office_into_the_next() {
    let sensor = "pressure-sensor p1 { span 0 .. 15 psi }\nwire p1 -> tb pair 1 -> c7 pair 2\n";
    let between = "wire c7 pair 2 -> tb pair 2 -> lp pair 1\n";
    let monitor = "monitor m1 { sensors 4 }\nwire lp pair 1 -> tb pair 1 -> m1 sensor 1\n";
    let offices = [sensor, between, monitor];
    let ohms = (6_000.0 * LOOP_24 + 900.0) * AT_SIXTY;
    compute("offices/oak", offices).tells(&[("p1", "gorse/m1", ohms)]);
    compute("offices/gorse", offices).tells(&[("oak/p1", "m1", ohms)]);
    // It has neither the device nor the monitor.
    compute("offices/forkwater", offices).tells(&[]);
}

#[test]
fn devices_of_two_offices_share_a_pair() {
    let sensor = |name: &str, address: u32| {
        format!(
            "pressure-sensor {name} {{ address {address}, span 0 .. 15 psi, needs 20 V, current-max 8 mA }}\nwire {name} -> c7 pair 1\n"
        )
    };
    let monitor =
        "monitor m1 { sensors 4, addresses 8, loop-voltage 90 V }\nwire c7 pair 1 -> tb pair 1 -> m1 sensor 1\n";
    let here = format!("{}{monitor}", sensor("p2", 2));
    let offices = [&*sensor("p1", 1), &here, ""];
    let forkwater = compute("offices/forkwater", offices);
    let all = forkwater.networks.merged(&forkwater.office).office;
    let [own, other] = forkwater.loops.as_slice() else {
        panic!("{:?}", forkwater.told())
    };
    for (one, others) in [(own, "oak/p1"), (other, "p2")] {
        let [shared] = one.others.as_slice() else {
            panic!("{:?}", one.others)
        };
        assert_eq!(all.name(shared.thing), others);
        // 8 mA of the other one through the whole pair, 6 km.
        let volts = 0.008 * 6_000.0 * LOOP_24 * AT_SIXTY;
        assert!((one.dropped_by_others().volts() - volts).abs() < 1e-9);
    }
}

#[test]
fn what_a_loop_lacks_in_another_office_is_said_of_the_route() {
    let monitor = "monitor m1 { sensors 4 }\nwire c7 pair 1 -> tb pair 1\nwire tb pair 1 -> m1 sensor 1 with 22 awg\n";
    let oak = compute("offices/oak", [SENSOR, monitor, ""]);
    oak.tells(&[]);
    let missing = oak.missing.iter();
    let missing: Vec<(&str, &str)> = missing
        .map(|missing| (missing.what.as_str(), missing.range.of(&oak.office.text)))
        .collect();
    assert_eq!(
        missing,
        [(
            "the length of the run from `forkwater/tb` to `forkwater/m1`",
            "routes/one"
        )]
    );
    assert!(oak.office.route_with(oak.missing[0].on).is_some());
}

#[test]
fn wires_that_cannot_be_read_elsewhere_prove_no_loop() {
    let monitor = "monitor m1 { sensors 4 }\nwire c7 pair 1 -> tb pair 1 -> m1 sensor 1\nwire tb pair 1 -> -> x\n";
    let files = [SENSOR, monitor, ""];
    let heads = [
        "use routes/one\noffice oak\n",
        "use routes/one\noffice forkwater\nblock tb { pairs 4 }\n",
    ];
    let texts: Vec<String> = heads
        .iter()
        .zip(files)
        .map(|(head, text)| format!("{head}{text}"))
        .collect();
    let shelf = [
        (FileId(0), "routes/one", ONE),
        (FileId(1), "offices/oak", &*texts[0]),
        (FileId(2), "offices/forkwater", &*texts[1]),
    ];
    let office = lower(
        FileId(1),
        "offices/oak",
        texts[0].as_str().into(),
        &parse(&texts[0]),
        &PartsInMemory::new(shelf),
    );
    assert!(loops(&office, &Networks::new(&office), &mut Vec::new()).is_empty());
}

#[test]
fn an_output_switches_a_control_in_another_office() {
    let control = "dryer d1 { compressor piston, delivers 30 psi, capacity 100 scfh, dew-point -40 degC, control start { needs 20 V, current-max 20 mA } }\nwire c7 pair 1 -> d1 control start\n";
    let monitor = "monitor m1 { outputs 2, output-voltage 48 V }\nwire m1 output 1 -> tb pair 1 -> c7 pair 1\n";
    let oak = compute("offices/oak", [control, monitor, ""]);
    let found = controls(&oak.office, &oak.networks, &mut Vec::new());
    let [one] = found.as_slice() else { panic!("{found:?}") };
    assert_eq!(one.control.thing, thing(&oak.office, "d1"));
    assert!((one.resistance.ohms() - 6_000.0 * LOOP_24 * AT_SIXTY).abs() < 1e-6);
}
