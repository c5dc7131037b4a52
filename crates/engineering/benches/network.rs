//! What a network costs to solve. A usual office has some 30 nodes and is meant to take less than 0.1 ms.

use divan::{Bencher, black_box};
use drysheath_engineering::air::Reference;
use drysheath_engineering::measure::{Flow, FlowResistance, Length, PneumaticResistance, Pressure, Temperature};
use drysheath_engineering::network::{
    Conditions, Leak, Link, Network, NodeId, Regulator, Section, Solution, Supply, Tube, solve,
};

const PSI: f64 = 6_894.757_293_168;
const SCFH: f64 = 0.028_316_846_592 / 3_600.0;
const FOOT: f64 = 0.304_8;

fn main() {
    divan::main();
}

fn tube(bore: f64, feet: f64) -> Link {
    Link::Tube(Tube {
        bore: Length::from_metres(bore * 0.025_4),
        length: Length::from_metres(feet * FOOT),
        roughness: Length::from_metres(0.0),
        usage: Flow::from_cubic_metres_per_second(0.0),
    })
}

fn section(k: f64, feet: f64, usage: f64) -> Link {
    Link::Section(Section {
        resistance: PneumaticResistance::from_pascal_seconds_per_m4(k * PSI / SCFH / (1e3 * FOOT)),
        reference: Reference::default(),
        temperature: None,
        length: Length::from_metres(feet * FOOT),
        usage: Flow::from_cubic_metres_per_second(usage * SCFH),
    })
}

fn line_regulator() -> Link {
    Link::Regulator(Regulator {
        set: Pressure::from_pascals(10.0 * PSI),
        droop: FlowResistance::from_pascal_seconds_per_m3(0.02 * PSI / SCFH),
        differential: Pressure::from_pascals(2.0 * PSI),
        rated: None,
    })
}

/// Dryer, regulator, flow sensor, manifold; from each port of the manifold a cable of four sections with one branch, and a leak
/// in every fifth cable. With `loops`, the far ends of neighbouring cables are joined.
fn office(nodes: usize, loops: bool) -> Network {
    let mut network = Network::new();
    let mut manifold = network.node();
    let delivers = Pressure::from_pascals(16.0 * PSI);
    let capacity = Some(Flow::from_cubic_metres_per_second(150.0 * SCFH));
    network.supply(manifold, Supply { delivers, capacity });
    for link in [tube(0.375, 6.0), line_regulator(), Link::Fitting, tube(0.375, 7.0)] {
        let next = network.node();
        network.link(manifold, next, link);
        manifold = next;
    }
    let (mut last, mut cable): (Option<NodeId>, usize) = (None, 0);
    while network.nodes() < nodes {
        cable += 1;
        let mut end = manifold;
        for piece in 0..4 {
            let next = network.node();
            let k = 0.05 + 0.03 * f64::from(piece);
            network.link(end, next, section(k, 1_500.0, 0.2));
            if piece == 2 {
                let branch = network.node();
                network.link(next, branch, section(0.3, 600.0, 0.1));
            }
            end = next;
        }
        if cable.is_multiple_of(5) {
            let hole = Length::from_metres(0.000_1);
            network.leak(
                end,
                Leak::Orifice {
                    hole,
                    coefficient: 0.62,
                },
            );
        }
        if let (true, Some(last)) = (loops, last) {
            network.link(last, end, section(0.2, 1_000.0, 0.0));
        }
        last = Some(end);
        // A new manifold for every thirty cables, so that no tube has to carry a county.
        if cable.is_multiple_of(30) {
            manifold = network.node();
            network.supply(
                manifold,
                Supply {
                    delivers: Pressure::from_pascals(10.0 * PSI),
                    capacity,
                },
            );
            last = None;
        }
    }
    network
}

fn air() -> Conditions {
    Conditions::at(Length::from_metres(300.0), Temperature::from_celsius(15.0))
}

fn solved(network: &Network) -> Option<Solution> {
    solve(black_box(network), &air()).ok()
}

#[divan::bench(args = [10, 30, 100, 1_000, 10_000])]
fn trees(bencher: Bencher, nodes: usize) {
    let network = office(nodes, false);
    assert!(solved(&network).is_some());
    bencher.bench(|| solved(&network));
}

#[divan::bench(args = [10, 30, 100, 1_000, 10_000])]
fn loops(bencher: Bencher, nodes: usize) {
    let network = office(nodes, true);
    assert!(solved(&network).is_some());
    bencher.bench(|| solved(&network));
}

/// Tubes on a square grid, fed at one corner: no office looks like this.
#[divan::bench(args = [9, 100, 1_024, 10_000])]
fn grids(bencher: Bencher, nodes: usize) {
    let side = nodes.isqrt();
    let mut network = Network::new();
    let made: Vec<NodeId> = (0..side * side).map(|_| network.node()).collect();
    let at = |row: usize, column: usize| made.get(row * side + column).copied();
    for row in 0..side {
        for column in 0..side {
            for (down, right) in [(1, 0), (0, 1)] {
                if let (Some(from), Some(to)) = (at(row, column), at(row + down, column + right))
                    && column + right < side
                {
                    network.link(from, to, section(0.05, 200.0, 0.002));
                }
            }
        }
    }
    if let Some(&corner) = made.first() {
        network.supply(
            corner,
            Supply {
                delivers: Pressure::from_pascals(10.0 * PSI),
                capacity: None,
            },
        );
    }
    assert!(solved(&network).is_some());
    bencher.bench(|| solved(&network));
}

/// Putting a usual office together, for comparison.
#[divan::bench]
fn building_an_office() -> Network {
    office(black_box(30), true)
}
