//! Time to compute the normal state of an office's air, another state, which leaks its limits report, and how long its pressures hold.
//!
//! The offices are the example, and five cables like its own behind one regulator.

#![allow(clippy::unwrap_used, reason = "the offices are known")]

use std::fmt::Write as _;

use divan::Bencher;
use drysheath_explanation::Explainer;
use drysheath_fixture::{lowered, thing};
use drysheath_office::{Networks, Office};
use drysheath_prediction::{DefaultMinimums, HoldUp, NetworkChange, Prediction};

const EXAMPLE: &str = include_str!("../../../grammar/example.office");
const CABLES: [usize; 2] = [1, 5];

#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() {
    divan::main();
}

struct Computed {
    office: Office,
    networks: Networks,
    prediction: Prediction,
}

/// The example with further cables and sensors like its own.
fn computed(cables: usize) -> Computed {
    // Without its `when` statements, whose states are computed with the normal one.
    let lines = EXAMPLE.lines().filter(|line| !line.starts_with("when "));
    let mut text = lines.collect::<Vec<_>>().join("\n");
    text = text.replace("ports 4, ", "ports 12,");
    for number in 2..=cables {
        let _ = writeln!(
            text,
            "
air mf port {port} -> c10{number} with 3/8 in tube, 1/4 in bore, 3 m
cable c10{number} {{
    pairs 50
    section s1 {{ underground 1.2 km, depth 2 m, resistance 0.09 psi/scfh/kft, usage 3 scfh, volume 7 ft3 }}
    section s2 {{ buried 2.0 km, resistance 0.14 psi/scfh/kft, usage 4 scfh, volume 12 ft3 }}
}}
pressure-sensor ps{number} {{
    at c10{number} 3.2 km
    span 0 .. 15 psi
    step 0.1 psi
    error 0.2 psi
    limit low 6.7 psi minor deadband 0.3 psi
}}",
            port = number + 3,
        );
    }
    let office = lowered(&text);
    let networks = Networks::new(&office);
    let prediction = Prediction::new(&office, &networks);
    Computed {
        office,
        networks,
        prediction,
    }
}

impl Computed {
    fn explainer(&self) -> Explainer<'_> {
        Explainer {
            office: &self.office,
            networks: &self.networks,
            prediction: &self.prediction,
            minimums: DefaultMinimums::default(),
        }
    }
}

#[divan::bench(args = CABLES)]
fn normal_state(bencher: Bencher, cables: usize) {
    let of = computed(cables);
    bencher.bench(|| Prediction::new(&of.office, &of.networks));
}

#[divan::bench(args = CABLES)]
fn another_state(bencher: Bencher, cables: usize) {
    let of = computed(cables);
    let changes = [NetworkChange::Stops(thing(&of.office, "d1"))];
    let air = &of.prediction.air;
    bencher.bench(|| air.in_state(&of.office, &of.networks, &changes).unwrap());
}

#[divan::bench(args = CABLES)]
fn leaks_reported(bencher: Bencher, cables: usize) {
    let of = computed(cables);
    let found = of.explainer().detection();
    assert_eq!(found.len(), cables);
    bencher.bench(|| of.explainer().detection());
}

#[divan::bench(args = CABLES)]
fn hold_up(bencher: Bencher, cables: usize) {
    let of = computed(cables);
    let stops = vec![thing(&of.office, "d1")];
    let facts = of.explainer().hold_up(stops.clone());
    assert!(matches!(facts.holds, HoldUp::Falls(_)), "{:?}", facts.holds);
    bencher.bench(|| matches!(of.explainer().hold_up(stops.clone()).holds, HoldUp::Falls(_)));
}
