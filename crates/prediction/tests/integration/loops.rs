//! The resistance of each loop.

use drysheath_engineering::loops::LoopError;
use drysheath_fixture::lowered;
use drysheath_office::{GivenQuantity, Networks, Office};
use drysheath_prediction::{Loop, LoopPart, SetBy, loops};
use drysheath_prediction::{MissingInput, NeededFor};

use crate::planned::{missing, planned};

const MONITOR: &str = "monitor m1 { sensors 8, contacts 4 }\n";
const BLOCK: &str = "block tb { pairs 25 }\n";
const SENSOR: &str = "pressure-sensor ps1 { span 0 .. 10 psi, at c101 3.2 km }\n";
const WIRE: &str = "wire ps1 -> c101 pair 37 -> tb pair 3 -> m1 sensor 3\n";
/// Two sections, 1.2 km and 2 km.
const CABLE: &str =
    "cable c101 { pairs 50, gauge 24 awg, section s1 { underground 1.2 km }, section s2 { buried 2 km } }\n";

/// Worked example AWG-1, ohm/kft there and back at 20 °C, as ohm/m.
const LOOP_24: f64 = 51.337_512_861_228_75 / 304.8;
const LOOP_22: f64 = 32.286_479_214_346_96 / 304.8;
const LOOP_26: f64 = 81.629_842_922_163_19 / 304.8;
/// From 20 °C to 60 °C: IEC 60028, 0.00393 for each degree.
const AT_SIXTY: f64 = 1.0 + 0.003_93 * 40.0;

fn found(office: &Office) -> (Vec<Loop>, Vec<MissingInput>) {
    let mut gaps = Vec::new();
    let loops = loops(office, &Networks::new(office), &mut gaps);
    (loops, gaps)
}

/// The loops of an office in which nothing is missing.
#[track_caller]
fn known(statements: &str) -> (Office, Vec<Loop>) {
    let office = planned(statements);
    assert_eq!(office.problems.len(), 0, "{:?}", office.problems);
    let (loops, gaps) = found(&office);
    assert_eq!(gaps, [], "{statements}");
    (office, loops)
}

#[track_caller]
fn only(statements: &str) -> (Office, Loop) {
    let (office, loops) = known(statements);
    let [one] = loops.as_slice() else { panic!("{loops:?}") };
    (office, one.clone())
}

/// What is missing, as `thing | bytes | what`, and how many loops are known all the same.
#[track_caller]
fn lacks(statements: &str, expected: &[&str], still: usize) {
    let office = planned(statements);
    let (loops, gaps) = found(&office);
    assert_eq!(missing(&office, &gaps, NeededFor::Loop), expected, "{statements}");
    assert_eq!(loops.len(), still, "{statements}");
}

/// `what size, metres at place` of each stretch.
fn parts(office: &Office, it: &Loop) -> Vec<String> {
    it.stretches
        .iter()
        .map(|stretch| {
            let of = match &stretch.of {
                LoopPart::Run(number) => format!("run {}", usize::from(*number)),
                LoopPart::Lead { thing, pair } => format!("{} {pair}", office.name(*thing)),
                LoopPart::Cable {
                    thing,
                    branch,
                    pair,
                    whole,
                } => {
                    let branch = branch.as_deref().map(|name| format!(" {name}")).unwrap_or_default();
                    let whole = if *whole { " whole" } else { "" };
                    format!("{}{branch} {pair}{whole}", office.name(*thing))
                }
            };
            let place = stretch.place.range.of(&office.text);
            match stretch.wire {
                Some((gauge, length)) => format!("{of}: {:.3} m of {gauge} at {place}", length.metres()),
                None => format!("{of}: as stated at {place}"),
            }
        })
        .collect()
}

#[track_caller]
fn near(found: f64, expected: f64) {
    assert!((found - expected).abs() < 1e-6, "{found}, not {expected}");
}

#[test]
fn a_long_pair_on_a_hot_day() {
    // 24 AWG, 18 kft: 924 ohm at 20 °C and 1069 ohm at 60 °C [derived from IEC 60028].
    let text = "cable c1 { pairs 25, gauge 24 awg, section s1 { aerial 18 kft } }\n\
                pressure-sensor p1 { span 0 .. 10 psi, at c1 18 kft }\n\
                wire p1 -> c1 pair 1 -> m1 sensor 1\n";
    let (office, one) = only(&format!("{MONITOR}{text}"));
    assert!((one.resistance_at_20.ohms() - 924.0).abs() < 0.5, "{one:?}");
    assert!((one.resistance.ohms() - 1069.0).abs() < 0.5, "{one:?}");
    assert_eq!(one.temperature.quantity.to_string(), "60 degC");
    assert!(one.temperature.place.is_none());
    assert_eq!(
        (office.name(one.signal.thing), one.signal.port.word),
        ("p1", "pressure")
    );
    assert_eq!(
        (office.name(one.input.thing), one.input.port.word, one.input.number),
        ("m1", "sensor", 1)
    );
    assert_eq!(one.unstated_runs, 1);
    assert_eq!(one.limit, Ok(None));
}

#[test]
fn the_office_says_how_hot_its_pairs_get() {
    let text = format!("office elm-hollow {{ stage planned, hottest 20 degC }}\n{MONITOR}{BLOCK}{CABLE}{SENSOR}{WIRE}");
    let (loops, gaps) = found(&lowered(&text));
    let [one] = loops.as_slice() else { panic!("{loops:?}") };
    assert_eq!(gaps, []);
    near(one.resistance.ohms(), 3200.0 * LOOP_24);
    near(one.resistance_at_20.ohms(), 3200.0 * LOOP_24);
    assert!(one.temperature.place.is_some());
}

#[test]
fn a_run_counts_its_own_wire_once() {
    let wire = "wire ps1 -> c101 pair 37 -> tb pair 3 -> m1 sensor 3 with 22 awg, 8 m\n";
    let (office, one) = only(&format!("{MONITOR}{BLOCK}{CABLE}{SENSOR}{wire}"));
    assert_eq!(
        parts(&office, &one),
        [
            "run 0: 8.000 m of 22 awg at 22 awg, 8 m",
            "c101 37: 3200.000 m of 24 awg at gauge 24 awg"
        ]
    );
    near(one.resistance_at_20.ohms(), 8.0 * LOOP_22 + 3200.0 * LOOP_24);
    near(one.resistance.ohms(), (8.0 * LOOP_22 + 3200.0 * LOOP_24) * AT_SIXTY);
    let sum: f64 = one.stretches.iter().map(|stretch| stretch.resistance.ohms()).sum();
    near(one.resistance.ohms(), sum);
    assert_eq!(one.unstated_runs, 0);
}

#[test]
fn a_range_counts_for_each_pair() {
    let text = "contact k1 { healthy closed }\ncontact k2 { healthy closed }\n\
                wire k1 -> tb pair 1\nwire k2 -> tb pair 2\n\
                wire tb pair 1 .. 2 -> m1 contact 3 .. 4 with 22 awg, 8 m\n";
    let (office, loops) = known(&format!("{MONITOR}{BLOCK}{text}"));
    assert_eq!(loops.len(), 2);
    for one in &loops {
        near(one.resistance_at_20.ohms(), 8.0 * LOOP_22);
        assert_eq!((parts(&office, one).len(), one.unstated_runs), (1, 1));
    }
    // What it lacks is one gap, not two.
    let lacking = text.replace("22 awg, ", "");
    let run = "wire tb pair 1 .. 2 -> m1 contact 3 .. 4 with 8 m";
    lacks(
        &format!("{MONITOR}{BLOCK}{lacking}"),
        &[&format!("tb | {run} | the wire size of the run from `tb` to `m1`")],
        0,
    );
    let lacking = text.replace(", 8 m", "");
    let run = "wire tb pair 1 .. 2 -> m1 contact 3 .. 4 with 22 awg";
    lacks(
        &format!("{MONITOR}{BLOCK}{lacking}"),
        &[&format!("tb | {run} | the length of the run from `tb` to `m1`")],
        0,
    );
}

#[test]
fn as_far_as_the_device_stands() {
    let cable = "cable c101 {\n\
                 pairs 50\n\
                 gauge 24 awg\n\
                 section s1 { underground 1.2 km }\n\
                 section s2 { buried 2 km, gauge 22 awg }\n\
                 section s3 { aerial 0.4 km }\n\
                 section s4 { aerial 0.4 km }\n\
                 place mh-4 { at 1.7 km }\n\
                 branch b1 { from 1.3 km, section b { aerial 2 km, gauge 26 awg } }\n\
                 }\n";
    let loop_at = |sensor: &str| only(&format!("{MONITOR}{BLOCK}{cable}{sensor}{WIRE}"));
    let at = |at: &str| loop_at(&format!("pressure-sensor ps1 {{ span 0 .. 10 psi, at c101 {at} }}\n"));
    let (office, one) = at("1 km");
    assert_eq!(parts(&office, &one), ["c101 37: 1000.000 m of 24 awg at gauge 24 awg"]);
    let (office, one) = at("place mh-4");
    let on_the_way = [
        "c101 37: 500.000 m of 22 awg at gauge 22 awg",
        "c101 37: 1200.000 m of 24 awg at gauge 24 awg",
    ];
    assert_eq!(parts(&office, &one), on_the_way);
    near(one.resistance_at_20.ohms(), 1200.0 * LOOP_24 + 500.0 * LOOP_22);
    let (office, one) = at("branch b1 600 m");
    assert_eq!(
        parts(&office, &one),
        [
            "c101 b1 37: 600.000 m of 26 awg at gauge 26 awg",
            "c101 37: 100.000 m of 22 awg at gauge 22 awg",
            "c101 37: 1200.000 m of 24 awg at gauge 24 awg"
        ]
    );
    near(
        one.resistance_at_20.ohms(),
        1200.0 * LOOP_24 + 100.0 * LOOP_22 + 600.0 * LOOP_26,
    );
    let (office, one) = at("4000 m");
    let whole = [
        "c101 37: 800.000 m of 24 awg at gauge 24 awg",
        "c101 37: 2000.000 m of 22 awg at gauge 22 awg",
        "c101 37: 1200.000 m of 24 awg at gauge 24 awg",
    ];
    assert_eq!(parts(&office, &one), whole);
    // Right at the office the cable adds nothing.
    assert!(parts(&office, &at("0 m").1).is_empty());
    // A sensor that an air run brings out of the cable stands where the run leaves it.
    let (office, one) = loop_at("pressure-sensor ps1 { span 0 .. 10 psi }\nair c101 place mh-4 -> ps1\n");
    assert_eq!(parts(&office, &one), on_the_way);
    // On a branch that says no gauge of its own, the cable's.
    let plain = cable.replace(", gauge 26 awg", "").replace(", gauge 22 awg", "");
    let sensor = "pressure-sensor ps1 { span 0 .. 10 psi, at c101 branch b1 600 m }\n";
    let (office, one) = only(&format!("{MONITOR}{BLOCK}{plain}{sensor}{WIRE}"));
    assert_eq!(
        parts(&office, &one),
        [
            "c101 b1 37: 600.000 m of 24 awg at gauge 24 awg",
            "c101 37: 1300.000 m of 24 awg at gauge 24 awg"
        ]
    );
    // One that stands elsewhere has all of the cable, without the branch.
    let (office, one) = loop_at("pressure-sensor ps1 { span 0 .. 10 psi }\n");
    let whole: Vec<_> = whole.iter().map(|part| part.replace("37:", "37 whole:")).collect();
    assert_eq!(parts(&office, &one), whole);
    let elsewhere = "cable c9 { pairs 25, place mh-1 { at 10 m } }\npressure-sensor ps1 { span 0 .. 10 psi }\n";
    let (office, one) = loop_at(&format!("{elsewhere}air c9 place mh-1 -> ps1\n"));
    assert_eq!(parts(&office, &one), whole);
}

#[test]
fn through_one_cable_into_another() {
    let text = "cable c102 { pairs 25, gauge 26 awg, section s1 { buried 500 m } }\n\
                wire ps1 -> c101 pair 37 -> c102 pair 5\n\
                wire c102 pair 5 -> tb pair 3 -> m1 sensor 3\n";
    let (office, one) = only(&format!("{MONITOR}{BLOCK}{CABLE}{SENSOR}{text}"));
    assert_eq!(
        parts(&office, &one),
        [
            "c101 37: 3200.000 m of 24 awg at gauge 24 awg",
            "c102 5 whole: 500.000 m of 26 awg at gauge 26 awg"
        ]
    );
    assert_eq!(one.unstated_runs, 2);
}

#[test]
fn a_second_signal_has_a_loop_of_its_own() {
    let text = "flow-sensor f1 { span 0 .. 30 scfh, loop-max 2000 ohm, pressure { span 0 .. 20 psi } }\n\
                dryer d1 { compressor none, delivers 10 psi, capacity 40 scfh, contact humidity { healthy closed } }\n\
                wire f1 -> m1 sensor 1 with 22 awg, 8 m\n\
                wire f1 pressure -> m1 sensor 2 with 22 awg, 9 m\n\
                wire d1 contact humidity -> m1 contact 1\n";
    let (office, loops) = known(&format!("{MONITOR}{text}"));
    let shown: Vec<_> = loops
        .iter()
        .map(|it| {
            let limit = it.limit.unwrap().map(|limit| limit.resistance.ohms());
            (
                office.name(it.signal.thing),
                it.signal.port.word,
                it.signal.number,
                limit,
            )
        })
        .collect();
    assert_eq!(
        shown,
        [
            ("f1", "flow", 0, Some(2000.0)),
            ("f1", "pressure", 0, Some(2000.0)),
            ("d1", "contact", 1, None)
        ]
    );
}

#[test]
fn the_lowest_limit_counts_and_all_are_kept() {
    let limit_of = |device: &str, monitor: &str| {
        let (office, one) = only(&format!(
            "monitor m1 {{ sensors 8{monitor} }}\npressure-sensor ps1 {{ span 0 .. 10 psi{device} }}\n\
             wire ps1 -> m1 sensor 3 with 22 awg, 8 m\n"
        ));
        let written = |given: Option<GivenQuantity>| {
            given.and_then(|given| given.place.map(|place| place.range.of(&office.text).to_owned()))
        };
        let limits = one.limits;
        let supply = limits.supply.map(|supply| supply.voltage);
        let said = [written(limits.device), written(limits.monitor), written(supply)].map(Option::unwrap_or_default);
        (
            one.limit
                .map(|limit| limit.map(|limit| (limit.resistance.ohms(), limit.by))),
            said,
        )
    };
    let found = |device: &str, monitor: &str| limit_of(device, monitor).0;
    let supplied = (", needs 10 V, current-max 20 mA", ", loop-voltage -24 V");
    assert_eq!(found("", ""), Ok(None));
    assert_eq!(found(", loop-max 3000 ohm", ""), Ok(Some((3000.0, SetBy::Device))));
    assert_eq!(found("", ", loop-max 4 kohm"), Ok(Some((4000.0, SetBy::Monitor))));
    assert_eq!(
        found(", loop-max 3000 ohm", ", loop-max 2000 ohm"),
        Ok(Some((2000.0, SetBy::Monitor)))
    );
    assert_eq!(
        found(", loop-max 2000 ohm", ", loop-max 2000 ohm"),
        Ok(Some((2000.0, SetBy::Device)))
    );
    // (24 V − 10 V)/20 mA leave 700 ohm.
    assert_eq!(found(supplied.0, supplied.1), Ok(Some((700.0, SetBy::Supply))));
    let (limit, said) = limit_of(
        &format!("{}, loop-max 900 ohm", supplied.0),
        &format!("{}, loop-max 800 ohm", supplied.1),
    );
    assert_eq!(limit, Ok(Some((700.0, SetBy::Supply))));
    assert_eq!(said, ["loop-max 900 ohm", "loop-max 800 ohm", "loop-voltage -24 V"]);
    // A part of what supplies it is no limit and no gap.
    assert_eq!(found(", needs 10 V", supplied.1), Ok(None));
    assert_eq!(found(supplied.0, ""), Ok(None));
    // The device wants more than there is.
    let Err(LoopError::SupplyTooLow { supply, device }) =
        found(&format!("{}, loop-max 900 ohm", supplied.0), ", loop-voltage 9 V")
    else {
        panic!("{:?}", found(supplied.0, ", loop-voltage 9 V"))
    };
    assert_eq!((supply.volts(), device.volts()), (9.0, 10.0));
}

#[test]
fn everything_that_a_cable_can_lack() {
    let other = "pressure-sensor p2 { span 0 .. 10 psi, at c101 100 m }\nwire p2 -> c101 pair 38 -> m1 sensor 4\n";
    let cable = |fields: &str| format!("{MONITOR}{BLOCK}cable c101 {{ pairs 50{fields} }}\n{SENSOR}{WIRE}{other}");
    lacks(
        &cable(", section s1 { buried 4 km }"),
        &["c101 | c101 | the wire size of `c101`"],
        0,
    );
    lacks(&cable(", gauge 24 awg"), &["c101 | c101 | the length of `c101`"], 0);
    lacks(&cable(""), &["c101 | c101 | the length of `c101`"], 0);
    // Beyond the second sensor nothing needs to be known for it.
    lacks(
        &cable(", section s1 { buried 1 km, gauge 24 awg }, section s2 { buried 3 km }"),
        &["c101 | c101 | the wire size of `c101`"],
        1,
    );
    // Sections that say their own leave nothing open.
    lacks(&cable(", section s1 { buried 4 km, gauge 24 awg }"), &[], 2);
}

#[test]
fn what_other_rules_speak_of_is_no_gap() {
    let sensors = "pressure-sensor p1 { span 0 .. 10 psi }\npressure-sensor p2 { span 0 .. 10 psi }\n";
    for wires in [
        // No input, no signal, two inputs, two signals, a fork, a pair wired twice over.
        "wire p1 -> tb pair 1 with 22 awg",
        "wire tb pair 1 -> m1 sensor 1 with 22 awg",
        "wire p1 -> tb pair 1 -> m1 sensor 1 with 22 awg\nwire tb pair 1 -> m1 sensor 2 with 22 awg",
        "wire p1 -> tb pair 1 -> m1 sensor 1 with 22 awg\nwire p2 -> tb pair 1 with 22 awg",
        "wire p1 -> tb pair 1 -> m1 sensor 1 with 22 awg\nwire tb pair 1 -> tb pair 2 with 22 awg",
        "wire p1 -> tb pair 1 -> m1 sensor 1 with 22 awg\nwire p1 -> tb pair 1 with 22 awg",
        "",
    ] {
        lacks(&format!("{MONITOR}{BLOCK}{sensors}{wires}\n"), &[], 0);
    }
    // A sensor beyond either end of its cable, and a section in two surroundings.
    let beyond = SENSOR.replace("3.2 km", "3.3 km");
    lacks(&format!("{MONITOR}{BLOCK}{CABLE}{beyond}{WIRE}"), &[], 0);
    let before = SENSOR.replace("3.2 km", "-0.1 km");
    lacks(&format!("{MONITOR}{BLOCK}{CABLE}{before}{WIRE}"), &[], 0);
    let two = CABLE.replace("underground 1.2 km", "underground 1.2 km, buried 1.2 km");
    lacks(&format!("{MONITOR}{BLOCK}{two}{SENSOR}{WIRE}"), &[], 0);
}

#[test]
fn damaged_text_says_nothing() {
    let lacking = CABLE.replace("gauge 24 awg", "gauge 24");
    let bare = CABLE.replace("gauge 24 awg, ", "");
    for text in [
        format!("{MONITOR}{BLOCK}{lacking}{SENSOR}{WIRE}"),
        format!("{MONITOR}{BLOCK}{bare}{}{WIRE}", SENSOR.replace("10 psi", "10 pis")),
        format!("{}{BLOCK}{bare}{SENSOR}{WIRE}", MONITOR.replace("4 }", "x }")),
        format!("{MONITOR}{BLOCK}{bare}{SENSOR}{}", WIRE.replace("pair 3 ", "pare 3 ")),
        format!(
            "{MONITOR}{BLOCK}{CABLE}{SENSOR}{}",
            WIRE.replace('\n', " with 22 awg, 6 parsecs\n")
        ),
        format!("{MONITOR}{BLOCK}{bare}{SENSOR}{WIRE}%% ?\n"),
    ] {
        lacks(&text, &[], 0);
    }
    let text = format!("office elm-hollow {{ hottest 60 }}\n{MONITOR}{BLOCK}{bare}{SENSOR}{WIRE}");
    let without = format!("{MONITOR}{BLOCK}{CABLE}{SENSOR}{WIRE}");
    for text in [text, without] {
        let (loops, gaps) = found(&lowered(&text));
        assert!(loops.is_empty() && gaps.is_empty(), "{text}");
    }
}

#[test]
fn a_cable_without_end_is_not_followed() {
    let cable = |sections: u32| {
        let section = |number| format!(", section s{number} {{ buried 10 m, gauge 24 awg }}");
        let sections: String = (0..sections).map(section).collect();
        format!("cable c1 {{ pairs 25{sections} }}\n")
    };
    let sensor = "pressure-sensor p1 { span 0 .. 10 psi, at c1 900 m }\nwire p1 -> c1 pair 1 -> m1 sensor 1\n";
    assert_eq!(only(&format!("{MONITOR}{}{sensor}", cable(100))).1.stretches.len(), 90);
    let far = sensor.replace("900 m", "1.2 km");
    lacks(&format!("{MONITOR}{}{far}", cable(150)), &[], 0);
}

#[test]
fn a_way_without_end_is_not_followed() {
    let wire = (1..5_000).fold("wire p1 -> tb pair 1".to_owned(), |wire, pair| {
        format!("{wire} -> tb pair {}", pair + 1)
    });
    let text = format!(
        "{MONITOR}block tb {{ pairs 5000 }}\npressure-sensor p1 {{ span 0 .. 10 psi }}\n{wire} -> m1 sensor 1 with 22 awg\n"
    );
    lacks(&text, &[], 0);
}

#[test]
fn currents_on_one_pair_drop_voltage_for_one_another() {
    const CLOSE: f64 = 1e-9;
    let office = |more: &str| {
        format!(
            "monitor m1 {{ sensors 8, loop-voltage 24 V, addresses 16 }}\n{BLOCK}\
             cable c101 {{ pairs 50, gauge 24 awg, section s1 {{ buried 3.2 km }}\n\
             branch b1 {{ from 0.8 km, section t1 {{ aerial 0.4 km }} }} }}\n\
             pressure-sensor ps1 {{ span 0 .. 10 psi, at c101 3.2 km, address 1, needs 12 V, current-max 4 mA }}\n\
             pressure-sensor ps2 {{ span 0 .. 10 psi, at c101 1.2 km, address 2, needs 12 V{more} }}\n\
             pressure-sensor ps3 {{ span 0 .. 10 psi, at c101 branch b1 0.4 km, address 3, needs 12 V, current-max 5 mA }}\n\
             wire ps1 -> c101 pair 37 -> tb pair 3 -> m1 sensor 3 with 22 awg, 10 m\n\
             wire ps2 -> c101 pair 37\nwire ps3 -> c101 pair 37\n"
        )
    };
    let (office_read, loops) = known(&office(", current-max 6 mA"));
    // By hand, at 60 °C: 24 awg has 0.19491 ohm/m there and back, and the jumper 1.226 ohm. To 1.2 km 235.11 ohm are common, to
    // the branch at 0.8 km 157.15 ohm.
    let jumper = 10.0 * LOOP_22 * AT_SIXTY;
    let to = |metres: f64| metres * LOOP_24 * AT_SIXTY + jumper;
    assert!((to(1200.0) - 235.11).abs() < 0.01 && (to(800.0) - 157.15).abs() < 0.01);
    // ps1 loses 6 mA x 235.11 ohm + 5 mA x 157.15 ohm = 2.196 V to the others, and 9.804 V at 4 mA leave 2451 ohm.
    for (name, own, others, amperes, rounded) in [
        ("ps1", 3200.0, [(0.006, 1200.0), (0.005, 800.0)], 0.004, 2451.0),
        ("ps2", 1200.0, [(0.004, 1200.0), (0.005, 800.0)], 0.006, 1712.0),
        ("ps3", 1200.0, [(0.004, 800.0), (0.006, 800.0)], 0.005, 2086.0),
    ] {
        let one = loops
            .iter()
            .find(|one| office_read.name(one.signal.thing) == name)
            .unwrap();
        assert!((one.resistance.ohms() - to(own)).abs() < 1e-6, "{name}");
        let dropped: f64 = others.iter().map(|(amperes, metres)| amperes * to(*metres)).sum();
        assert!((one.dropped_by_others().volts() - dropped).abs() < CLOSE, "{name}");
        let Ok(Some(limit)) = one.limit else { panic!("{name}") };
        assert_eq!(limit.by, SetBy::Supply);
        assert!(
            (limit.resistance.ohms() - (12.0 - dropped) / amperes).abs() < 1e-6,
            "{name}"
        );
        assert!(
            (limit.resistance.ohms() - rounded).abs() < 0.6,
            "{name} {}",
            limit.resistance.ohms()
        );
    }
    // Without one of the currents nothing is known of the voltage for the others.
    let text = office("");
    lacks(&text, &["ps2 | ps2 | the `current-max` of `ps2`"], 3);
    let (loops, _) = found(&planned(&text));
    assert!(loops.iter().all(|one| one.limit == Ok(None) && one.others.is_empty()));
    // Without one of the addresses the pair is nobody's.
    let (loops, _) = found(&planned(&office(", current-max 6 mA").replace(", address 2", "")));
    assert_eq!(loops.len(), 0);
}

#[test]
fn a_pair_that_goes_on_in_another_cable_is_common_up_to_the_nearer_sensor() {
    let text = format!(
        "monitor m1 {{ sensors 8, loop-voltage 24 V, addresses 16 }}\n{BLOCK}\
         cable c101 {{ pairs 50, gauge 24 awg, section s1 {{ buried 3.2 km }} }}\n\
         cable c102 {{ pairs 10, gauge 24 awg, section s1 {{ buried 0.5 km }} }}\n\
         pressure-sensor ps1 {{ span 0 .. 10 psi, at c102 0.5 km, address 1, needs 12 V, current-max 4 mA }}\n\
         pressure-sensor ps2 {{ span 0 .. 10 psi, at c101 1.2 km, address 2, needs 12 V, current-max 6 mA }}\n\
         wire ps1 -> c102 pair 1 -> c101 pair 37\n\
         wire c101 pair 37 -> tb pair 3 -> m1 sensor 3 with 22 awg, 10 m\nwire ps2 -> c101 pair 37\n"
    );
    let (office, loops) = known(&text);
    let nearer = loops.iter().find(|one| office.name(one.signal.thing) == "ps2").unwrap();
    let common = 1200.0 * LOOP_24 * AT_SIXTY + 10.0 * LOOP_22 * AT_SIXTY;
    assert!((nearer.dropped_by_others().volts() - 0.004 * common).abs() < 1e-9);
}

#[test]
fn pieces_of_a_wire_run_add_up() {
    let start = format!("{MONITOR}{BLOCK}pressure-sensor p1 {{ span 0 .. 10 psi }}\n");
    let (office, it) = only(&format!(
        "{start}wire p1 -> m1 sensor 3 with 24 awg, 100 m then 22 awg, 50 m\n"
    ));
    assert_eq!(it.stretches.len(), 2, "{:?}", parts(&office, &it));
    let ohms = 100.0 * LOOP_24 + 50.0 * LOOP_22;
    assert!((it.resistance_at_20.ohms() - ohms).abs() < 1e-6, "{it:?}");
    lacks(
        &format!("{start}wire p1 -> m1 sensor 3 with 24 awg, 100 m then 50 m\n"),
        &[
            "p1 | wire p1 -> m1 sensor 3 with 24 awg, 100 m then 50 m | the wire size of piece 2 of the run from `p1` to `m1`",
        ],
        0,
    );
}

#[test]
fn bunched_pairs_share_the_resistance() {
    // Two equal resistances in parallel have half of one (Kirchhoff's current law), three a third.
    for (pairs, count) in [("37 .. 38", 2.0), ("36 .. 38", 3.0)] {
        let bunch = format!("bunched c101 pair {pairs} because \"one pair alone is over the limit\"\n");
        let wire = "wire ps1 -> c101 pair 37 -> tb pair 3 -> m1 sensor 3 with 22 awg, 8 m\n";
        let (_, one) = only(&format!("{MONITOR}{BLOCK}{CABLE}{SENSOR}{wire}{bunch}"));
        // The wire in the office is one pair, as ever.
        near(one.resistance_at_20.ohms(), 3200.0 * LOOP_24 / count + 8.0 * LOOP_22);
        near(
            one.resistance.ohms(),
            (3200.0 * LOOP_24 / count + 8.0 * LOOP_22) * AT_SIXTY,
        );
    }
    let lead = "lead l1 { pairs 2, loop 900 ohm }\nwire ps1 -> l1 pair 1 -> m1 sensor 3\n\
                bunched l1 pair 1 .. 2 because \"leased as two\"\n";
    let (_, one) = only(&format!("{MONITOR}{CABLE}{SENSOR}{lead}"));
    near(one.resistance_at_20.ohms(), 450.0);
}

#[test]
fn a_tap_that_leads_nowhere_adds_nothing() {
    let tap = "tapped tb pair 3 because \"cut-over\"\nblock new-tb { pairs 25 }\nwire tb pair 3 -> new-tb pair 3 with 26 awg, 90 m\n";
    let (_, plain) = only(&format!("{MONITOR}{BLOCK}{CABLE}{SENSOR}{WIRE}"));
    let (_, tapped) = only(&format!("{MONITOR}{BLOCK}{CABLE}{SENSOR}{WIRE}{tap}"));
    assert_eq!(tapped.resistance, plain.resistance);
    assert_eq!((tapped.signal, tapped.input), (plain.signal, plain.input));
    // Without the word the third wire is a slip, and nothing is computed.
    let untold = tap.replace("tapped tb pair 3 because \"cut-over\"\n", "");
    let (_, loops) = known(&format!("{MONITOR}{BLOCK}{CABLE}{SENSOR}{WIRE}{untold}"));
    assert_eq!(loops.len(), 0);
}
