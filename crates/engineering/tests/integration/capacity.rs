//! Supplies at their capacity: closed forms, and what must be so of every network.

use drysheath_engineering::measure::{Flow, FlowResistance, Length, Pressure, Temperature};
use drysheath_engineering::network::{
    Conditions, Hole, HoleLocation, Leak, Link, Network, NodeId, Probe, Regulator, Solution, Supply, solve,
};
use proptest::prelude::*;

use super::network_properties::{PSI, Plan, SCFH, anything, cases, config, pascals, plan, section};

/// Air at sea level and 15 degC.
fn air() -> Conditions {
    Conditions::at(Length::from_metres(0.0), Temperature::from_celsius(15.0))
}

fn scfh(value: f64) -> Flow {
    Flow::from_cubic_metres_per_second(value * SCFH)
}

fn supply(psi: f64, capacity: Option<f64>) -> Supply {
    Supply {
        delivers: Pressure::from_pascals(psi * PSI),
        capacity: capacity.map(scfh),
    }
}

fn hole(psi_per_scfh: f64) -> Leak {
    Leak::Laminar {
        resistance: FlowResistance::from_pascal_seconds_per_m3(psi_per_scfh * PSI / SCFH),
    }
}

fn psi(solution: &Solution, node: NodeId) -> f64 {
    pascals(solution, node).unwrap() / PSI
}

fn regulator(set: f64) -> Link {
    Link::Regulator(Regulator {
        set: Pressure::from_pascals(set * PSI),
        droop: FlowResistance::from_pascal_seconds_per_m3(0.0),
        differential: Pressure::from_pascals(5.0 * PSI),
        rated: None,
    })
}

/// p₁² − p₂² = 2·pₛ·k·L·Q along a section, whose k counts at 101 325 Pa and 60 °F, and p₂² − pₐ² = 2·pₛ·R·Q through a hole: Hagen and Poiseuille's law
/// for a gas, by hand.
#[test]
fn one_source_one_line_one_hole() {
    let (k, kft, r) = (0.1, 2.0, 0.8);
    for (capacity, at_regulator) in [(4.0, false), (1.5, false), (4.0, true), (0.7, true)] {
        let mut network = Network::new();
        let (start, near, far) = (network.node(), network.node(), network.node());
        let dryer = network.supply(start, supply(30.0, Some(capacity)));
        network.link(start, near, if at_regulator { regulator(10.0) } else { Link::Fitting });
        network.link(near, far, section(k, kft, 0.0));
        network.leak(far, hole(r));
        // The k of a section counts at 60 °F.
        let air = Conditions::at(
            Length::from_metres(0.0),
            Temperature::from_kelvins(288.705_555_555_555_6),
        );
        let solution = solve(&network, &air).unwrap();
        let state = solution.supply(dryer).unwrap();
        assert!(!state.over_capacity && !state.backed_up);
        assert!(
            (state.flow.cubic_metres_per_second() / SCFH / capacity - 1.0).abs() < 1e-5,
            "{state:?}"
        );
        // Without a limit: 30 psi, or 10 psi behind the regulator, across both.
        let outside = 101_325.0_f64;
        let held = (if at_regulator { 10.0 } else { 30.0 } * PSI + outside).powi(2) - outside.powi(2);
        let both = 2.0 * outside * (k * kft + r) * PSI;
        assert!(
            (state.asked.unwrap().cubic_metres_per_second() / SCFH / (held / both) - 1.0).abs() < 1e-5,
            "{state:?}"
        );
        let gauge = |resistance: f64| {
            let squared = outside.powi(2) + 2.0 * outside * resistance * PSI * capacity;
            (squared.sqrt() - outside) / PSI
        };
        assert!((psi(&solution, far) - gauge(r)).abs() < 1e-4, "{}", psi(&solution, far));
        assert!(
            (psi(&solution, near) - gauge(r + k * kft)).abs() < 1e-4,
            "{}",
            psi(&solution, near)
        );
        // The regulator is wide open, and loses nothing that is known.
        assert!(
            (psi(&solution, start) - psi(&solution, near)).abs() < 1e-3,
            "{}",
            psi(&solution, start)
        );
    }
}

#[test]
fn what_a_regulator_takes_changes_nothing_behind_it_at_capacity() {
    // The flow is the capacity however it stands: only the pressure before it is higher, by what it loses at that flow or by all of its differential.
    let (k, kft, r, capacity) = (0.1, 2.0, 0.8, 2.0);
    for (rated, held_back, takes) in [
        (None, false, 0.0),
        (Some(20.0), false, 0.5),
        (None, true, 5.0),
        (Some(20.0), true, 5.0),
    ] {
        let mut network = Network::new();
        let (start, near, far) = (network.node(), network.node(), network.node());
        network.supply(start, supply(30.0, Some(capacity)));
        let Link::Regulator(valve) = regulator(12.0) else {
            panic!("no regulator");
        };
        let valve = Regulator {
            rated: rated.map(scfh),
            ..valve
        };
        network.link(start, near, Link::Regulator(valve));
        network.link(near, far, section(k, kft, 0.0));
        network.leak(far, hole(r));
        if held_back {
            network.hold_back_regulators();
        }
        let solution = solve(&network, &air()).unwrap();
        let taken = psi(&solution, start) - psi(&solution, near);
        assert!((taken - takes).abs() < 1e-3, "{rated:?}, {held_back}: {taken} psi");
        // 2·pₛ·(k·L + R)·Q, at 15 and 15.56 °C alike but for the viscosity.
        assert!(
            (psi(&solution, near) - 1.88).abs() < 0.01,
            "{} psi",
            psi(&solution, near)
        );
    }
}

#[test]
fn a_regulator_that_droops_and_is_held_back_passes_the_capacity() {
    // Newton's steps end where it seems to regulate, and have no lower end from there.
    for (droop, leak) in [(0.015, 2.0), (0.02, 8.0), (0.05, 16.0), (0.2, 4.0)] {
        let mut network = Network::new();
        let (start, near, far) = (network.node(), network.node(), network.node());
        let source = network.supply(start, supply(21.0, Some(1.5)));
        let Link::Regulator(valve) = regulator(9.0) else {
            panic!("no regulator");
        };
        let valve = Regulator {
            droop: FlowResistance::from_pascal_seconds_per_m3(droop * PSI / SCFH),
            differential: Pressure::from_pascals(4.0 * PSI),
            ..valve
        };
        network.link(start, near, Link::Regulator(valve));
        network.link(near, far, section(0.08, 5.0, 0.0));
        network.leak(far, hole(9.0 / leak));
        network.hold_back_regulators();
        let solution = solve(&network, &air()).unwrap();
        let (before, behind) = (psi(&solution, start), psi(&solution, near));
        assert!((before - behind - 4.0).abs() < 1e-3, "{before} psi, {behind} psi");
        let balance = solution.supply(source).unwrap().flow.cubic_metres_per_second() / SCFH;
        assert!((balance - 1.5).abs() < 1e-5, "{balance} scfh");
    }
}

#[test]
fn another_source_gives_what_is_left() {
    let mut network = Network::new();
    let (one, two, joint, far) = (network.node(), network.node(), network.node(), network.node());
    let strong = network.supply(one, supply(30.0, Some(6.0)));
    let weak = network.supply(two, supply(28.0, Some(100.0)));
    network.link(one, joint, Link::CheckValve);
    network.link(two, joint, Link::CheckValve);
    network.link(joint, far, regulator(10.0));
    network.demand(far, scfh(9.0));
    let solution = solve(&network, &air()).unwrap();
    let (strong, weak) = (solution.supply(strong).unwrap(), solution.supply(weak).unwrap());
    assert!(
        (strong.flow.cubic_metres_per_second() / SCFH - 6.0).abs() < 1e-5,
        "{strong:?}"
    );
    assert!(
        (strong.asked.unwrap().cubic_metres_per_second() / SCFH - 9.0).abs() < 1e-5,
        "{strong:?}"
    );
    assert!(
        (weak.flow.cubic_metres_per_second() / SCFH - 3.0).abs() < 1e-5,
        "{weak:?}"
    );
    assert!(weak.asked.is_none() && !weak.backed_up && !strong.backed_up);
    assert!((psi(&solution, one) - 28.0).abs() < 1e-3);
    // What is used whatever the pressure can be more than both can give.
    network.demand(far, scfh(100.0));
    let solution = solve(&network, &air()).unwrap();
    let strong = solution.all_supplies().next().unwrap();
    assert!(strong.over_capacity, "{strong:?}");
    assert!(
        (strong.flow.cubic_metres_per_second() / SCFH - 109.0).abs() < 1e-4,
        "{strong:?}"
    );
}

#[test]
fn a_hole_does_not_get_more_than_the_source_can_give() {
    let network = |capacity| {
        let mut network = Network::new();
        let (start, near, far) = (network.node(), network.node(), network.node());
        network.supply(start, supply(30.0, capacity));
        network.link(start, near, regulator(10.0));
        network.link(near, far, section(0.1, 2.0, 0.0));
        network.leak(far, hole(5.0));
        (network, far)
    };
    let (limited, far) = network(Some(12.0));
    let mut probe = Probe::new(&limited, &air()).unwrap();
    assert!(probe.make(HoleLocation::Node(far), Hole::Open));
    assert!(
        (probe.lost().cubic_metres_per_second() / SCFH - 12.0).abs() < 1e-4,
        "{:?}",
        probe.lost()
    );
    // A hole after it starts from the normal state again.
    assert!(probe.make(HoleLocation::Node(far), Hole::Passing(scfh(1.0))));
    let (free, far) = network(None);
    let mut other = Probe::new(&free, &air()).unwrap();
    assert!(other.make(HoleLocation::Node(far), Hole::Passing(scfh(1.0))));
    assert_eq!(probe.lost(), other.lost());
    assert!(other.make(HoleLocation::Node(far), Hole::Open));
    assert!(other.lost().cubic_metres_per_second() / SCFH > 40.0);
}

proptest! {
    #![proptest_config(config(cases() / 4))]

    /// A supply holds its pressure within its capacity, or gives its capacity at less; and no pressure is higher for that.
    #[test]
    fn it_holds_its_pressure_or_gives_its_capacity(
        mut free in plan(anything(), 6, 4, 0.2),
        is_used in any::<bool>(),
        are_held_back in any::<bool>(),
        parts in prop::collection::vec(prop::option::weighted(0.7, 0.05_f64..1.5), 4),
    ) {
        if !is_used {
            free.demands.clear();
            for (_, _, link) in &mut free.links {
                match link {
                    Link::Tube(tube) => tube.usage = scfh(0.0),
                    Link::Section(section) => section.usage = scfh(0.0),
                    _ => {}
                }
            }
        }
        let network = |plan: &Plan| {
            let (mut network, nodes, _) = plan.plain();
            if are_held_back {
                network.hold_back_regulators();
            }
            (network, nodes)
        };
        let (unlimited, nodes) = network(&free);
        let air = free.conditions();
        let Ok(without) = solve(&unlimited, &air) else { return Ok(()) };
        let mut plan = free.clone();
        let given: Vec<f64> = without.all_supplies().map(|state| state.flow.cubic_metres_per_second()).collect();
        for (((_, supply), part), given) in plan.supplies.iter_mut().zip(&parts).zip(&given) {
            supply.capacity = part.map(|part| Flow::from_cubic_metres_per_second(part * given.max(0.01 * SCFH)));
        }
        let (limited_network, limited) = network(&plan);
        let with = solve(&limited_network, &air).unwrap();
        prop_assert!(with.residual() <= 1e-8, "residual {}", with.residual());
        let states: Vec<_> = with.all_supplies().collect();
        if states.iter().any(|state| state.over_capacity) {
            // What leaves only as the pressure has it never asks for more than there is. Of a thousand networks with regulators held back one does not
            // settle at its capacities, and then its supplies say that they are asked for too much.
            prop_assert!(is_used || are_held_back, "{states:?}");
            // Then all is as if nothing were limited.
            for (node, same) in nodes.iter().zip(&limited) {
                prop_assert_eq!(pascals(&without, *node), pascals(&with, *same));
            }
            return Ok(());
        }
        for ((at, supply), state) in plan.supplies.iter().zip(&states) {
            let flow = state.flow.cubic_metres_per_second() / SCFH;
            let most = supply.capacity.map_or(f64::INFINITY, |most| most.cubic_metres_per_second() / SCFH);
            let below = supply.delivers.pascals() - pascals(&with, limited[*at]).unwrap();
            prop_assert!(flow <= most * 1.000_01 + 1e-5, "{flow} scfh of {most}");
            if state.asked.is_some() {
                prop_assert!((flow - most).abs() <= 1e-5 * most + 1e-5, "{flow} scfh of {most}");
                prop_assert!(below > -1e-3, "{below} Pa below its own");
            } else {
                prop_assert!(below < 0.1, "{below} Pa below its own");
            }
        }
        for (node, same) in nodes.iter().zip(&limited) {
            let (before, after) = (pascals(&without, *node).unwrap(), pascals(&with, *same).unwrap());
            let is_trapped = without.node(*node).unwrap().trapped || with.node(*same).unwrap().trapped;
            prop_assert!(after <= before + 0.1 || is_trapped, "{before} Pa, then {after} Pa");
        }
    }
}
