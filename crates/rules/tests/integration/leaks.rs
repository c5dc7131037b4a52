//! Where `leak-trips-no-limit` says that nobody would be told, compared with leaks that are put in one by one.

use drysheath_engineering::measure::Flow;
use drysheath_engineering::units::find;
use drysheath_fixture::lowered;
use drysheath_office::{Networks, Office};
use drysheath_prediction::{LinePoint, NetworkChange, Prediction, alarm_readings, line_name};
use drysheath_rules::example::{OFFICE, check, compose};
use drysheath_rules::{Settings, lint};

/// Distance between two leaks, m.
const STEP: f64 = 20.0;
/// What an end of a stretch may be off: it is shown with three digits.
const SHOWN: f64 = 7.0;

/// The example office with these limits, and with a branch and a second cable behind a regulator of its own.
fn office(flow: f64, room: f64, end: f64, error: f64) -> String {
    let example = format!(
        "
flow-sensor f1 {{ span 0 .. 30 scfh, step 0.2 scfh, error {error} scfh, proof 60 psi, limit high {flow} scfh major deadband 0.6 scfh }}
pressure-sensor p1 {{ span 0 .. 15 psi, step 0.1 psi, error {error} psi, proof 30 psi, limit low {room} psi major deadband 0.3 psi }}
pressure-sensor ps1 {{ at c101 3.2 km, span 0 .. 15 psi, step 0.1 psi, error {error} psi, proof 30 psi, limit low {end} psi minor deadband 0.3 psi }}
cable c101 {{
    pairs 50, gauge 24 awg, rating 20 psi
    section s1 {{ underground 1.2 km, resistance 0.09 psi/scfh/kft, usage 3 scfh }}
    section s2 {{ buried 2.0 km, resistance 0.14 psi/scfh/kft, usage 2 scfh }}
    branch b1 {{ from 0.7 km, section s1 {{ aerial 0.9 km, resistance 0.2 psi/scfh/kft, usage 1 scfh }} }}
}}
regulator r2 {{ set 6 psi, differential 1 psi, inlet-max 60 psi, flow-max 80 scfh, relief 9 psi }}
cable c102 {{ pairs 25, gauge 24 awg, rating 20 psi, section s1 {{ aerial 1.1 km, resistance 0.2 psi/scfh/kft, usage 1 scfh }} }}
air mf port 3 -> r2 -> c102 with 3/8 in tube, 1/4 in bore, 3 m
# without spare mf
spare mf port 4
"
    );
    compose(OFFICE, &example)
}

/// The same with a second dryer, whose air joins that of the first.
fn with_two_dryers(office: &str) -> String {
    let joined = "dryer d2 { compressor rotary, delivers 30 psi, capacity 100 scfh, dew-point -40 degC, contact humidity { healthy closed } }
ground d2 frame -> ogb with 10 awg, 4 m
wire d2 contact humidity -> tb pair 5 -> m1 contact 2
# without spare tb pair 5
# without spare m1 contact
spare tb pair 6 .. 25
spare m1 contact 3 .. 4
valve v1 { function check }
valve v2 { function check }
manifold m9 { ports 1, rating 30 psi }
air d1 -> v1 -> m9 with 3/8 in tube, 1/4 in bore, 4 m
air d2 -> v2 -> m9 with 3/8 in tube, 1/4 in bore, 4 m
air m9 port 1 -> r1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m
";
    compose(office, joined)
}

/// The same with a pipe that brings air to the end of the first cable as well.
fn with_a_pipe_to_the_end(office: &str) -> String {
    let pipe = "valve v1 { function shut-off, stands open }
air-pipe ap1 { length 3 km, bore 0.5 in, usage 0.1 scfh, rating 30 psi }
air mf port 4 -> v1 -> ap1 -> c101 end with 3/8 in tube, 1/4 in bore, 3 m
# without spare mf
";
    compose(office, pipe)
}

/// Whether a leak at each place surely trips a limit, as the state with that leak says, which is solved anew.
fn by_trial(office: &Office, leak: Flow) -> Vec<(String, f64, bool)> {
    let networks = Networks::new(office);
    let prediction = Prediction::new(office, &networks);
    let air = &prediction.air;
    let signals: Vec<_> = office.things().flat_map(|(id, _)| office.signals(id)).collect();
    let mut found = Vec::new();
    for line in air.lines() {
        let length = line.length().unwrap();
        let places = (0..).map(|step: u32| f64::from(step) * STEP);
        for metres in places.take_while(|metres| *metres <= length) {
            let spot = LinePoint {
                thing: line.thing,
                branch: line.branch,
                metres,
            };
            let state = air
                .in_state(office, &networks, &[NetworkChange::Leaks(spot, leak)])
                .unwrap();
            let mut limits = signals
                .iter()
                .flat_map(|signal| alarm_readings(office, &networks, &state, signal).unwrap_or_default());
            let trips = limits.any(|reading| reading.surely_passes(office));
            found.push((line_name(office, line), metres, trips));
        }
    }
    found
}

/// The stretches that the rule's results name: the line, and metres from its beginning.
fn reported(text: &str) -> Vec<(String, f64, f64)> {
    let office = lowered(text);
    // What not even a cut trips is told as that, and nothing of a signal whose limit is too low.
    let settings = Settings::read("[levels]\ncut-trips-no-limit = \"off\"\nlow-limit-under-minimum = \"off\"\nlow-limit-too-late = \"off\"\nlimit-trips-when-well = \"off\"\ncable-end-unwatched = \"off\"\n").0;
    let findings = lint(&office, &settings, drysheath_rules::example::TODAY);
    let own = findings
        .iter()
        .filter(|finding| finding.rule.name() == "leak-trips-no-limit");
    own.map(|finding| {
        let place = finding
            .message
            .strip_prefix("no limit is sure to report a leak of 5 scfh ");
        let place = place.unwrap().split(": ").next().unwrap();
        let metres = |written: &str| 1000.0 * written.strip_suffix(" km").unwrap().parse::<f64>().unwrap();
        if let Some(line) = place.strip_prefix("anywhere on ") {
            (line.to_owned(), 0.0, f64::INFINITY)
        } else if let Some(rest) = place.strip_prefix("on the first ") {
            let (to, line) = rest.split_once(" of ").unwrap();
            (line.to_owned(), 0.0, metres(to))
        } else {
            let (from, rest) = place.strip_prefix("between ").unwrap().split_once(" and ").unwrap();
            let (to, line) = rest.split_once(" of ").unwrap();
            let to = if to == "the end" { f64::INFINITY } else { metres(to) };
            (line.to_owned(), metres(from), to)
        }
    })
    .collect()
}

#[test]
fn a_stretch_is_reported_exactly_where_no_leak_trips_a_limit() {
    let leak = Flow::from_cubic_metres_per_second(find("scfh").unwrap().to_si(5.0));
    let (mut told, mut untold) = (0, 0);
    for flow in [7.5, 8.5, 10.0, 25.0] {
        for (room, end) in [(8.0, 3.5), (8.0, 6.5), (9.6, 3.5), (8.0, 1.0)] {
            for error in [0.1, 0.2, 0.3] {
                let one_dryer = office(flow, room, end, error);
                let text = match error {
                    0.3.. => with_two_dryers(&one_dryer),
                    0.2.. => with_a_pipe_to_the_end(&one_dryer),
                    _ => one_dryer,
                };
                let stretches = reported(&text);
                for (line, metres, trips) in by_trial(&lowered(&text), leak) {
                    // In a pipe leaks are looked at in some places only.
                    if line == "`ap1`" {
                        continue;
                    }
                    let of_line = || stretches.iter().filter(|(of, ..)| *of == line);
                    let is_near_an_end = of_line().any(|(_, from, to)| {
                        let near = |end: f64| (metres - end).abs() < SHOWN && end != 0.0;
                        near(*from) || near(*to)
                    });
                    if is_near_an_end {
                        continue;
                    }
                    let is_silent = of_line().any(|(_, from, to)| (*from..=*to).contains(&metres));
                    assert_eq!(
                        is_silent, !trips,
                        "{line} {metres} m, {flow} {room} {end}: {stretches:?}"
                    );
                    if trips { told += 1 } else { untold += 1 }
                }
            }
        }
    }
    assert!(told > 1000 && untold > 1000, "{told} {untold}");
}

#[test]
fn deleting_a_limit_silences_no_leak() {
    let with = check(
        "flow-sensor f1 { span 0 .. 20 scfh, step 0.2 scfh, error 0.3 scfh, normal 7 scfh, proof 60 psi, limit high 14 scfh major deadband 0.6 scfh }",
        &Settings::default(),
    );
    let without = check(
        "flow-sensor f1 { span 0 .. 20 scfh, step 0.2 scfh, error 0.3 scfh, normal 7 scfh, proof 60 psi }",
        &Settings::default(),
    );
    let rules = |outcome: &drysheath_rules::example::Outcome| {
        outcome
            .findings
            .iter()
            .map(|finding| finding.rule.name())
            .collect::<Vec<_>>()
    };
    assert_eq!(rules(&with), ["leak-trips-no-limit"]);
    assert_eq!(rules(&without), ["leak-trips-no-limit", "sensor-raises-no-alarm"]);
}

#[test]
fn a_sensor_at_the_end_in_another_unit_is_at_the_end() {
    // 3.2 km are 10 498.69 ft.
    let with = |limit: &str| {
        let sensor = format!(
            "span 0 .. 15 psi, step 0.1 psi, error 0.2 psi, proof 30 psi, limit low {limit} minor deadband 0.3 psi"
        );
        told(
            &format!("pressure-sensor ps1 {{ at c101 10499 ft, {sensor} }}"),
            &Settings::default(),
        )
    };
    assert_eq!(with("6.7 psi"), [] as [&str; 0]);
    assert_eq!(with("5 psi"), ["leak-trips-no-limit"]);
}

/// The rules that a text has results of about leaks and cuts.
fn told(text: &str, settings: &Settings) -> Vec<&'static str> {
    let outcome = check(text, settings);
    let names = outcome.findings.iter().map(|finding| finding.rule.name());
    names.filter(|name| name.ends_with("-trips-no-limit")).collect()
}

/// A pipe before the flow sensor, which nothing watches, with something at its end.
fn unwatched_pipe(at_its_end: &str) -> String {
    format!(
        "
manifold m0 {{ ports 2, rating 30 psi }}
air d1 -> r1 -> m0 with 3/8 in tube, 1/4 in bore, 4 m
air m0 port 1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 2 m
air m0 port 2 -> ap1 with 3/8 in tube, 1/4 in bore, 2 m
air-pipe ap1 {{ length 800 m, bore 5 mm, usage 0.1 scfh, rating 30 psi }}
{at_its_end}
"
    )
}

#[test]
fn a_door_contact_tells_no_cut() {
    let settings = Settings::default();
    assert_eq!(told(&unwatched_pipe(""), &settings), ["cut-trips-no-limit"]);
    let door = unwatched_pipe("contact hatch { at ap1 700 m, reports \"manhole cover open\", healthy closed }");
    assert_eq!(told(&door, &settings), ["cut-trips-no-limit"]);
    // Where the settings leave cuts out, the leak is reported instead.
    let (settings, problems) = Settings::read("[levels]\ncut-trips-no-limit = \"off\"\n");
    assert_eq!(problems, []);
    assert_eq!(told(&unwatched_pipe(""), &settings), ["leak-trips-no-limit"]);
    // One that is only noted takes no warning with it.
    let (settings, problems) = Settings::read("[levels]\ncut-trips-no-limit = \"note\"\n");
    assert_eq!(problems, []);
    assert_eq!(
        told(&unwatched_pipe(""), &settings),
        ["cut-trips-no-limit", "leak-trips-no-limit"]
    );
}
