//! Properties of every network, tried on random ones.

use drysheath_engineering::air::Reference;
use drysheath_engineering::measure::{Flow, FlowResistance, Length, PneumaticResistance, Pressure, Temperature};
use drysheath_engineering::network::{
    Conditions, Leak, Link, LinkId, Loss, Network, NoSolution, NodeId, Regulator, Section, Solution, Supply, Tube,
    solve,
};
use proptest::prelude::*;
use proptest::test_runner::RngSeed;

pub(super) const PSI: f64 = 6_894.757_293_168;
pub(super) const SCFH: f64 = 0.028_316_846_592 / 3_600.0;
pub(super) const FOOT: f64 = 0.304_8;
const INCH: f64 = 0.025_4;
/// One psi/scfh/kft.
const K: f64 = PSI / SCFH / (FOOT * 1e3);

/// A network as plain figures, so that it can be put together in any order.
#[derive(Clone, Debug)]
pub(super) struct Plan {
    elevation: f64,
    celsius: f64,
    nodes: usize,
    pub links: Vec<(usize, usize, Link)>,
    pub supplies: Vec<(usize, Supply)>,
    leaks: Vec<(usize, Leak)>,
    pub demands: Vec<(usize, f64)>,
}

impl Plan {
    pub(super) fn conditions(&self) -> Conditions {
        Conditions::at(
            Length::from_metres(self.elevation),
            Temperature::from_celsius(self.celsius),
        )
    }

    /// The network with node n of the plan as the `order[n]`th node, and its links from the last to the first if asked.
    fn build(&self, order: &[usize], backwards: bool) -> (Network, Vec<NodeId>, Vec<LinkId>) {
        let mut network = Network::new();
        let made: Vec<NodeId> = (0..self.nodes).map(|_| network.node()).collect();
        let nodes: Vec<NodeId> = order.iter().map(|&place| made[place]).collect();
        for &(at, supply) in &self.supplies {
            network.supply(nodes[at], supply);
        }
        for &(at, leak) in &self.leaks {
            network.leak(nodes[at], leak);
        }
        for &(at, demand) in &self.demands {
            network.demand(nodes[at], Flow::from_cubic_metres_per_second(demand * SCFH));
        }
        let link = |&(from, to, link): &(usize, usize, Link)| network.link(nodes[from], nodes[to], link);
        let mut links: Vec<LinkId> = if backwards {
            self.links.iter().rev().map(link).collect()
        } else {
            self.links.iter().map(link).collect()
        };
        if backwards {
            links.reverse();
        }
        (network, nodes, links)
    }

    pub(super) fn plain(&self) -> (Network, Vec<NodeId>, Vec<LinkId>) {
        self.build(&(0..self.nodes).collect::<Vec<_>>(), false)
    }
}

pub(super) fn section(k: f64, kft: f64, usage: f64) -> Link {
    Link::Section(Section {
        resistance: PneumaticResistance::from_pascal_seconds_per_m4(k * K),
        reference: Reference::default(),
        temperature: None,
        length: Length::from_metres(kft * 1e3 * FOOT),
        usage: Flow::from_cubic_metres_per_second(usage * SCFH),
    })
}

fn tube(bore: f64, feet: f64, roughness: f64, usage: f64) -> Link {
    Link::Tube(Tube {
        bore: Length::from_metres(bore * INCH),
        length: Length::from_metres(feet * FOOT),
        roughness: Length::from_metres(roughness * bore * INCH),
        usage: Flow::from_cubic_metres_per_second(usage * SCFH),
    })
}

fn line() -> impl Strategy<Value = Link> {
    prop_oneof![
        (0.01_f64..0.6, 0.05_f64..8.0, 0.0_f64..2.0).prop_map(|(k, kft, usage)| section(k, kft, usage)),
        (
            prop::sample::select(vec![0.17, 0.25, 0.375, 0.5, 1.0]),
            0.1_f64..3_000.0,
            prop::sample::select(vec![0.0, 0.001, 0.05]),
            prop::sample::select(vec![0.0, 0.0, 1.0, 20.0]),
        )
            .prop_map(|(bore, feet, roughness, usage)| tube(bore, feet, roughness, usage)),
    ]
}

fn device() -> impl Strategy<Value = Link> {
    prop_oneof![
        Just(Link::CheckValve),
        Just(Link::Fitting),
        (
            0.01_f64..2.0,
            0.5_f64..40.0,
            prop::option::of((1.1_f64..4.0, 0.3_f64..2.5)),
            any::<bool>(),
        )
            .prop_map(|(lost, scfh, second, one_way)| {
                let point = |times: f64, steepness: f64| {
                    let flow = Flow::from_cubic_metres_per_second(scfh * times * SCFH);
                    (flow, Pressure::from_pascals(lost * times.powf(steepness) * PSI))
                };
                let second = second.map(|(times, steepness)| point(times, steepness));
                let loss = Loss {
                    first: point(1.0, 1.0),
                    second,
                };
                Link::Restriction { loss, one_way }
            }),
        (
            1.0_f64..14.0,
            prop::sample::select(vec![0.0, 0.005, 0.05]),
            0.0_f64..4.0,
            prop::option::of(5.0_f64..200.0),
        )
            .prop_map(|(set, droop, differential, rated)| Link::Regulator(Regulator {
                set: Pressure::from_pascals(set * PSI),
                droop: FlowResistance::from_pascal_seconds_per_m3(droop * PSI / SCFH),
                differential: Pressure::from_pascals(differential * PSI),
                rated: rated.map(|rated| Flow::from_cubic_metres_per_second(rated * SCFH)),
            })),
    ]
}

fn supply() -> impl Strategy<Value = Supply> {
    (2.0_f64..40.0).prop_map(|psi| Supply {
        delivers: Pressure::from_pascals(psi * PSI),
        capacity: None,
    })
}

fn leak() -> impl Strategy<Value = Leak> {
    prop_oneof![
        (0.5_f64..50.0).prop_map(|r| Leak::Laminar {
            resistance: FlowResistance::from_pascal_seconds_per_m3(r * PSI / SCFH),
        }),
        (0.002_f64..0.05).prop_map(|hole| Leak::Orifice {
            hole: Length::from_metres(hole * INCH),
            coefficient: 0.62,
        }),
    ]
}

/// A tree, with other links thrown in.
pub(super) fn plan(
    link: impl Strategy<Value = Link> + Clone + 'static,
    loops: usize,
    supplies: usize,
    most_demand: f64,
) -> impl Strategy<Value = Plan> {
    (1_usize..40).prop_flat_map(move |nodes| {
        (
            (-50.0_f64..3_500.0, -20.0_f64..45.0),
            prop::collection::vec((any::<prop::sample::Index>(), link.clone(), any::<bool>()), nodes - 1),
            prop::collection::vec((0..nodes, 0..nodes, link.clone()), 0..=loops),
            prop::collection::vec((0..nodes, supply()), 1..=supplies),
            prop::collection::vec((0..nodes, leak()), 0..4),
            prop::collection::vec((0..nodes, 0.0..most_demand), 0..nodes.min(8)),
        )
            .prop_map(
                move |((elevation, celsius), tree, extra, mut supplies, leaks, demands)| {
                    let mut links: Vec<_> = (1..nodes)
                        .zip(tree)
                        .map(|(node, (parent, link, turned))| {
                            let parent = parent.index(node);
                            let turned = turned && matches!(link, Link::Tube(_) | Link::Section(_));
                            if turned {
                                (node, parent, link)
                            } else {
                                (parent, node, link)
                            }
                        })
                        .collect();
                    links.extend(extra);
                    // The first dryer stands at the root, so that arrows lead away from it.
                    supplies[0].0 = 0;
                    Plan {
                        elevation,
                        celsius,
                        nodes,
                        links,
                        supplies,
                        leaks,
                        demands,
                    }
                },
            )
    })
}

pub(super) fn anything() -> impl Strategy<Value = Link> + Clone {
    prop_oneof![3 => line().boxed(), 1 => device().boxed()].boxed()
}

pub(super) fn lines() -> impl Strategy<Value = Link> + Clone {
    line().boxed()
}

pub(super) fn pascals(solution: &Solution, node: NodeId) -> Option<f64> {
    solution.gauge(node).map(Pressure::pascals)
}

/// The same, or none where valves have shut the air in at a pressure that nobody can tell.
pub(super) fn untrapped(solution: &Solution, node: NodeId) -> Option<f64> {
    pascals(solution, node).filter(|_| !solution.node(node).unwrap().trapped)
}

/// Mass is conserved everywhere, as [`Solution::residual`] has it and as the parts add up.
fn balanced(plan: &Plan, solution: &Solution, nodes: &[NodeId], links: &[LinkId]) -> Result<(), TestCaseError> {
    prop_assert!(solution.residual() <= 1e-9, "residual {}", solution.residual());
    let flow = |flow: Flow| flow.cubic_metres_per_second();
    let mut sum = vec![0.0; nodes.len()];
    let mut most = 1e-15_f64;
    for ((from, to, _), id) in plan.links.iter().zip(links) {
        if let Some(state) = solution.link(*id) {
            sum[*from] += flow(state.inflow);
            sum[*to] -= flow(state.outflow);
            most = most.max(flow(state.flow).abs());
        }
    }
    for (at, demand) in &plan.demands {
        if !solution.is_dead(nodes[*at]) {
            sum[*at] += demand * SCFH;
        }
    }
    for node in nodes {
        if let Some(state) = solution.node(*node) {
            most = most.max(flow(state.through));
        }
    }
    let regulated = plan
        .links
        .iter()
        .filter(|(_, _, link)| matches!(link, Link::Regulator(_)))
        .map(|(_, to, _)| *to);
    let has_end: Vec<usize> = plan
        .supplies
        .iter()
        .map(|(at, _)| *at)
        .chain(plan.leaks.iter().map(|(at, _)| *at))
        .chain(regulated)
        .collect();
    for (node, sum) in sum.iter().enumerate() {
        if !has_end.contains(&node) {
            prop_assert!(sum.abs() <= 1e-9 * most, "node {node}: {sum} of {most}");
        }
    }
    Ok(())
}

/// 400, or what `PROPTEST_CASES` says.
pub(super) fn cases() -> u32 {
    std::env::var("PROPTEST_CASES")
        .ok()
        .and_then(|cases| cases.parse().ok())
        .unwrap_or(400)
}

/// The same networks in each run of the tests, and others where `PROPTEST_CASES` asks for a number of them: of 300,000
/// two did not settle in one of the two orders tried, overdrawn ones of about thirty nodes. A failing case is reduced for 20 s at
/// most, since each step draws all that follows the number of nodes anew.
pub(super) fn config(cases: u32) -> ProptestConfig {
    let is_asked = std::env::var_os("PROPTEST_CASES").is_some();
    ProptestConfig {
        failure_persistence: None,
        max_shrink_time: 20_000,
        rng_seed: if is_asked { RngSeed::Random } else { RngSeed::Fixed(1) },
        ..ProptestConfig::with_cases(cases)
    }
}

proptest! {
    #![proptest_config(config(cases()))]

    /// Every valid network settles, or has a reason that can be understood; and mass is conserved.
    #[test]
    fn it_settles_or_says_why(plan in plan(anything(), 6, 4, 20.0)) {
        let (network, nodes, links) = plan.plain();
        match solve(&network, &plan.conditions()) {
            Ok(solution) => balanced(&plan, &solution, &nodes, &links)?,
            Err(why) => prop_assert!(matches!(why, NoSolution::Overdrawn { .. }), "{why}: {why:?}"),
        }
    }

    /// Laws hold across every link: nothing flows uphill in pressure, and regulators give no more than they are set to.
    #[test]
    fn air_flows_downhill(plan in plan(anything(), 6, 3, 3.0)) {
        let (network, nodes, links) = plan.plain();
        let Ok(solution) = solve(&network, &plan.conditions()) else { return Ok(()) };
        for ((from, to, link), id) in plan.links.iter().zip(&links) {
            let Some(state) = solution.link(*id) else { continue };
            let drop = state.drop.pascals();
            let flow = state.flow.cubic_metres_per_second() / SCFH;
            match link {
                Link::Tube(_) | Link::Section(_) => {
                    prop_assert!(flow.abs() < 1e-6 || drop.abs() < 1e-3 || (flow > 0.0) == (drop > 0.0), "{state:?}");
                }
                Link::Fitting => prop_assert!(drop.abs() < 100.0),
                Link::CheckValve => prop_assert!(flow > -1e-6 && drop < 100.0),
                Link::Restriction { loss, one_way } => {
                    prop_assert!(!one_way || flow > -1e-6, "{state:?}");
                    if flow.abs() > 1e-3 {
                        let lost = loss.at(state.flow).pascals();
                        prop_assert!((drop - lost).abs() < 1e-3 * lost.abs() + 0.1, "{lost}: {state:?}");
                    }
                }
                Link::Regulator(regulator) => {
                    prop_assert!(flow > -1e-6, "{state:?}");
                    if flow > 1e-6 {
                        let outlet = pascals(&solution, nodes[*to]).unwrap();
                        prop_assert!(outlet <= regulator.set.pascals() + 1e-3);
                        prop_assert!(outlet <= pascals(&solution, nodes[*from]).unwrap() + 1e-3);
                    }
                }
            }
        }
    }

    /// In a tree with one supply, pressure falls all the way from it.
    #[test]
    fn pressure_falls_away_from_the_supply(plan in plan(lines(), 0, 1, 5.0)) {
        let (network, nodes, links) = plan.plain();
        let Ok(solution) = solve(&network, &plan.conditions()) else { return Ok(()) };
        // A leak lets air in where the network stands below the outside; such networks are left out.
        if nodes.iter().any(|node| pascals(&solution, *node).unwrap() < 0.0) {
            return Ok(());
        }
        let mut outward: Vec<_> = plan.links.clone();
        for (from, to, _) in &mut outward {
            if from > to {
                core::mem::swap(from, to);
            }
            let (near, far) = (pascals(&solution, nodes[*from]).unwrap(), pascals(&solution, nodes[*to]).unwrap());
            prop_assert!(far <= near + 1e-4, "{near} Pa, then {far} Pa");
        }
        for ((_, _, link), id) in plan.links.iter().zip(&links) {
            let Link::Section(Section { length, .. }) = link else { continue };
            let inside = [0.0, 0.25, 0.5, 0.75, 1.0].map(|part| solution.profile(*id, *length * part).unwrap().pascals());
            let rising = inside.windows(2).all(|two| two[1] >= two[0] - 1e-4);
            let falling = inside.windows(2).all(|two| two[1] <= two[0] + 1e-4);
            prop_assert!(rising || falling, "{inside:?}");
        }
    }

    /// Dividing every line in half moves no pressure by 0.01 psi.
    #[test]
    fn halving_moves_nothing(plan in plan(anything(), 4, 3, 5.0)) {
        let (network, nodes, _) = plan.plain();
        let Ok(whole) = solve(&network, &plan.conditions()) else { return Ok(()) };
        let mut halved = plan.clone();
        halved.links.clear();
        for (from, to, link) in &plan.links {
            let half = match *link {
                Link::Tube(tube) => {
                    Link::Tube(Tube { length: tube.length * 0.5, usage: tube.usage * 0.5, ..tube })
                }
                Link::Section(section) => {
                    Link::Section(Section { length: section.length * 0.5, usage: section.usage * 0.5, ..section })
                }
                other => {
                    halved.links.push((*from, *to, other));
                    continue;
                }
            };
            halved.links.push((*from, halved.nodes, half));
            halved.links.push((halved.nodes, *to, half));
            halved.nodes += 1;
        }
        let (network, again, _) = halved.plain();
        let pieces = solve(&network, &plan.conditions());
        prop_assert!(pieces.is_ok(), "{:?}", pieces.err());
        let pieces = pieces.unwrap();
        for (node, other) in nodes.iter().zip(&again) {
            if let (Some(one), Some(two)) = (untrapped(&whole, *node), untrapped(&pieces, *other)) {
                // What the laws give are squares of absolute pressures: towards a vacuum the same difference of squares is more of pressures.
                let ambient = plan.conditions().ambient.pascals();
                let scale = (one.midpoint(two) / ambient + 1.0).min(1.0);
                prop_assert!((one - two).abs() * scale < 0.01 * PSI, "{one} Pa in one piece, {two} Pa in two");
            }
        }
    }

    /// Between held pressures, twice the resistance is half the flow.
    #[test]
    fn twice_the_resistance_is_half_the_flow(
        figures in prop::collection::vec((any::<prop::sample::Index>(), 0.01_f64..0.6, 0.1_f64..8.0), 1..30),
        held in prop::collection::vec((any::<prop::sample::Index>(), 1.0_f64..15.0), 2..5),
    ) {
        let solved = |times: f64| {
            let mut network = Network::new();
            let mut nodes = vec![network.node()];
            let mut links = Vec::new();
            for (parent, k, kft) in &figures {
                let node = network.node();
                links.push(network.link(nodes[parent.index(nodes.len())], node, section(k * times, *kft, 0.0)));
                nodes.push(node);
            }
            for (at, psi) in &held {
                network.hold(nodes[at.index(nodes.len())], Pressure::from_pascals(psi * PSI));
            }
            let air = Conditions::at(Length::from_metres(0.0), Temperature::from_celsius(15.0));
            let solution = solve(&network, &air).unwrap();
            links.iter().map(|link| solution.link(*link).unwrap().flow.cubic_metres_per_second()).collect::<Vec<_>>()
        };
        let (one, two) = (solved(1.0), solved(2.0));
        let most = one.iter().fold(0.0_f64, |most, flow| most.max(flow.abs()));
        for (one, two) in one.iter().zip(&two) {
            prop_assert!((one - 2.0 * two).abs() <= 1e-5 * most, "{one}, then {two}");
        }
    }

    /// The order in which nodes and links are named changes nothing but what the solver leaves open: within
    /// 1e-9 of the flows, which is up to 0.6 Pa in one of 50,000 networks, behind long tubes and one-way losses.
    #[test]
    fn order_is_nothing(
        (plan, order) in plan(anything(), 6, 3, 5.0).prop_flat_map(|plan| {
            let order = Just((0..plan.nodes).collect::<Vec<_>>()).prop_shuffle();
            (Just(plan), order)
        })
    ) {
        let (network, nodes, _) = plan.plain();
        let (other, renamed, _) = plan.build(&order, true);
        match (solve(&network, &plan.conditions()), solve(&other, &plan.conditions())) {
            (Ok(one), Ok(two)) => {
                for (node, other) in nodes.iter().zip(&renamed) {
                    prop_assert_eq!(one.is_dead(*node), two.is_dead(*other));
                    if let (Some(one), Some(two)) = (untrapped(&one, *node), untrapped(&two, *other)) {
                        if one < -50_000.0 {
                            continue;
                        }
                        prop_assert!((one - two).abs() < 5.0, "{one} Pa, then {two} Pa");
                    }
                }
            }
            // Equally far below a vacuum, either place may be named.
            (Err(NoSolution::Overdrawn { .. }), Err(NoSolution::Overdrawn { .. })) => {}
            (one, two) => prop_assert!(false, "{:?}, then {:?}", one.err(), two.err()),
        }
    }
}
