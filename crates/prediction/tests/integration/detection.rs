//! The smallest leak that a limit reports, beside leaks that are put in one by one.

use drysheath_engineering::measure::Flow;
use drysheath_engineering::network::Hole;
use drysheath_prediction::{Air, Detection, LinePoint, NetworkChange, alarm_readings};

use super::air::{Computed, compute};

/// A leak beyond this is as good as a cut.
const AS_GOOD_AS_A_CUT: f64 = 1e4;

/// Three cables behind a dryer and a regulator, one of them with a branch and one behind a regulator of its own, and a pipe.
fn text(chance: &mut fastrand::Rng, sensors: usize) -> String {
    let mut between = |low: f64, high: f64| low + (high - low) * chance.f64();
    let (set, droop) = (between(8.0, 11.0), between(0.0, 0.02));
    let laid: Vec<[f64; 3]> = (0..5)
        .map(|_| [between(400.0, 1800.0), between(0.05, 0.16), between(0.0, 1.5)])
        .collect();
    let section = |at: usize| {
        let [metres, k, usage] = laid[at];
        format!("{{ buried {metres} m, resistance {k} psi/scfh/kft, usage {usage} scfh }}")
    };
    let flow = laid.iter().map(|[.., usage]| usage).sum::<f64>() + 0.4;
    let limits = [
        format!(
            "flow-sensor f1 {{ span 0 .. 60 scfh, step 0.2 scfh, error 0.3 scfh, limit high {} scfh }}",
            flow + between(1.0, 6.0)
        ),
        format!(
            "pressure-sensor ps1 {{ at c1 {} m, span 0 .. 15 psi, step 0.1 psi, error 0.1 psi, limit low {} psi }}",
            laid[0][0],
            between(1.0, 4.0)
        ),
        format!(
            "pressure-sensor ps2 {{ at c1 branch b1 {} m, span 0 .. 15 psi, step 0.1 psi, limit low {} psi }}",
            laid[1][0] / 2.0,
            between(1.0, 4.0)
        ),
        format!(
            "pressure-switch sw1 {{ healthy closed, at c2 {} m, limit low {} psi }}",
            laid[2][0] * 0.6,
            between(1.0, 4.0)
        ),
        // Where the branch leaves its cable, where it begins, and at the end of a cable.
        format!(
            "flow-sensor f2 {{ at c1 {} m, span 0 .. 60 scfh, step 0.1 scfh, limit high {} scfh }}",
            laid[0][0] * 0.4,
            laid[0][2] + laid[1][2] + between(0.5, 3.0)
        ),
        format!(
            "flow-sensor f3 {{ at c1 branch b1 0 m, span 0 .. 60 scfh, step 0.1 scfh, limit high {} scfh }}",
            laid[1][2] + between(0.5, 3.0)
        ),
        format!(
            "flow-sensor f4 {{ at c2 {} m, span -10 .. 60 scfh, step 0.1 scfh, limit high {} scfh }}",
            laid[2][0],
            between(0.5, 3.0)
        ),
    ];
    let mut said = format!(
        "
dryer d1 {{ compressor piston, delivers 40 psi, capacity 400 scfh, dew-point -40 degC }}
regulator r1 {{ set {set} psi, differential 5 psi, droop {droop} psi/scfh }}
manifold mf {{ ports 8 }}
air d1 -> r1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m
cable c1 {{ pairs 50, gauge 24 awg, section s1 {}
    branch b1 {{ from {} m, section s1 {} }}
}}
cable c2 {{ pairs 50, gauge 24 awg, section s1 {} }}
regulator r2 {{ set 6 psi, differential 1 psi }}
cable c3 {{ pairs 50, gauge 24 awg, section s1 {}, section s2 {} }}
air-pipe ap1 {{ length 600 m, bore 0.5 in, usage 0.4 scfh }}
air mf port 1 -> c1 with 3/8 in tube, 1/4 in bore, 3 m
air mf port 2 -> c2 with 3/8 in tube, 1/4 in bore, 3 m
air mf port 3 -> r2 -> c3 with 3/8 in tube, 1/4 in bore, 3 m
air mf port 4 -> ap1 with 3/8 in tube, 1/4 in bore, 3 m
",
        section(0),
        laid[0][0] * 0.4,
        section(1),
        section(2),
        section(3),
        section(4),
    );
    if sensors == 0 {
        said.push_str("flow-sensor f1 { span 0 .. 60 scfh }\n");
    }
    for sensor in limits.iter().take(sensors) {
        said.push_str(sensor);
        said.push('\n');
    }
    said
}

fn computed(text: &str) -> Computed {
    let found = compute(text);
    assert_eq!(found.prediction.missing, []);
    assert_eq!(found.prediction.air.failures().count(), 0);
    found
}

fn detection(found: &Computed) -> Detection<'_> {
    found.prediction.air.detection(&found.office, &found.networks).unwrap()
}

/// Whether any limit surely trips in a state that did not in the normal one.
fn trips(found: &Computed, state: &Air) -> bool {
    let signals = found.office.things().flat_map(|(id, _)| found.office.signals(id));
    let mut limits =
        signals.flat_map(|signal| alarm_readings(&found.office, &found.networks, state, &signal).unwrap_or_default());
    limits.any(|reading| reading.surely_passes(&found.office))
}

#[test]
fn the_smallest_leak_is_the_smallest() {
    let (mut reported, mut silent) = (0, 0);
    for seed in 0..8 {
        let found = computed(&text(&mut fastrand::Rng::with_seed(seed), seed as usize % 8));
        let mut detection = detection(&found);
        for (number, line) in found.prediction.air.lines().iter().enumerate() {
            let length = line.length().unwrap();
            let marks = detection.places(number);
            let inside = [0.17, 0.71].map(|part| part * length);
            let inside = inside.iter().filter(|_| detection.is_cable(line));
            for metres in marks.iter().chain(inside).copied().collect::<Vec<_>>() {
                let smallest = detection.smallest(number, metres).unwrap();
                let point = LinePoint {
                    thing: line.thing,
                    branch: line.branch,
                    metres,
                };
                let state = |change| {
                    let air = &found.prediction.air;
                    // Regulators open as wide as they can.
                    let [open, _] = air.between(&found.office, &found.networks, &[change]).unwrap();
                    open
                };
                let Some((leak, _)) = smallest.leak else {
                    assert!(!trips(&found, &state(NetworkChange::Breaks(point))), "{seed} {point:?}");
                    silent += 1;
                    continue;
                };
                assert!(trips(&found, &state(NetworkChange::Breaks(point))), "{seed} {point:?}");
                let scfh = |flow: Flow| flow.cubic_metres_per_second() / 7.865_79e-6;
                if scfh(leak) < AS_GOOD_AS_A_CUT {
                    let with = |part: f64| trips(&found, &state(NetworkChange::Leaks(point, leak * part)));
                    assert!(with(1.01) && !with(0.99), "{seed} {point:?}: {} scfh", scfh(leak));
                }
                reported += 1;
            }
        }
    }
    assert!(reported > 100 && silent > 20, "{reported} {silent}");
}

#[test]
fn what_is_foretold_of_a_hole_is_what_it_does() {
    let scfh = |flow: f64| Flow::from_cubic_metres_per_second(flow * 7.865_79e-6);
    let (mut reported, mut silent) = (0, 0);
    for seed in 0..12 {
        let said = text(&mut fastrand::Rng::with_seed(seed), 1 + seed as usize % 7);
        // Every other dryer comes to its capacity with the larger holes.
        let said = match seed % 2 {
            0 => said.replace("capacity 400 scfh", &format!("capacity {} scfh", 10 + seed)),
            _ => said,
        };
        let found = computed(&said);
        let mut detection = detection(&found);
        for (number, line) in found.prediction.air.lines().iter().enumerate() {
            let length = line.length().unwrap();
            let inside = [0.17, 0.71].map(|part| part * length);
            let inside = inside.iter().filter(|_| detection.is_cable(line));
            for metres in detection
                .places(number)
                .iter()
                .chain(inside)
                .copied()
                .collect::<Vec<_>>()
            {
                let leaks = [0.3, 2.0, 5.0, 20.0].map(|flow| Hole::Passing(scfh(flow)));
                for hole in leaks.into_iter().chain([Hole::Open]) {
                    let predicted = detection.predicted(number, metres, hole).unwrap();
                    let made = detection.effect(number, metres, hole).unwrap();
                    let place = format!("{seed} {number} {metres} m {hole:?}: {predicted:?} {made:?}");
                    assert_eq!(predicted.is_reported(), made.is_reported(), "{place}");
                    assert!(
                        predicted.tripped.iter().all(|limit| made.tripped.contains(limit)),
                        "{place}"
                    );
                    let is_off = (predicted.share - made.share).abs() > 0.01 * made.share.abs().max(1.0);
                    assert!(made.is_reported() || !is_off, "{place}");
                    if made.is_reported() { reported += 1 } else { silent += 1 }
                }
            }
        }
    }
    assert!(reported > 500 && silent > 500, "{reported} {silent}");
}

/// One cable behind a dryer of some capacity.
fn one_cable(capacity: &str, sensors: &str) -> Computed {
    computed(&format!(
        "
dryer d1 {{ compressor piston, delivers 40 psi, capacity {capacity}, dew-point -40 degC }}
regulator r1 {{ set 10 psi, differential 5 psi }}
air d1 -> r1 -> f1 -> c1 with 3/8 in tube, 1/4 in bore, 4 m
cable c1 {{ pairs 50, gauge 24 awg, section s1 {{ buried 1 km, resistance 0.1 psi/scfh/kft, usage 3 scfh }} }}
{sensors}
"
    ))
}

#[test]
fn no_leak_is_reported_by_a_flow_that_no_source_can_give() {
    let smallest = |capacity: &str, sensors: &str| {
        let found = one_cable(capacity, sensors);
        let mut detection = detection(&found);
        let leak = detection.smallest(0, 200.0).unwrap().leak;
        leak.map(|(leak, watcher)| {
            let thing = found.office.name(detection.watchers[watcher].thing).to_owned();
            (leak.cubic_metres_per_second() / 7.865_79e-6, thing)
        })
    };
    let high = |limit: &str| format!("flow-sensor f1 {{ span 0 .. 60 scfh, step 0.1 scfh, limit high {limit} }}\n");
    let (leak, thing) = smallest("100 scfh", &high("20 scfh")).unwrap();
    assert!(leak > 17.0 && thing == "f1", "{leak} scfh");
    assert_eq!(smallest("8 scfh", &high("20 scfh")), None);
    // What it can give is reported as ever.
    let (wide, narrow) = (
        smallest("100 scfh", &high("6 scfh")),
        smallest("8 scfh", &high("6 scfh")),
    );
    let ((wide, _), (narrow, thing)) = (wide.unwrap(), narrow.unwrap());
    assert!(
        (narrow / wide - 1.0).abs() < 1e-3 && thing == "f1",
        "{narrow} scfh, {wide} scfh"
    );
    // Where the dryer can give no more, its pressure falls, and a low limit trips with less of a leak.
    let far = "pressure-sensor ps1 { at c1 1 km, span 0 .. 15 psi, step 0.1 psi, limit low 5 psi }\n";
    let (wide, _) = smallest("100 scfh", &format!("flow-sensor f1 {{ span 0 .. 60 scfh }}\n{far}")).unwrap();
    let (narrow, thing) = smallest("8 scfh", &(high("20 scfh") + far)).unwrap();
    assert_eq!(thing, "ps1");
    assert!(narrow < 0.8 * wide, "{narrow} scfh, {wide} scfh");
    assert!(narrow > 5.0, "{narrow} scfh");
}

#[test]
fn another_sensor_never_hides_a_leak() {
    for seed in 0..16 {
        let sizes = |sensors: usize| {
            let found = computed(&text(&mut fastrand::Rng::with_seed(seed), sensors));
            let mut detection = detection(&found);
            let lines = found.prediction.air.lines().iter().enumerate();
            let places = lines.flat_map(|(number, line)| {
                let length = line.length().unwrap();
                [0.0, 0.4, 1.0].map(|part| (number, part * length))
            });
            let size = |(number, metres): (usize, f64)| {
                let leak = detection.smallest(number, metres).unwrap().leak;
                leak.map_or(f64::INFINITY, |(leak, _)| leak.cubic_metres_per_second())
            };
            places.map(size).collect::<Vec<f64>>()
        };
        let all: Vec<_> = (1..=4).map(sizes).collect();
        assert!(all.iter().all(|sizes| sizes.len() == 15));
        for (fewer, more) in all.iter().zip(all.iter().skip(1)) {
            for (fewer, more) in fewer.iter().zip(more) {
                assert!(
                    *more <= fewer * 1.001,
                    "{seed}: {fewer} with fewer sensors, {more} with more"
                );
            }
        }
    }
}
