//! Networks over time, beside closed forms and what must hold of each.

use drysheath_engineering::index::IndexVec;
use drysheath_engineering::measure::{
    AbsolutePressure, Flow, FlowResistance, Length, Pressure, Temperature, Time, Volume,
};
use drysheath_engineering::network::{
    Conditions, Leak, Link, Network, NodeId, PressureFloor, Regulator, StoredVolume, Supply, SupplyId, Transient,
    TransientInputs, solve,
};
use drysheath_engineering::units::find;
use proptest::prelude::*;

use super::network_properties::{FOOT, PSI, section};

const SEA_LEVEL: f64 = 101_325.0;

fn air() -> Conditions {
    Conditions {
        ambient: AbsolutePressure::from_pascals(SEA_LEVEL),
        temperature: Temperature::from_kelvins(find("degF").unwrap().to_si(60.0)),
    }
}

fn cubic_feet(figure: f64) -> Volume {
    Volume::from_cubic_metres(figure * FOOT * FOOT * FOOT)
}

fn hours(figure: f64) -> Time {
    Time::from_seconds(figure * 3600.0)
}

fn psi(figure: f64) -> Pressure {
    Pressure::from_pascals(figure * PSI)
}

fn at(gauge: f64) -> AbsolutePressure {
    AbsolutePressure::from_pascals(SEA_LEVEL) + psi(gauge)
}

/// A network of `start` pressures at its nodes, followed for a time.
fn follow(network: &Network, start: Vec<AbsolutePressure>, stores: &[StoredVolume], time: Time) -> Transient {
    let start: IndexVec<NodeId, _> = start.into_iter().map(Some).collect();
    let following = TransientInputs {
        start: &start,
        stores,
        contents: &[],
        floors: &[],
        time,
    };
    Transient::new(network, &air(), &following).unwrap()
}

fn in_psi(course: &Transient, node: NodeId, time: Time) -> f64 {
    course.gauge(node, time).unwrap().pascals() / PSI
}

#[test]
fn a_laminar_leak_empties_its_volume() {
    // Worked example DEC-3 (derived; scipy's solve_ivp agrees): 2 ft³ at 10 psi through 6 psi/scfh.
    let mut network = Network::new();
    let node = network.node();
    let resistance = FlowResistance::from_pascal_seconds_per_m3(find("psi/scfh").unwrap().to_si(6.0));
    network.leak(node, Leak::Laminar { resistance });
    let store = StoredVolume {
        at: node,
        volume: cubic_feet(2.0),
    };
    let course = follow(&network, vec![at(10.0)], &[store], hours(1.0));
    for (time, expected) in [
        (0.0, 10.0),
        (0.25, 6.756_391_639_879_368),
        (1.0, 2.369_334_141_373_972_4),
    ] {
        let found = in_psi(&course, node, hours(time));
        assert!((found - expected).abs() < 2e-3, "{time} h: {found} psi");
    }
    // And the way back: the time at which it has a pressure.
    let fallen = course.first(|time| Some(psi(6.756_391_639_879_368).pascals() - course.gauge(node, time)?.pascals()));
    assert!((fallen.unwrap().seconds() / 900.0 - 1.0).abs() < 1e-3);
}

#[test]
fn two_tanks_share_their_air() {
    let mut network = Network::new();
    let (one, other) = (network.node(), network.node());
    network.link(one, other, Link::Fitting);
    let stores = [(one, 3.0), (other, 1.0)].map(|(at, size)| StoredVolume {
        at,
        volume: cubic_feet(size),
    });
    let course = follow(&network, vec![at(20.0), at(0.0)], &stores, hours(1.0));
    for node in [one, other] {
        let found = in_psi(&course, node, hours(1.0));
        assert!((found - 15.0).abs() < 2e-3, "{found} psi");
    }
}

#[test]
fn a_check_valve_keeps_what_is_behind_it() {
    let mut network = Network::new();
    let (one, other) = (network.node(), network.node());
    network.link(one, other, Link::CheckValve);
    let resistance = FlowResistance::from_pascal_seconds_per_m3(find("psi/scfh").unwrap().to_si(6.0));
    network.leak(one, Leak::Laminar { resistance });
    let stores = [one, other].map(|at| StoredVolume {
        at,
        volume: cubic_feet(2.0),
    });
    let course = follow(&network, vec![at(10.0), at(10.0)], &stores, hours(2.0));
    assert!(in_psi(&course, one, hours(2.0)) < 2.0);
    assert!((in_psi(&course, other, hours(2.0)) - 10.0).abs() < 1e-2);
}

#[test]
fn what_has_stopped_gives_way() {
    // A dryer that has stopped, its tube, a regulator without droop, and a volume with a leak behind it, at DEC-3.
    let mut network = Network::new();
    let (dryer, before, behind) = (network.node(), network.node(), network.node());
    network.link(dryer, before, Link::Fitting);
    network.link(
        before,
        behind,
        Link::Regulator(Regulator {
            set: psi(10.0),
            droop: FlowResistance::from_pascal_seconds_per_m3(0.0),
            differential: psi(5.0),
            rated: None,
        }),
    );
    let resistance = FlowResistance::from_pascal_seconds_per_m3(find("psi/scfh").unwrap().to_si(6.0));
    network.leak(behind, Leak::Laminar { resistance });
    let store = StoredVolume {
        at: behind,
        volume: cubic_feet(2.0),
    };
    let course = follow(&network, vec![at(30.0), at(30.0), at(10.0)], &[store], hours(1.0));
    let found = in_psi(&course, behind, hours(1.0));
    assert!((found - 2.369_334_141_373_972_4).abs() < 2e-3, "{found} psi");
    let above = in_psi(&course, dryer, hours(1.0));
    assert!((above - found).abs() < 2e-3, "{above} psi before, {found} psi behind");
}

#[test]
fn a_bottle_gives_what_it_holds() {
    // A tank with a leak at 10 psi that bottles keep there until they are empty: 6 psi/scfh let out about 1.67·1.34 scfh.
    let mut network = Network::new();
    let node = network.node();
    let resistance = FlowResistance::from_pascal_seconds_per_m3(find("psi/scfh").unwrap().to_si(6.0));
    network.leak(node, Leak::Laminar { resistance });
    let bottle = network.supply(
        node,
        Supply {
            delivers: psi(10.0),
            capacity: None,
        },
    );
    let flow = {
        let solution = solve(&network, &air()).unwrap();
        solution.supply(bottle).unwrap().flow.cubic_metres_per_second()
    };
    let start: IndexVec<NodeId, _> = vec![Some(at(10.0))].into();
    let held = cubic_feet(8.0);
    let contents: [(SupplyId, Volume); 1] = [(bottle, held)];
    let stores = [StoredVolume {
        at: node,
        volume: cubic_feet(2.0),
    }];
    let following = TransientInputs {
        start: &start,
        stores: &stores,
        contents: &contents,
        floors: &[PressureFloor {
            at: node,
            least: psi(2.369_334_141_373_972_4),
        }],
        time: hours(100.0),
    };
    let course = Transient::new(&network, &air(), &following).unwrap();
    let lasts = held.cubic_metres() / flow;
    let emptied = course.emptied(bottle).unwrap().seconds();
    assert!((emptied / lasts - 1.0).abs() < 1e-3, "{emptied} s, {lasts} s by hand");
    // An hour later it is at what DEC-3 has.
    let (floor, fell) = course.fell().unwrap();
    assert_eq!(floor, 0);
    assert!((fell.seconds() - lasts - 3600.0).abs() < 10.0, "{fell:?}");
}

#[test]
fn a_supply_gives_no_more_than_its_capacity() {
    // A tank with a leak that a supply keeps at 10 psi, until the leak is joined by another like it. By hand, from that on: a laminar
    // leak lets out G·(p² − pa²), so that what it let out at 10 psi is let out by both where p² − pa² is half of what it was.
    let mut network = Network::new();
    let node = network.node();
    let resistance = FlowResistance::from_pascal_seconds_per_m3(find("psi/scfh").unwrap().to_si(6.0));
    network.leak(node, Leak::Laminar { resistance });
    let supply = |capacity| Supply {
        delivers: psi(10.0),
        capacity,
    };
    let mut before = network.clone();
    let alone = before.supply(node, supply(None));
    let given = solve(&before, &air()).unwrap().supply(alone).unwrap().flow;
    network.leak(node, Leak::Laminar { resistance });
    let stores = [StoredVolume {
        at: node,
        volume: cubic_feet(2.0),
    }];
    let after = |capacity| {
        let mut network = network.clone();
        network.supply(node, supply(capacity));
        let course = follow(&network, vec![at(10.0)], &stores, hours(20.0));
        [0.0, 0.1, 20.0].map(|time| in_psi(&course, node, hours(time)))
    };
    let squared = |gauge: f64| (at(gauge).pascals()).powi(2) - SEA_LEVEL.powi(2);
    let settles = ((squared(10.0) / 2.0 + SEA_LEVEL.powi(2)).sqrt() - SEA_LEVEL) / PSI;
    let [first, soon, last] = after(Some(given));
    assert!((first - 10.0).abs() < 0.02, "{first} psi");
    assert!(settles < soon && soon < 10.0, "{soon} psi");
    assert!((last - settles).abs() < 2e-3, "{last} psi, {settles} psi by hand");
    // What can give as much as both let out keeps the pressure.
    for enough in [Some(given * 2.001), None] {
        let last = after(enough)[2];
        assert!((last - 10.0).abs() < 1e-3, "{last} psi");
    }
}

#[test]
fn no_more_flows_at_first_than_a_supply_gives() {
    // A supply without a volume near it feeds a tank that a large hole empties: from the first moment on the tube between passes the capacity.
    let mut network = Network::new();
    let [source, inlet, tank] = [network.node(), network.node(), network.node()];
    let capacity = Flow::from_cubic_metres_per_second(7.5e-4);
    network.supply(
        source,
        Supply {
            delivers: psi(30.0),
            capacity: Some(capacity),
        },
    );
    let through = network.link(source, inlet, Link::Fitting);
    network.link(inlet, tank, Link::Fitting);
    network.hold(tank, psi(0.0));
    let course = follow(&network, vec![at(30.0); 3], &[], hours(1.0));
    for time in [0.0, 1e-3, 0.1, 1.0] {
        let flow =
            course.flow(through, hours(time)).unwrap().cubic_metres_per_second() / capacity.cubic_metres_per_second();
        assert!((flow - 1.0).abs() < 1e-3, "{flow} of the capacity after {time} h");
    }
}

/// A cable fed at one end, in pieces whose loss follows the pressure, with its air at their ends; then the feed is taken away. How long it takes
/// until a place is below the least pressure, s.
fn cable(k: f64, kft: f64, usage: f64, volume: f64, pieces: u32, least: f64) -> Option<f64> {
    let mut network = Network::new();
    let (start, end) = (network.node(), network.node());
    network.hold(start, psi(10.0));
    let link = network.link(start, end, section(k, kft, usage));
    let normal = solve(&network, &air()).ok()?;
    let whole = normal.leakage(link)?;
    let mut cut = Network::new();
    let count = f64::from(pieces);
    let mut nodes: IndexVec<NodeId, Option<AbsolutePressure>> = IndexVec::new();
    let (mut stores, mut floors) = (Vec::new(), Vec::new());
    let mut before = None;
    for place in 0..=pieces {
        let part = f64::from(place) / count;
        let node = cut.node();
        nodes.push(normal.profile(link, Length::from_metres(kft * 1e3 * FOOT * part)));
        let share = if place == 0 || place == pieces { 0.5 } else { 1.0 };
        stores.push(StoredVolume {
            at: node,
            volume: cubic_feet(volume * share / count),
        });
        floors.push(PressureFloor {
            at: node,
            least: psi(least),
        });
        if let Some(before) = before.replace(node) {
            let piece = cut.link(before, node, section(k, kft / count, usage / count));
            cut.follow(piece, Some(whole.piece(part - 1.0 / count, part)));
        }
    }
    let following = TransientInputs {
        start: &nodes,
        stores: &stores,
        contents: &[],
        floors: &floors,
        time: hours(24.0 * 400.0),
    };
    let course = Transient::new(&cut, &air(), &following).unwrap();
    course.fell().map(|(_, time)| time.seconds())
}

#[test]
fn eight_pieces_are_enough() {
    let found = |pieces| cable(0.14, 6.5, 4.0, 12.0, pieces, 3.0).unwrap();
    let (coarse, fine) = (found(8), found(128));
    assert!(
        (coarse / fine - 1.0).abs() < 3e-3,
        "{coarse} s, {fine} s in fine pieces"
    );
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn hold_up_never_shrinks_with_a_volume(
        k in 0.02_f64..0.2,
        kft in 0.5_f64..8.0,
        usage in 0.1_f64..3.0,
        volume in 0.5_f64..30.0,
        more in 1.02_f64..10.0,
    ) {
        let (small, large) = (
            cable(k, kft, usage, volume, 8, 2.0),
            cable(k, kft, usage, volume * more, 8, 2.0),
        );
        prop_assume!(small.is_some());
        let (small, large) = (small.unwrap(), large.unwrap());
        prop_assert!(large >= small * (1.0 - 1e-3), "{small} s, then {large} s");
    }
}
