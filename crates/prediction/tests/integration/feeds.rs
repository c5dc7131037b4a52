//! The voltage at each load.
#![allow(clippy::format_push_string)]

use drysheath_engineering::feeds::VoltageCollapse;
use drysheath_fixture::lowered;
use drysheath_office::{Networks, Office};
use drysheath_prediction::{Feed, feeds};
use drysheath_prediction::{MissingInput, NeededFor};
use fastrand::Rng;

use crate::planned::{missing, planned};

const BATTERY: &str = "battery main { nominal -48 V, working -54 V .. -43 V, filtered yes }\n";
const PANEL: &str = "fuse-panel pdf { positions 1 .. 10 }\n";

fn found(office: &Office) -> (Vec<Feed>, Vec<MissingInput>) {
    let mut gaps = Vec::new();
    let feeds = feeds(office, &Networks::new(office), &mut gaps);
    (feeds, gaps)
}

/// The feeds of an office in which nothing is missing.
#[track_caller]
fn known(statements: &str) -> (Office, Vec<Feed>) {
    let office = planned(statements);
    assert_eq!(office.problems.len(), 0, "{:?}", office.problems);
    let (feeds, gaps) = found(&office);
    assert_eq!(gaps, [], "{statements}");
    (office, feeds)
}

/// What is missing, as `thing | bytes | what`, and the loads whose voltage is known all the same.
#[track_caller]
fn lacks(statements: &str, expected: &[&str], still: &[&str]) {
    let office = planned(statements);
    let (feeds, gaps) = found(&office);
    assert_eq!(missing(&office, &gaps, NeededFor::Voltage), expected, "{statements}");
    let loads: Vec<_> = feeds.iter().map(|feed| office.name(feed.load)).collect();
    assert_eq!(loads, still, "{statements}");
}

fn volts(feed: &Feed) -> f64 {
    feed.receiving_end.unwrap().voltage.volts()
}

fn monitor(name: &str, watts: u32) -> String {
    format!("monitor {name} {{ sensors 8, draws {watts} W }}\n")
}

#[test]
fn a_long_thin_feed() {
    // 60 W over 180 ft of 14 AWG from −42 V at 40 °C: 40.55 V arrive [derived]; copper as worked example AWG-1 has it
    // (2.525423 ohm/kft at 20 °C, IEC 60028 for the temperature).
    let text = "battery main { nominal -48 V, working -42 V .. -54 V, filtered yes }\n".to_owned()
        + &monitor("m1", 60)
        + "power main -> m1 with 3 A, 14 awg, 180 ft\n";
    let (office, feeds) = known(&text);
    let [feed] = feeds.as_slice() else { panic!("{feeds:?}") };
    assert!((volts(feed) + 40.55).abs() < 0.005, "{feed:?}");
    let ohms = 2.0 * 2.525_423_098 * 0.18 * (1.0 + 0.003_93 * 20.0);
    assert!((feed.total.ohms() - ohms).abs() < 1e-6, "{feed:?}");
    assert_eq!(office.name(feed.load), "m1");
    assert_eq!(office.name(feed.battery), "main");
    let place = |given: drysheath_office::GivenQuantity| given.place.map(|place| place.range.of(&office.text));
    assert_eq!(feed.source.quantity.to_string(), "-42 V");
    assert_eq!(place(feed.source), Some("working -42 V .. -54 V"));
    assert_eq!((feed.power().watts(), place(feed.draws)), (60.0, Some("draws 60 W")));
    assert_eq!(feed.temperature.quantity.to_string(), "40 degC");
    assert_eq!(place(feed.temperature), None);
    let [conductor] = feed.conductors.as_slice() else {
        panic!("{feed:?}")
    };
    assert_eq!(conductor.place.of(&office.text), "14 awg, 180 ft");
    assert_eq!(
        (conductor.from, conductor.to, conductor.shared_by),
        (feed.battery, feed.load, 1)
    );
}

#[test]
fn the_office_says_how_hot_its_wires_get() {
    let text = BATTERY.to_owned() + &monitor("m1", 60) + "power main -> m1 with 3 A, 6 mm2, 20 m\n";
    let (_, at_forty) = known(&text);
    let text = format!("office elm-hollow {{ stage planned, hottest-wire 20 degC }}\n{text}");
    let office = lowered(&text);
    let (at_twenty, _) = found(&office);
    // 40 m of 6 mm² at 1/58 ohm·mm²/m, IEC 60028.
    let ohms = |feeds: &[Feed]| feeds.first().unwrap().total.ohms();
    assert!((ohms(&at_twenty) - 40.0 / 6.0 / 58.0).abs() < 1e-12);
    assert!((ohms(&at_forty) / ohms(&at_twenty) - 1.0786).abs() < 1e-9);
}

#[test]
fn a_supply_and_a_feed_behind_it() {
    // A single load has all of both conductors to itself, in whichever way the runs are written.
    let alone = BATTERY.to_owned() + PANEL + &monitor("m1", 60);
    let ways = [
        "power main -> pdf with 6 awg, 5 m\npower pdf fuse 1 -> m1 with 3 A, 14 awg, 6 m\n",
        "power main -> pdf fuse 1 -> m1 with 3 A, 14 awg, 6 m\npower main -> pdf with 6 awg, 5 m\n",
        "power main -> pdf fuse 1 with 6 awg, 5 m\npower pdf fuse 1 -> m1 with 3 A, 14 awg, 6 m\n",
    ];
    for way in ways {
        let (office, feeds) = known(&format!("{alone}{way}"));
        let [feed] = feeds.as_slice() else { panic!("{feeds:?}") };
        let parts: Vec<_> = feed
            .conductors
            .iter()
            .map(|it| {
                format!(
                    "{} {} {}, {}",
                    office.name(it.from),
                    office.name(it.to),
                    it.gauge,
                    it.length
                )
            })
            .collect();
        assert_eq!(parts, ["main pdf 6 awg, 5 m", "pdf m1 14 awg, 6 m"]);
        // Worked example AWG-1: 0.3950732 and 2.5254231 ohm/kft at 20 °C.
        let ohms = 2.0 * (0.395_073_230_6 * 5.0 + 2.525_423_098_1 * 6.0) / 304.8 * 1.0786;
        assert!((feed.total.ohms() - ohms).abs() < 1e-9, "{feed:?}");
        let arrives = f64::midpoint(43.0, (43.0_f64 * 43.0 - 4.0 * 60.0 * ohms).sqrt());
        assert!((volts(feed) + arrives).abs() < 1e-8, "{feed:?}");
    }
}

#[test]
fn loads_on_one_panel_lower_each_other() {
    let text = BATTERY.to_owned()
        + PANEL
        + &monitor("m1", 240)
        + &monitor("m2", 120)
        + "power main -> pdf with 10 awg, 30 m\n"
        + "power pdf fuse 1 -> m1 with 10 A, 14 awg, 20 m\n"
        + "power pdf fuse 2 -> m2 with 5 A, 12 awg, 40 m\n";
    let (_, feeds) = known(&text);
    let [one, two] = feeds.as_slice() else {
        panic!("{feeds:?}")
    };
    // Worked example AWG-1: 0.9988629, 2.5254231 and 1.5882542 ohm/kft at 20 °C. By hand, load after load: each has the
    // source less what the other drops in the supply, until nothing changes.
    let ohms = |per_kilofoot: f64, metres: f64| 2.0 * per_kilofoot * metres / 304.8 * 1.0786;
    let supply = ohms(0.998_862_884_5, 30.0);
    let own = [ohms(2.525_423_098_1, 20.0), ohms(1.588_254_198_9, 40.0)];
    let (mut first, mut second) = (0.0, 0.0);
    for _ in 0..200 {
        for (power, own, current, other) in [(240.0, own[0], 0, 1), (120.0, own[1], 1, 0)] {
            let mut amperes = [first, second];
            let source = 43.0 - supply * amperes[other];
            let arrives = f64::midpoint(source, (source * source - 4.0 * power * (supply + own)).sqrt());
            amperes[current] = power / arrives;
            [first, second] = amperes;
        }
    }
    for (feed, expected) in [(one, 240.0 / first), (two, 120.0 / second)] {
        assert!(
            (volts(feed) + expected).abs() < 1e-8,
            "{} V, not {expected}",
            volts(feed)
        );
        assert_eq!(
            feed.conductors.iter().map(|it| it.shared_by).collect::<Vec<_>>(),
            [2, 1]
        );
    }
    // The currents by themselves, from the same iteration run elsewhere.
    assert!((first - 6.179_302_258).abs() < 1e-6 && (second - 3.023_524_232).abs() < 1e-6);
}

#[test]
fn a_panel_behind_a_panel() {
    let text = BATTERY.to_owned()
        + PANEL
        + "fuse-panel far { positions 1 .. 4 }\n"
        + &monitor("m1", 400)
        + &monitor("m2", 150)
        + &monitor("m3", 90)
        + "power far fuse 2 -> m3 with 3 A, 14 awg, 30 m\n"
        + "power far fuse 1 -> m2 with 5 A, 14 awg, 10 m\n"
        + "power pdf fuse 1 -> m1 with 15 A, 12 awg, 12 m\n"
        + "power pdf fuse 2 -> far with 10 A, 10 awg, 15 m\n"
        + "power main -> pdf with 6 awg, 25 m\n";
    let (office, feeds) = known(&text);
    let names: Vec<_> = feeds.iter().map(|feed| office.name(feed.load)).collect();
    assert_eq!(names, ["m3", "m2", "m1"]);
    // Kirchhoff, from the answers alone: what is lost on the way makes up the difference to the source, each conductor
    // carrying what its loads draw.
    let amperes: Vec<f64> = feeds
        .iter()
        .map(|feed| feed.receiving_end.unwrap().current.amperes())
        .collect();
    let [three, two, one] = amperes.as_slice() else {
        panic!("{amperes:?}")
    };
    let currents = [
        vec![three + two + one, three + two, *three],
        vec![three + two + one, three + two, *two],
        vec![three + two + one, *one],
    ];
    for (feed, currents) in feeds.iter().zip(currents) {
        let lost: f64 = feed
            .conductors
            .iter()
            .zip(&currents)
            .map(|(conductor, current)| conductor.resistance.ohms() * current)
            .sum();
        assert_eq!(feed.conductors.len(), currents.len());
        assert!((43.0 - lost + volts(feed)).abs() < 1e-8, "{feed:?}");
        let power = -volts(feed) * feed.receiving_end.unwrap().current.amperes();
        assert!((power - feed.power().watts()).abs() < 1e-9);
    }
    let shared = |at: usize| -> Vec<u32> {
        feeds
            .get(at)
            .unwrap()
            .conductors
            .iter()
            .map(|it| it.shared_by)
            .collect()
    };
    assert_eq!((shared(0), shared(2)), (vec![3, 2, 1], vec![3, 1]));
}

#[test]
fn a_load_with_two_feeds_draws_once() {
    let two = BATTERY.to_owned() + PANEL + &monitor("m1", 240) + &monitor("m2", 120);
    let supply = "power main -> pdf with 10 awg, 30 m\npower pdf fuse 2 -> m2 with 5 A, 12 awg, 40 m\n";
    let near = "power pdf fuse 1 -> m1 with 10 A, 14 awg, 20 m\n";
    let far = "power pdf fuse 3 -> m1 with 10 A, 14 awg, 35 m\n";
    let (_, with_near) = known(&format!("{two}{supply}{near}"));
    let (_, with_far) = known(&format!("{two}{supply}{far}"));
    let (office, both) = known(&format!("{two}{supply}{near}{far}"));
    let names: Vec<_> = both.iter().map(|feed| office.name(feed.load)).collect();
    assert_eq!(names, ["m2", "m1", "m1"]);
    let found: Vec<_> = both.iter().map(volts).collect();
    let alone = |feeds: &[Feed], at: usize| volts(feeds.get(at).unwrap());
    let expected = [alone(&with_near, 0), alone(&with_near, 1), alone(&with_far, 1)];
    for (found, expected) in found.iter().zip(expected) {
        assert!((found - expected).abs() < 1e-9, "{found} V, not {expected}");
    }
    assert!(both.iter().all(|feed| feed.conductors.first().unwrap().shared_by == 2));
}

#[test]
fn a_second_feed_does_not_hurt_the_others() {
    let loads = BATTERY.to_owned() + PANEL + &monitor("m1", 240) + &monitor("m2", 120);
    let supply = "power main -> pdf with 10 awg, 30 m\n";
    let first = "power pdf fuse 1 -> m1 with 10 A, 14 awg, 20 m\n";
    let other = |fuse: u32, metres: u32| format!("power pdf fuse {fuse} -> m2 with 5 A, 12 awg, {metres} m\n");
    let (_, near) = known(&format!("{loads}{supply}{first}{}", other(2, 40)));
    let (_, far) = known(&format!("{loads}{supply}{first}{}", other(2, 45)));
    // The second feed of the other load fails by itself, fails beside the first load only, or holds.
    for (with, fails, by_itself) in [
        ("18 awg, 60 m", true, true),
        ("18 awg, 37 m", true, false),
        ("14 awg, 35 m", false, false),
    ] {
        let second = format!("power pdf fuse 3 -> m1 with 10 A, {with}\n");
        let (_, both) = known(&format!(
            "{loads}{supply}{first}{}{second}{}",
            other(2, 40),
            other(4, 45)
        ));
        let [m1, m2, m1_again, m2_again] = both.as_slice() else {
            panic!("{both:?}")
        };
        for (found, alone) in [(m1, &near[0]), (m2, &near[1]), (m2_again, &far[1])] {
            assert!((volts(found) - volts(alone)).abs() < 1e-9, "{with}: {found:?}");
        }
        assert_eq!(m1_again.receiving_end.is_err(), fails, "{with}");
        let most_by_itself = 43.0 * 43.0 / (4.0 * m1_again.total.ohms());
        assert_eq!(most_by_itself < 240.0, by_itself, "{with}");
        if let Err(VoltageCollapse { most, .. }) = m1_again.receiving_end {
            assert!(
                most.watts() < most_by_itself + 1e-9 && most.watts() > 200.0 * 37.0 / 60.0,
                "{with}: {most:?}"
            );
        }
    }
}

#[test]
fn a_load_that_brings_its_feed_down() {
    let thin = BATTERY.to_owned() + PANEL + "power main -> pdf with 24 awg, 30 m\n";
    let runs = "power pdf fuse 1 -> m1 with 3 A, 14 awg, 6 m\npower pdf fuse 2 -> m2 with 3 A, 14 awg, 6 m\n";
    // By itself it already asks for too much.
    let (office, feeds) = known(&format!("{thin}{}{}{runs}", monitor("m1", 20), monitor("m2", 200)));
    let [feed] = feeds.as_slice() else { panic!("{feeds:?}") };
    assert_eq!(office.name(feed.load), "m2");
    let Err(VoltageCollapse { most, .. }) = feed.receiving_end else {
        panic!("{feed:?}")
    };
    let alone = 43.0 * 43.0 / (4.0 * feed.total.ohms());
    assert!((most.watts() - alone).abs() < 1e-9, "{feed:?}");
    // Only beside the other: what it may have then is on the brink, and a little less settles.
    let (office, feeds) = known(&format!("{thin}{}{}{runs}", monitor("m1", 30), monitor("m2", 70)));
    let [feed] = feeds.as_slice() else { panic!("{feeds:?}") };
    assert_eq!(office.name(feed.load), "m2");
    let Err(VoltageCollapse { most, load, .. }) = feed.receiving_end else {
        panic!("{feed:?}")
    };
    assert!(most.watts() < load.watts() && most.watts() > 0.0, "{feed:?}");
    for (watts, holds) in [(most.watts() - 1e-3, 2), (most.watts() + 1e-3, 1)] {
        let m2 = format!("monitor m2 {{ sensors 8, draws {watts:.6} W }}\n");
        let (_, feeds) = known(&format!("{thin}{}{m2}{runs}", monitor("m1", 30)));
        assert_eq!(feeds.len(), holds, "{watts} W");
        assert_eq!(
            feeds.iter().all(|feed| feed.receiving_end.is_ok()),
            holds == 2,
            "{watts} W"
        );
    }
}

#[test]
fn plants_of_any_shape_agree_with_a_slow_iteration() {
    /// The least that a load can be meant to draw, W.
    const LEAST: f64 = 0.05;
    let mut random = Rng::with_seed(88);
    let (mut held, mut collapsed) = (0, 0);
    for _ in 0..300 {
        let panels = 1 + random.u32(..4);
        let mut text = BATTERY.to_owned();
        for panel in 0..panels {
            let from = match panel.checked_sub(1) {
                Some(_) => format!("p{} fuse {}", random.u32(..panel), 20 + panel),
                None => "main".to_owned(),
            };
            text += &format!("fuse-panel p{panel} {{ positions 1 .. 99 }}\npower {from} -> p{panel}");
            text += &format!(" with 10 awg, {:.3} m\n", 0.1 + 20.0 * random.f64());
        }
        let scale = 10.0_f64.powf(2.0 * random.f64());
        let loads = 2 + random.u32(..5);
        let mut powers = Vec::new();
        let mut monitors = [String::new(), String::new()];
        for load in 0..loads {
            let watts = ((2e4 * scale * random.f64()).round() / 1e3).max(LEAST);
            text += &format!("power p{} fuse {} -> m{load}", random.u32(..panels), 50 + load);
            text += &format!(" with 14 awg, {:.3} m\n", 0.1 + 30.0 * random.f64());
            // Once as it is, and once with so little that all ways are known whatever the loads do.
            for (monitors, watts) in monitors.iter_mut().zip([watts, LEAST]) {
                *monitors += &format!("monitor m{load} {{ sensors 8, draws {watts:.3} W }}\n");
            }
            powers.push(watts);
        }
        let [real, little] = monitors;
        let (_, feeds) = known(&format!("{text}{real}"));
        let (_, ways) = known(&format!("{text}{little}"));
        let expected = slowly(&ways, &powers);
        assert_eq!(
            feeds.iter().all(|feed| feed.receiving_end.is_ok()),
            expected.is_some(),
            "{text}{real}"
        );
        match expected {
            Some(expected) => {
                held += 1;
                assert_eq!(feeds.len(), expected.len());
                for (feed, expected) in feeds.iter().zip(expected) {
                    assert!((volts(feed) + expected).abs() < 1e-6, "{text}{real}");
                }
            }
            None => {
                collapsed += 1;
                assert!(!feeds.is_empty());
            }
        }
    }
    assert!(held > 200 && collapsed > 20, "{held} and {collapsed}");
}

/// What arrives at loads of these powers over these ways, load after load: each has the source less what the others drop
/// in what they share.
fn slowly(ways: &[Feed], powers: &[f64]) -> Option<Vec<f64>> {
    let mut amperes = vec![0.0; powers.len()];
    for _ in 0..100_000 {
        let mut moved: f64 = 0.0;
        for at in 0..powers.len() {
            let mut source = 43.0;
            for conductor in &ways[at].conductors {
                let shares = |way: &Feed| way.conductors.iter().any(|it| it.to == conductor.to);
                let others = (0..powers.len()).filter(|other| *other != at && shares(&ways[*other]));
                source -= conductor.resistance.ohms() * others.map(|other| amperes[other]).sum::<f64>();
            }
            let discriminant = source * source - 4.0 * powers[at] * ways[at].total.ohms();
            if source <= 0.0 || discriminant < 0.0 {
                return None;
            }
            let current = powers[at] / f64::midpoint(source, discriminant.sqrt());
            moved = moved.max((current - amperes[at]).abs());
            amperes[at] = current;
        }
        if moved < 1e-12 {
            break;
        }
    }
    Some(
        powers
            .iter()
            .zip(amperes)
            .map(|(power, amperes)| power / amperes)
            .collect(),
    )
}

#[test]
fn everything_that_can_be_missing() {
    let battery = "battery main { nominal -48 V, filtered yes }\n";
    let fed = "power main -> pdf with 6 awg, 5 m\n";
    let loads = monitor("m1", 60) + &monitor("m2", 40);
    let runs = "power pdf fuse 1 -> m1 with 3 A, 14 awg, 6 m\npower pdf fuse 2 -> m2 with 3 A, 14 awg, 6 m\n";
    lacks(
        &format!("{battery}{PANEL}{fed}{loads}{runs}"),
        &["main | main | the working voltage of `main`"],
        &[],
    );
    // One that says nothing leaves its neighbour on the panel unknown, and not the load of another supply.
    let beside = "monitor m3 { sensors 8, draws 30 W }\npower main -> m3 with 3 A, 14 awg, 6 m\n";
    lacks(
        &format!(
            "{BATTERY}{PANEL}{fed}monitor m1 {{ sensors 8 }}\n{}{runs}{beside}",
            monitor("m2", 40)
        ),
        &["m1 | m1 | the power that `m1` draws"],
        &["m3"],
    );
    // Two feeds of such a load are one gap; loads that the battery feeds straight have nothing to do with each other.
    lacks(
        &format!(
            "{BATTERY}{PANEL}{fed}monitor m1 {{ sensors 8 }}\n{}",
            runs.replace("-> m2", "-> m1")
        ),
        &["m1 | m1 | the power that `m1` draws"],
        &[],
    );
    let straight = "power main -> m1 with 3 A, 14 awg, 6 m\npower main -> m2 with 3 A, 14 awg, 6 m\n";
    lacks(&format!("{BATTERY}{loads}{straight}"), &[], &["m1", "m2"]);
    for (with, what) in [
        ("with 3 A, 14 awg", "length"),
        ("with 3 A, 6 m", "wire size"),
        ("with 3 A", "wire size and length"),
    ] {
        let run = format!("power pdf fuse 1 -> m1 {with}");
        lacks(
            &format!("{BATTERY}{PANEL}{fed}{loads}{run}\n"),
            &[&format!("m1 | {run} | the {what} of the run from `pdf` to `m1`")],
            &[],
        );
    }
    // The supply, once for the panel: it has no run of its own, or one that says too little.
    let through =
        "power main -> pdf fuse 1 -> m1 with 3 A, 14 awg, 6 m\npower main -> pdf fuse 2 -> m2 with 3 A, 14 awg, 6 m\n";
    lacks(
        &format!("{BATTERY}{PANEL}{loads}{through}"),
        &["pdf | pdf | the wire size and length of the run from `main` to `pdf`"],
        &[],
    );
    lacks(
        &format!("{BATTERY}{PANEL}{loads}{through}power main -> pdf with 6 awg\n"),
        &["pdf | power main -> pdf with 6 awg | the length of the run from `main` to `pdf`"],
        &[],
    );
    lacks(
        &format!("{BATTERY}{PANEL}{loads}{through}power main -> pdf with 6 awg\n{fed}"),
        &[],
        &["m1", "m2"],
    );
}

#[test]
fn what_other_rules_speak_of_is_no_gap() {
    let m1 = monitor("m1", 60);
    // No battery behind the panel, panels in a ring, no panel at all, loads in a row.
    for runs in [
        "power pdf fuse 1 -> m1 with 3 A, 14 awg, 6 m\n",
        "power pdf fuse 2 -> pdf with 6 awg, 5 m\npower pdf fuse 1 -> m1 with 3 A, 14 awg, 6 m\n",
        "fuse-panel far { positions 1 .. 4 }\npower pdf fuse 2 -> far\npower far fuse 1 -> pdf\npower pdf fuse 1 -> m1\n",
        "power main -> m1 -> m2 with 14 awg, 6 m\nmonitor m2 { sensors 8, draws 40 W }\n",
        "",
    ] {
        lacks(&format!("{BATTERY}{PANEL}{m1}{runs}"), &[], &[]);
    }
}

#[test]
fn panels_in_a_row_have_an_end() {
    let chain = |panels: u32| {
        let link = |number: u32| {
            let before = number.checked_sub(1).map(|before| format!("p{before} fuse 1"));
            let from = before.unwrap_or_else(|| "main".to_owned());
            format!("fuse-panel p{number} {{ positions 1 .. 2 }}\npower {from} -> p{number} with 6 awg, 1 m\n")
        };
        let text = BATTERY.to_owned() + &monitor("m1", 60) + &(0..panels).map(link).collect::<String>();
        text + &format!("power p{} fuse 2 -> m1 with 14 awg, 6 m\n", panels - 1)
    };
    let count = |panels: u32| known(&chain(panels)).1.first().map(|feed| feed.conductors.len());
    assert_eq!((count(8), count(9)), (Some(9), None));
}

#[test]
fn damaged_text_says_nothing() {
    let runs = "power main -> m1 with 3 A, 14 awg, 6 m\n";
    for text in [
        // A load, a battery, an office, a run, what joins it, a statement that cannot be read at all.
        format!("{BATTERY}monitor m1 {{ sensors 8, draws 40 Q }}\n{runs}"),
        format!(
            "battery main {{ nominal -48 V, working -43 .. }}\n{}{runs}",
            monitor("m1", 60)
        ),
        format!(
            "{BATTERY}{}power main -> m1 with 3 A, 14 awg, 6 parsecs\n",
            monitor("m1", 60)
        ),
        format!("{BATTERY}{}power main -> m1 with with\n", monitor("m1", 60)),
        format!("{BATTERY}monitor m1 {{ sensors 8 }}\n{runs}%% ?\n"),
    ] {
        lacks(&text, &[], &[]);
    }
    let text = format!(
        "office elm-hollow {{ hottest-wire 40 }}\n{BATTERY}{}{runs}",
        monitor("m1", 60)
    );
    let bare = format!("{BATTERY}{}{runs}", monitor("m1", 60));
    for text in [text, bare] {
        let office = lowered(&text);
        let (feeds, gaps) = found(&office);
        assert!(feeds.is_empty() && gaps.is_empty(), "{text}");
    }
}

#[test]
fn nothing_is_computed_from_figures_that_cannot_be_meant() {
    for (draws, with) in [
        ("-40 W", "14 awg, 6 m"),
        ("40 W", "14 awg, -6 m"),
        ("0 W", "0 mm2, 6 m"),
    ] {
        let beside = monitor("m2", 40) + "power pdf fuse 2 -> m2 with 14 awg, 6 m\npower main -> pdf with 6 awg, 5 m\n";
        let m1 = format!("monitor m1 {{ sensors 8, draws {draws} }}\npower pdf fuse 1 -> m1 with 3 A, {with}\n");
        let office = planned(&format!("{BATTERY}{PANEL}{m1}{beside}"));
        assert!(!office.problems.is_empty(), "{draws}, {with}");
        let (feeds, gaps) = found(&office);
        assert!(feeds.iter().all(|feed| office.name(feed.load) != "m1"), "{feeds:?}");
        assert_eq!(gaps, [], "what is wrong has a result of its own");
    }
}

#[test]
fn pieces_in_series_are_one_conductor_after_another() {
    let start = BATTERY.to_owned() + &monitor("m1", 60);
    let (_, whole) = known(&format!("{start}power main -> m1 with 3 A, 14 awg, 36 m\n"));
    let (office, pieces) = known(&format!(
        "{start}power main -> m1 with 3 A, 14 awg, 30 m then 14 awg, 6 m\n"
    ));
    let [feed] = pieces.as_slice() else {
        panic!("{pieces:?}")
    };
    assert!((volts(feed) - volts(&whole[0])).abs() < 1e-9);
    let places: Vec<_> = feed.conductors.iter().map(|it| it.place.of(&office.text)).collect();
    assert_eq!(places, ["14 awg, 30 m", "14 awg, 6 m"]);
    let (_, thicker) = known(&format!(
        "{start}power main -> m1 with 3 A, 10 awg, 30 m then 14 awg, 6 m\n"
    ));
    let sum: f64 = thicker[0].conductors.iter().map(|it| it.resistance.ohms()).sum();
    assert!((thicker[0].total.ohms() - sum).abs() < 1e-12);
    // A supply in pieces is shared by all that is behind the panel.
    let (_, behind) = known(&format!(
        "{BATTERY}{PANEL}{}{}power main -> pdf with 30 A, 6 awg, 5 m then 8 awg, 2 m\n\
         power pdf fuse 1 -> m1 with 3 A, 14 awg, 6 m\npower pdf fuse 2 -> m2 with 3 A, 14 awg, 6 m\n",
        monitor("m1", 60),
        monitor("m2", 40)
    ));
    let shares: Vec<_> = behind[0].conductors.iter().map(|it| it.shared_by).collect();
    assert_eq!(shares, [2, 2, 1]);
    lacks(
        &format!("{start}power main -> m1 with 3 A, 14 awg, 30 m then 14 awg\n"),
        &[
            "m1 | power main -> m1 with 3 A, 14 awg, 30 m then 14 awg | the length of piece 2 of the run from `main` to `m1`",
        ],
        &[],
    );
}
