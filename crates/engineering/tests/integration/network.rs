//! Small networks with known figures: the worked examples, each device, and each error.

use drysheath_engineering::air::{Reference, Regime, tube_resistance};
use drysheath_engineering::measure::{Flow, FlowResistance, Length, PneumaticResistance, Pressure, Temperature};
use drysheath_engineering::network::{
    Conditions, Leak, Link, Loss, Network, NetworkElement, NoSolution, NodeId, Regulator, RegulatorState, Section,
    Solution, Supply, Tube, ValveState, solve,
};
use drysheath_engineering::units::{Quantity, find};

fn quantity(value: f64, unit: &str) -> Quantity {
    Quantity {
        value,
        unit: find(unit).unwrap(),
    }
}

fn psi(value: f64) -> Pressure {
    Pressure::of(quantity(value, "psi")).unwrap()
}

fn scfh(value: f64) -> Flow {
    Flow::of(quantity(value, "scfh")).unwrap()
}

fn feet(value: f64) -> Length {
    Length::of(quantity(value, "ft")).unwrap()
}

fn inches(value: f64) -> Length {
    Length::of(quantity(value, "in")).unwrap()
}

fn sea_level() -> Conditions {
    Conditions::at(feet(0.0), Temperature::of(quantity(60.0, "degF")).unwrap())
}

fn tube(bore: f64, length: f64) -> Link {
    Link::Tube(Tube {
        bore: inches(bore),
        length: feet(length),
        roughness: inches(0.0),
        usage: scfh(0.0),
    })
}

fn cable(k: f64, length: f64, usage: f64) -> Link {
    Link::Section(Section {
        resistance: PneumaticResistance::of(quantity(k, "psi/scfh/kft")).unwrap(),
        reference: Reference::default(),
        temperature: None,
        length: feet(length),
        usage: scfh(usage),
    })
}

fn regulator(set: f64, droop: f64) -> Link {
    Link::Regulator(Regulator {
        set: psi(set),
        droop: FlowResistance::of(quantity(droop, "psi/scfh")).unwrap(),
        differential: psi(2.0),
        rated: None,
    })
}

fn dryer(delivers: f64) -> Supply {
    Supply {
        delivers: psi(delivers),
        capacity: None,
    }
}

fn solved(network: &Network) -> Solution {
    let solution = solve(network, &sea_level()).unwrap_or_else(|why| panic!("{why} ({why:?})"));
    assert!(solution.residual() <= 1e-9, "residual {}", solution.residual());
    solution
}

fn gauge(solution: &Solution, node: NodeId) -> f64 {
    find("psi").unwrap().from_si(solution.gauge(node).unwrap().pascals())
}

fn flow(figure: Flow) -> f64 {
    find("scfh").unwrap().from_si(figure.cubic_metres_per_second())
}

fn near(found: f64, expected: f64, by: f64) {
    assert!((found - expected).abs() <= by, "{found}, expected {expected}");
}

#[test]
fn air_1_one_tube() {
    // Worked example AIR-1, derived; 0.1 % of the drop of 1.127 psi. AIR-1b: the identity, to 1e-6.
    let mut network = Network::new();
    let (start, end) = (network.node(), network.node());
    let supply = network.supply(start, dryer(10.0));
    let link = network.link(start, end, tube(0.375, 5000.0));
    network.demand(end, scfh(12.0));
    let solution = solved(&network);
    near(gauge(&solution, end), 8.872_961_313_109_446, 0.000_01);
    let state = solution.link(link).unwrap();
    near(state.reynolds.unwrap(), 860.827, 0.001);
    assert_eq!(state.regime, Some(Regime::Laminar));
    let k = find("psi/scfh/kft")
        .unwrap()
        .from_si(state.resistance.unwrap().pascal_seconds_per_m4());
    near(k, 0.030_845_441_368_5, 1e-6);
    let identity = k * 5.0 * flow(state.flow) * 101_325.0 / state.mean.pascals();
    near(identity, find("psi").unwrap().from_si(state.drop.pascals()), 1e-6);
    near(flow(solution.supply(supply).unwrap().flow), 12.0, 1e-9);
}

#[test]
fn air_1d_the_profile_is_straight_in_squares() {
    // Worked example AIR-1d: 10 psig to 0 psig; 5.6247 psig half way, and at worst 0.6346 psi above the straight line, at 0.563.
    let mut network = Network::new();
    let (start, end) = (network.node(), network.node());
    network.supply(start, dryer(10.0));
    network.hold(end, psi(0.0));
    let link = network.link(start, end, cable(0.3, 1000.0, 0.0));
    let solution = solved(&network);
    let inside = |part: f64| {
        let found = solution.profile(link, feet(1000.0 * part)).unwrap() - solution.conditions().ambient;
        find("psi").unwrap().from_si(found.pascals())
    };
    near(inside(0.5), 5.624_740_144_098_745, 5e-6);
    near(inside(0.563_46) - 10.0 * (1.0 - 0.563_46), 0.634_648_279_263_141, 5e-6);
    let constant_k = 10.0 / 0.3;
    near(
        flow(solution.link(link).unwrap().flow) / constant_k,
        1.340_229_819_549,
        1e-4,
    );
    assert_eq!(solution.profile(link, feet(1001.0)), None);
}

#[test]
fn air_2_three_in_a_row() {
    // Worked example AIR-2, derived; 0.1 %.
    let mut network = Network::new();
    let nodes: Vec<_> = (0..4).map(|_| network.node()).collect();
    let &[a, b, c, d] = nodes.as_slice() else {
        unreachable!()
    };
    network.supply(a, dryer(10.0));
    network.hold(d, psi(2.0));
    let first = network.link(a, b, tube(0.25, 500.0));
    network.link(b, c, tube(0.375, 3000.0));
    network.link(c, d, cable(0.6, 2000.0, 0.0));
    let solution = solved(&network);
    near(flow(solution.link(first).unwrap().flow), 8.219_825_217_475, 1e-5);
    for (node, expected) in nodes.iter().zip([10.0, 9.615_090_861_054, 9.150_858_522_945, 2.0]) {
        near(gauge(&solution, *node), expected, 1e-5);
    }
}

#[test]
fn air_5_turbulence() {
    // Worked example AIR-5: 3/8 in, 1000 ft, 90 scfh, 15 psig, smooth. Colebrook as in fluids: 9.7060 psig; 1 % of the drop
    // between friction laws. Laminar arithmetic would give 13.59.
    let mut network = Network::new();
    let (start, end) = (network.node(), network.node());
    network.supply(start, dryer(15.0));
    network.demand(end, scfh(90.0));
    let link = network.link(start, end, tube(0.375, 1000.0));
    let solution = solved(&network);
    near(gauge(&solution, end), 9.705_999_008_413, 0.01 * 5.294);
    let state = solution.link(link).unwrap();
    near(state.reynolds.unwrap(), 6_456.202_542_739, 0.01);
    near(state.friction.unwrap(), 0.034_781_867_849, 1e-7);
    assert_eq!(state.regime, Some(Regime::Turbulent));
}

#[test]
fn reg_1_droop() {
    // Worked example REG-1: 10 psi set, 0.02 psi/scfh, 25 scfh: 9.5 psi.
    let mut network = Network::new();
    let (start, end) = (network.node(), network.node());
    network.supply(start, dryer(16.0));
    let link = network.link(start, end, regulator(10.0, 0.02));
    network.demand(end, scfh(25.0));
    let solution = solved(&network);
    near(gauge(&solution, end), 9.5, 1e-6);
    assert_eq!(solution.link(link).unwrap().regulator, Some(RegulatorState::Regulating));
}

#[test]
fn a_starved_regulator_follows_its_supply() {
    for (delivers, outlet, state) in [
        (12.1, 9.5, RegulatorState::Regulating),
        // Enough for its outlet, yet not its differential.
        (11.0, 9.5, RegulatorState::OutOfRegulation),
        (9.0, 9.0, RegulatorState::OutOfRegulation),
    ] {
        let mut network = Network::new();
        let (start, end) = (network.node(), network.node());
        network.supply(start, dryer(delivers));
        let link = network.link(start, end, regulator(10.0, 0.02));
        network.demand(end, scfh(25.0));
        let solution = solved(&network);
        near(gauge(&solution, end), outlet, 0.000_1);
        assert_eq!(solution.link(link).unwrap().regulator, Some(state), "{delivers} psi");
    }
}

#[test]
fn a_rated_regulator_loses_its_differential_wide_open() {
    let mut network = Network::new();
    let (start, end) = (network.node(), network.node());
    network.supply(start, dryer(10.0));
    network.demand(end, scfh(50.0));
    let wide = Regulator {
        set: psi(10.0),
        droop: FlowResistance::from_pascal_seconds_per_m3(0.0),
        differential: psi(2.0),
        rated: Some(scfh(50.0)),
    };
    network.link(start, end, Link::Regulator(wide));
    near(gauge(&solved(&network), end), 8.0, 0.000_1);
    // At another flow in proportion.
    network.demand(end, scfh(25.0));
    near(gauge(&solved(&network), end), 7.0, 0.000_1);
}

#[test]
fn two_regulators_on_one_manifold() {
    let mut network = Network::new();
    let (start, manifold) = (network.node(), network.node());
    network.supply(start, dryer(16.0));
    let low = network.link(start, manifold, regulator(9.0, 0.01));
    let high = network.link(start, manifold, regulator(10.0, 0.01));
    network.demand(manifold, scfh(20.0));
    let solution = solved(&network);
    near(gauge(&solution, manifold), 9.8, 1e-6);
    assert_eq!(
        solution.link(low).unwrap().regulator,
        Some(RegulatorState::ClosedByBackPressure)
    );
    assert_eq!(solution.link(high).unwrap().regulator, Some(RegulatorState::Regulating));
    near(flow(solution.link(low).unwrap().flow), 0.0, 1e-8);
}

#[test]
fn a_regulator_past_which_nothing_flows_holds_its_set_pressure() {
    let mut network = Network::new();
    let (start, end, beyond) = (network.node(), network.node(), network.node());
    network.supply(start, dryer(16.0));
    let link = network.link(start, end, regulator(10.0, 0.0));
    network.link(end, beyond, tube(0.375, 10.0));
    let solution = solved(&network);
    near(gauge(&solution, beyond), 10.0, 1e-6);
    assert_eq!(solution.link(link).unwrap().regulator, Some(RegulatorState::Regulating));
}

#[test]
fn a_bypass_round_a_regulator() {
    let mut network = Network::new();
    let (start, end) = (network.node(), network.node());
    network.supply(start, dryer(16.0));
    let link = network.link(start, end, regulator(10.0, 0.0));
    network.link(start, end, tube(0.17, 50.0));
    network.demand(end, scfh(5.0));
    let solution = solved(&network);
    assert!(gauge(&solution, end) > 15.0);
    assert_eq!(
        solution.link(link).unwrap().regulator,
        Some(RegulatorState::ClosedByBackPressure)
    );
}

#[test]
fn check_valves() {
    let mut network = Network::new();
    let (first, second, middle) = (network.node(), network.node(), network.node());
    network.supply(first, dryer(10.0));
    network.supply(second, dryer(12.0));
    let shut = network.link(first, middle, Link::CheckValve);
    let open = network.link(second, middle, Link::CheckValve);
    network.demand(middle, scfh(10.0));
    let solution = solved(&network);
    near(gauge(&solution, middle), 12.0, 0.001);
    near(gauge(&solution, first), 10.0, 1e-4);
    assert_eq!(solution.link(shut).unwrap().valve, Some(ValveState::Closed));
    assert_eq!(solution.link(open).unwrap().valve, Some(ValveState::Open));
    near(flow(solution.link(shut).unwrap().flow), 0.0, 1e-8);
}

#[test]
fn losses_share_the_air() {
    let loss = |lost: f64, at: f64| Loss {
        first: (scfh(at), psi(lost)),
        second: None,
    };
    let mut network = Network::new();
    let (start, end, beyond) = (network.node(), network.node(), network.node());
    network.supply(start, dryer(10.0));
    let both = |loss| Link::Restriction { loss, one_way: false };
    // Two filters side by side, of which one lets three times as much through: 20 scfh lose what 5 lose in the other.
    let strong = network.link(start, end, both(loss(0.3, 15.0)));
    let weak = network.link(start, end, both(loss(0.3, 5.0)));
    network.demand(beyond, scfh(20.0));
    // A check valve that takes as much again.
    let check = network.link(
        end,
        beyond,
        Link::Restriction {
            loss: loss(0.6, 40.0),
            one_way: true,
        },
    );
    let solution = solved(&network);
    near(flow(solution.link(strong).unwrap().flow), 15.0, 1e-6);
    near(flow(solution.link(weak).unwrap().flow), 5.0, 1e-6);
    near(gauge(&solution, end), 9.7, 1e-6);
    near(gauge(&solution, beyond), 9.4, 1e-6);
    assert_eq!(solution.link(check).unwrap().valve, Some(ValveState::Open));
    assert_eq!(solution.link(strong).unwrap().valve, None);
    // More pressure behind the valve shuts it.
    network.supply(beyond, dryer(12.0));
    let solution = solved(&network);
    assert_eq!(solution.link(check).unwrap().valve, Some(ValveState::Closed));
    near(flow(solution.link(check).unwrap().flow), 0.0, 1e-8);
}

#[test]
fn dryers_share_or_back_up() {
    let mut network = Network::new();
    let (near_one, far_one) = (network.node(), network.node());
    let strong = network.supply(
        near_one,
        Supply {
            delivers: psi(12.0),
            capacity: Some(scfh(15.0)),
        },
    );
    let weak = network.supply(far_one, dryer(10.0));
    let supplies = [strong, weak];
    network.link(near_one, far_one, tube(0.375, 1000.0));
    network.demand(far_one, scfh(20.0));
    let solution = solved(&network);
    let (strong, weak) = (solution.supply(strong).unwrap(), solution.supply(weak).unwrap());
    // By its pressure the strong one would give it all, and back the other up.
    near(flow(strong.asked.unwrap()), 20.0, 1e-6);
    near(flow(strong.flow), 15.0, 1e-5);
    near(flow(weak.flow), 5.0, 1e-5);
    assert!(!strong.over_capacity && !strong.backed_up && !weak.backed_up && weak.asked.is_none());

    // More than the long tube brings at 10 psi: now both give.
    network.demand(far_one, scfh(40.0));
    let solution = solved(&network);
    near(gauge(&solution, far_one), 10.0, 1e-6);
    let given: Vec<_> = supplies.iter().map(|id| solution.supply(*id).unwrap()).collect();
    assert!(
        given.iter().all(|supply| !supply.backed_up && flow(supply.flow) > 5.0),
        "{given:?}"
    );
    near(flow(given.iter().map(|supply| supply.flow).sum()), 60.0, 1e-6);
}

#[test]
fn leaks() {
    let mut network = Network::new();
    let node = network.node();
    network.supply(node, dryer(10.0));
    let hole = network.leak(
        node,
        Leak::Orifice {
            hole: inches(0.01),
            coefficient: 0.62,
        },
    );
    // 1 psi/scfh at a mean of 14.696 psia; at 10 psi the mean is 19.696, so 10·19.696/14.696 scfh.
    let crack = network.leak(
        node,
        Leak::Laminar {
            resistance: FlowResistance::of(quantity(1.0, "psi/scfh")).unwrap(),
        },
    );
    let solution = solved(&network);
    // Worked example ORI-1, 1 %.
    near(flow(solution.leak(hole).unwrap().flow), 1.309_926_629, 0.013);
    assert!(!solution.leak(hole).unwrap().choked);
    near(
        flow(solution.leak(crack).unwrap().flow),
        10.0 * (14.695_949 + 5.0) / 14.695_949,
        1e-5,
    );

    let mut network = Network::new();
    let node = network.node();
    network.supply(node, dryer(14.0));
    let hole = network.leak(
        node,
        Leak::Orifice {
            hole: inches(0.01),
            coefficient: 0.62,
        },
    );
    assert!(solved(&network).leak(hole).unwrap().choked);
}

#[test]
fn usage_along_a_cable() {
    // All usage of a dead-ended cable: P falls by 2·p·k·L·U/2, and by three quarters of that to its middle.
    let mut network = Network::new();
    let (start, end) = (network.node(), network.node());
    network.supply(start, dryer(9.0));
    let link = network.link(start, end, cable(0.3, 6000.0, 3.0));
    let solution = solved(&network);
    let atmosphere = 14.695_948_775_513_45_f64;
    let p0 = (9.0 + atmosphere).powi(2);
    let fall = 2.0 * atmosphere * 0.3 * 6.0 * 1.5;
    near(gauge(&solution, end), (p0 - fall).sqrt() - atmosphere, 1e-6);
    let middle = solution.profile(link, feet(3000.0)).unwrap().pascals();
    near(find("psia").unwrap().from_si(middle), (p0 - 0.75 * fall).sqrt(), 1e-6);
    let state = solution.link(link).unwrap();
    near(flow(state.inflow), 3.0, 1e-9);
    near(flow(state.outflow), 0.0, 1e-9);
    near(flow(solution.usage()), 3.0, 1e-9);
}

#[test]
fn usage_along_a_pipe_that_turns_turbulent() {
    // Fed with 120 scfh, emptied along the way: turbulent, uncertain and laminar in one pipe. In 64 pieces it is the same.
    let pipe = |length: f64, usage: f64| {
        Link::Tube(Tube {
            bore: inches(0.5),
            length: feet(length),
            roughness: inches(0.001),
            usage: scfh(usage),
        })
    };
    let mut whole = Network::new();
    let (start, end) = (whole.node(), whole.node());
    whole.supply(start, dryer(15.0));
    let link = whole.link(start, end, pipe(3000.0, 120.0));
    let whole = solved(&whole);
    assert_eq!(whole.link(link).unwrap().regime, Some(Regime::Turbulent));

    let mut pieces = Network::new();
    let mut last = pieces.node();
    pieces.supply(last, dryer(15.0));
    for _ in 0..64 {
        let next = pieces.node();
        pieces.link(last, next, pipe(3000.0 / 64.0, 120.0 / 64.0));
        last = next;
    }
    let pieces = solved(&pieces);
    near(gauge(&whole, end), gauge(&pieces, last), 0.001);
    let far = whole.profile(link, feet(3000.0)).unwrap();
    assert!((far - whole.pressure(end).unwrap()).pascals().abs() < 0.01);
}

#[test]
fn altitude_adds_to_a_drop() {
    // Worked example ALT-1: 12.1008 psia at 5280 ft (ISO 2533), which adds 12 % to a drop. AIR-1's tube again.
    let mut network = Network::new();
    let (start, end) = (network.node(), network.node());
    network.supply(start, dryer(10.0));
    network.link(start, end, tube(0.375, 5000.0));
    network.demand(end, scfh(12.0));
    let high = Conditions::at(feet(5280.0), sea_level().temperature);
    near(
        find("psia").unwrap().from_si(high.ambient.pascals()),
        12.100_753_385_612,
        0.001,
    );
    let drop = 10.0 - gauge(&solve(&network, &high).unwrap(), end);
    near(drop / 1.127_038_686_890_554, 1.12, 0.005);
}

#[test]
fn where_no_air_comes() {
    let mut network = Network::new();
    let nodes: Vec<_> = (0..5).map(|_| network.node()).collect();
    let &[start, end, alone, behind, lost] = nodes.as_slice() else {
        unreachable!()
    };
    network.supply(start, dryer(10.0));
    let alive = network.link(start, end, tube(0.25, 10.0));
    let dead = network.link(alone, behind, tube(0.25, 10.0));
    // Air does not pass a check valve backwards, so this end is dead too.
    network.link(lost, end, Link::CheckValve);
    network.demand(behind, scfh(3.0));
    network.demand(lost, scfh(3.0));
    let leak = network.leak(
        alone,
        Leak::Orifice {
            hole: inches(0.01),
            coefficient: 0.62,
        },
    );
    let solution = solved(&network);
    for (node, is_dead) in nodes.iter().zip([false, false, true, true, true]) {
        assert_eq!(solution.is_dead(*node), is_dead, "{node:?}");
        assert_eq!(solution.pressure(*node).is_none(), is_dead);
    }
    assert!(solution.link(alive).is_some());
    assert_eq!(solution.link(dead), None);
    assert_eq!(solution.leak(leak), None);
    near(flow(solution.usage()), 0.0, 0.0);
}

#[test]
fn a_network_of_nothing() {
    assert!(solve(&Network::new(), &sea_level()).is_ok());
    let mut network = Network::new();
    let node = network.node();
    assert!(solved(&network).is_dead(node));
    network.supply(node, dryer(10.0));
    near(gauge(&solved(&network), node), 10.0, 1e-9);
    network.link(node, node, cable(0.3, 1000.0, 4.0));
    near(gauge(&solved(&network), node), 10.0, 1e-6);
}

#[test]
fn more_than_the_lines_can_bring() {
    let mut network = Network::new();
    let (start, middle, end) = (network.node(), network.node(), network.node());
    network.supply(start, dryer(10.0));
    network.link(start, middle, cable(0.3, 5000.0, 0.0));
    network.link(middle, end, cable(0.3, 5000.0, 0.0));
    network.demand(end, scfh(60.0));
    let why = solve(&network, &sea_level()).err().unwrap();
    assert_eq!(
        why,
        NoSolution::Overdrawn {
            at: NetworkElement::Node(end)
        }
    );
    assert_eq!(why.piece(), NetworkElement::Node(end));
    assert!(
        why.to_string()
            .starts_with("more air is used than the lines can bring here")
    );
}

#[test]
fn lowest_inside_a_line_fed_from_both_ends() {
    let network = |usage| {
        let mut network = Network::new();
        let (start, end) = (network.node(), network.node());
        network.supply(start, dryer(10.0));
        network.supply(end, dryer(10.0));
        let link = network.link(start, end, cable(0.3, 8000.0, usage));
        (network, link)
    };
    let (mild, link) = network(10.0);
    let solution = solved(&mild);
    let (place, lowest) = solution.lowest(link).unwrap();
    near(place.metres(), feet(4000.0).metres(), 1e-3);
    assert_eq!(Some(lowest), solution.profile(link, place));
    assert!((solution.conditions().ambient + psi(10.0) - lowest).pascals() > 1000.0);
    let (heavy, link) = network(100.0);
    assert_eq!(
        solve(&heavy, &sea_level()).err(),
        Some(NoSolution::Overdrawn {
            at: NetworkElement::Link(link)
        })
    );
}

#[test]
fn figures_that_cannot_be() {
    let cases: [(Link, &str); 6] = [
        (tube(0.0, 10.0), "a bore is not between 0.01 mm and 10 m"),
        (
            tube(0.25, f64::NAN),
            "a length is less than nothing, or beyond any route",
        ),
        (
            cable(-0.1, 10.0, 0.0),
            "a pneumatic resistance is less than nothing, or no number",
        ),
        (cable(0.1, 10.0, -1.0), "a usage is less than nothing, or no number"),
        (regulator(-20.0, 0.0), "a regulator is set to no pressure above vacuum"),
        (
            regulator(10.0, f64::INFINITY),
            "a regulator's droop is less than nothing, or no number",
        ),
    ];
    for (link, expected) in cases {
        let mut network = Network::new();
        let (start, end) = (network.node(), network.node());
        network.supply(start, dryer(10.0));
        let id = network.link(start, end, link);
        let found = solve(&network, &sea_level()).err().unwrap();
        assert_eq!(
            found,
            NoSolution::Impossible {
                piece: NetworkElement::Link(id),
                why: expected
            }
        );
        assert_eq!(found.to_string(), format!("the network cannot be computed: {expected}"));
    }
}

#[test]
fn the_resistance_that_is_shown_is_the_one_that_counts() {
    let warm = Conditions {
        temperature: Temperature::from_celsius(40.0),
        ..sea_level()
    };
    let mut network = Network::new();
    let (start, end) = (network.node(), network.node());
    network.supply(start, dryer(10.0));
    let link = network.link(start, end, tube(0.375, 5000.0));
    network.demand(end, scfh(12.0));
    let state = solve(&network, &warm).unwrap().link(link).unwrap();
    assert_eq!(state.resistance, Some(tube_resistance(inches(0.375), warm.temperature)));
}
