//! Leakage that follows pressure: the normal state stays as it is, and other states are those of a line cut into thousands of pieces.

use drysheath_engineering::measure::{FlowResistance, Length, Pressure, Temperature};
use drysheath_engineering::network::{Conditions, Leak, Link, LinkId, Network, NodeId, Solution, Supply, solve};
use proptest::prelude::*;

use super::network_properties::{FOOT, PSI, SCFH, anything, cases, config, pascals, plan, section};

/// Air at sea level and 15 degC.
fn air() -> Conditions {
    Conditions::at(Length::from_metres(0.0), Temperature::from_celsius(15.0))
}

fn psi(value: f64) -> Pressure {
    Pressure::from_pascals(value * PSI)
}

/// A cable fed at one end from a held pressure, with a flow that leaves at the other end in the normal state.
struct Cable {
    k: f64,
    kft: f64,
    usage: f64,
    feed: f64,
    beyond: f64,
}

impl Cable {
    /// The cable in the normal state: its network, start, link, end and solution. None if it overdraws.
    fn normal(&self) -> Option<(Network, NodeId, LinkId, NodeId, Solution)> {
        let mut network = Network::new();
        let (start, end) = (network.node(), network.node());
        network.hold(start, psi(self.feed));
        let link = network.link(start, end, section(self.k, self.kft, self.usage));
        // What leaves beyond is a hole, which follows the pressure by itself.
        if self.beyond > 0.0 {
            network.leak(end, through(self.beyond, self.feed));
        }
        let normal = solve(&network, &air()).ok()?;
        Some((network, start, link, end, normal))
    }

    /// The pressure at the far end and the flow into the cable in the state with another pressure at its start, from `pieces`
    /// pieces without usage and a laminar hole between each two: Pa and m³/s.
    fn in_pieces(&self, link: LinkId, normal: &Solution, feed: f64, pieces: u32) -> (f64, f64) {
        let mut network = Network::new();
        let start = network.node();
        network.hold(start, psi(feed));
        let outside = air().ambient.pascals();
        let count = f64::from(pieces);
        let (mut at, mut first) = (start, None);
        for piece in 0..pieces {
            let next = network.node();
            let made = network.link(at, next, section(self.k, self.kft / count, 0.0));
            first.get_or_insert(made);
            // The loss of a piece at its middle, moved half to either end as the trapezoidal rule has it.
            for (node, place) in [(at, f64::from(piece)), (next, f64::from(piece + 1))] {
                let part = (place / count).min(1.0);
                let here = normal.profile(link, Length::from_metres(self.kft * 1e3 * FOOT * part));
                let here = here.unwrap().pascals();
                let lost = self.usage * SCFH / count / 2.0;
                let resistance = (here * here - outside * outside) / (2.0 * 101_325.0 * lost);
                let resistance = FlowResistance::from_pascal_seconds_per_m3(resistance);
                network.leak(node, Leak::Laminar { resistance });
            }
            at = next;
        }
        if self.beyond > 0.0 {
            network.leak(at, through(self.beyond, self.feed));
        }
        let solution = solve(&network, &air()).unwrap();
        // What the hole at the start takes is not in the first piece's flow.
        let hole = (psi(feed).pascals() + outside).powi(2) - outside * outside;
        let there = (psi(self.feed).pascals() + outside).powi(2) - outside * outside;
        let at_start = self.usage * SCFH / count / 2.0 * hole / there;
        let flow = solution.link(first.unwrap()).unwrap().flow.cubic_metres_per_second();
        (pascals(&solution, at).unwrap(), flow + at_start)
    }
}

/// The network with leakage that follows pressure, and the links that lose air and whose normal pressure tells nothing.
fn following(network: &Network, normal: &Solution) -> (Network, Vec<LinkId>) {
    let mut following = network.clone();
    let mut unknown = Vec::new();
    for link in network.all_links() {
        let usage = match network.law(link) {
            Link::Tube(tube) => tube.usage,
            Link::Section(section) => section.usage,
            _ => continue,
        };
        let leakage = normal.leakage(link);
        if leakage.is_none() && usage.cubic_metres_per_second() > 0.0 {
            unknown.push(link);
        }
        following.follow(link, leakage);
    }
    (following, unknown)
}

/// A laminar hole that passes a flow in scfh at a gauge pressure in psi.
fn through(scfh: f64, gauge: f64) -> Leak {
    let outside = air().ambient.pascals();
    let inside = outside + gauge * PSI;
    let resistance = (inside * inside - outside * outside) / (2.0 * 101_325.0 * scfh * SCFH);
    Leak::Laminar {
        resistance: FlowResistance::from_pascal_seconds_per_m3(resistance),
    }
}

proptest! {
    #![proptest_config(config(cases()))]

    /// With the leakage law and without it, the normal state is the same.
    #[test]
    fn the_normal_state_is_unchanged(plan in plan(anything(), 4, 3, 3.0)) {
        let (network, nodes, links) = plan.plain();
        let Ok(normal) = solve(&network, &plan.conditions()) else { return Ok(()) };
        let (leaking, unknown) = following(&network, &normal);
        // A line without a normal pressure loses nothing in other states, and those are not known.
        prop_assume!(unknown.iter().all(|link| normal.link(*link).is_none()));
        let again = solve(&leaking, &plan.conditions());
        prop_assert!(again.is_ok(), "{:?}", again.err());
        let again = again.unwrap();
        prop_assert!(again.residual() <= 1e-9, "residual {}", again.residual());
        let trapped = |solution: &Solution, node: NodeId| solution.node(node).is_some_and(|state| state.trapped);
        let most = links.iter().filter_map(|link| normal.link(*link));
        let most = most.fold(1e-9, |most: f64, state| most.max(state.inflow.cubic_metres_per_second().abs()));
        // Where no air moves, as between a check valve and a regulator that is shut, any pressure between theirs is one.
        let moves = |node: &usize| {
            let mut ends = plan.links.iter().zip(&links).filter(|((from, to, _), _)| from == node || to == node);
            ends.any(|(_, link)| normal.link(*link).is_some_and(|state| {
                let flows = [state.inflow, state.outflow].map(|flow| flow.cubic_metres_per_second().abs());
                flows.iter().any(|flow| *flow > 1e-9 * most)
            }))
        };
        for (number, node) in nodes.iter().enumerate() {
            prop_assert_eq!(normal.is_dead(*node), again.is_dead(*node));
            if let (Some(one), Some(two)) = (pascals(&normal, *node), pascals(&again, *node))
                && !trapped(&normal, *node)
                && moves(&number)
            {
                prop_assert!((one - two).abs() < 0.1, "{one} Pa, then {two} Pa");
            }
        }
        for ((from, ..), link) in plan.links.iter().zip(&links) {
            if let (Some(one), Some(two)) = (normal.link(*link), again.link(*link))
                && !trapped(&normal, nodes[*from])
            {
                for (one, two) in [(one.inflow, two.inflow), (one.flow, two.flow), (one.outflow, two.outflow)] {
                    let (one, two) = (one.cubic_metres_per_second(), two.cubic_metres_per_second());
                    prop_assert!((one - two).abs() <= 1e-6 * most, "{one}, then {two} m³/s");
                }
            }
        }
    }

    /// A line of the law is what thousands of pieces with holes between them are.
    #[test]
    fn it_is_the_limit_of_many_holes(
        (k, kft) in (0.02_f64..0.4, 1.0_f64..12.0),
        (usage, feed, beyond) in (0.05_f64..4.0, 3.0_f64..14.0, prop::sample::select(vec![0.0, 1.0])),
        other in 0.5_f64..20.0,
    ) {
        let cable = Cable { k, kft, usage, feed, beyond };
        let Some((network, start, link, end, normal)) = cable.normal() else { return Ok(()) };
        // Near the pressure outside a place loses what it is declared to lose through ever wider ways, and pieces do badly.
        prop_assume!(pascals(&normal, end).unwrap() > 0.3 * PSI);
        let (mut leaking, unknown) = following(&network, &normal);
        prop_assert!(unknown.is_empty());
        leaking.hold(start, psi(other));
        let state = solve(&leaking, &air()).unwrap();
        let (far, flow) = (pascals(&state, end).unwrap(), state.link(link).unwrap().inflow.cubic_metres_per_second());
        let ((near, coarse), (nearer, fine)) =
            (cable.in_pieces(link, &normal, other, 400), cable.in_pieces(link, &normal, other, 800));
        // The error falls with the square of the number, so that a third of the difference is what is left.
        let (expected, brought) = (nearer + (nearer - near) / 3.0, fine + (fine - coarse) / 3.0);
        prop_assert!((far - expected).abs() < 0.5, "{far} Pa by the law, {expected} Pa in pieces");
        prop_assert!((flow - brought).abs() < 1e-5 * brought.abs(), "{flow} by the law, {brought} m³/s in pieces");
    }

    /// A leak in a cable that is divided there changes the rest as if the cable had been divided from the beginning.
    #[test]
    fn dividing_a_line_changes_nothing(
        (k, kft) in (0.02_f64..0.4, 1.0_f64..12.0),
        (usage, feed) in (0.05_f64..4.0, 3.0_f64..14.0),
        (part, other) in (0.05_f64..0.95, 0.5_f64..20.0),
    ) {
        let cable = Cable { k, kft, usage, feed, beyond: 0.5 };
        let Some((network, start, link, end, normal)) = cable.normal() else { return Ok(()) };
        prop_assume!(pascals(&normal, end).unwrap() > 0.1 * PSI);
        let (mut whole, _) = following(&network, &normal);
        whole.hold(start, psi(other));
        let mut divided = whole.clone();
        let place = Length::from_metres(kft * 1e3 * FOOT * part);
        let between = divided.split(link, place).unwrap();
        let (one, two) = (solve(&whole, &air()).unwrap(), solve(&divided, &air()).unwrap());
        let inside = one.profile(link, place).unwrap() - air().ambient;
        let node = pascals(&two, between).unwrap();
        prop_assert!((inside.pascals() - node).abs() < 1e-4, "{} Pa inside, {node} Pa between", inside.pascals());
        let ends = (pascals(&one, end).unwrap(), pascals(&two, end).unwrap());
        prop_assert!((ends.0 - ends.1).abs() < 1e-4, "{ends:?}");
        let past = one.flow_inside(link, place).unwrap().cubic_metres_per_second();
        let out = two.link(link).unwrap().outflow.cubic_metres_per_second();
        prop_assert!((past - out).abs() <= 1e-9 * past.abs() + 1e-14, "{past} inside, {out} m³/s at the place");
    }

    /// More pressure loses more, and everywhere as much more as the squares say where nothing flows otherwise.
    #[test]
    fn losses_follow_the_squares(factor in 0.1_f64..3.0, usage in 0.01_f64..1.0) {
        // So short that the pressure is the same all along it.
        let cable = Cable { k: 0.1, kft: 1e-6, usage, feed: 8.0, beyond: 0.0 };
        let (network, start, link, _, normal) = cable.normal().unwrap();
        let (mut leaking, _) = following(&network, &normal);
        let outside = air().ambient.pascals();
        let squared = |gauge: Pressure| (gauge.pascals() + outside).powi(2) - outside * outside;
        leaking.hold(start, psi(8.0 * factor));
        let state = solve(&leaking, &air()).unwrap();
        let lost = state.link(link).unwrap().inflow.cubic_metres_per_second() / SCFH;
        let expected = usage * squared(psi(8.0 * factor)) / squared(psi(8.0));
        prop_assert!((lost - expected).abs() < 1e-5 * expected, "{lost}, {expected} scfh");
        let twice = normal.leakage(link).unwrap();
        leaking.follow(link, Some(twice.changed(twice.usage() * 2.0, 1.0)));
        let doubled = solve(&leaking, &air()).unwrap().link(link).unwrap().inflow.cubic_metres_per_second() / SCFH;
        prop_assert!((doubled - 2.0 * expected).abs() < 1e-5 * expected, "{doubled}, {expected} scfh");
    }
}

/// What the pressure behind a regulator does with usage that follows it: by ∫dx/y² with y the parabola of the normal state, worked
/// out by hand for a cable that nothing leaves. u = A·y + B·y·∫dx/y², and no flow at the far end.
#[test]
fn a_closed_form() {
    let cable = Cable {
        k: 0.1,
        kft: 10.0,
        usage: 3.0,
        feed: 8.0,
        beyond: 0.0,
    };
    let (network, start, _, end, normal) = cable.normal().unwrap();
    let (mut leaking, _) = following(&network, &normal);
    leaking.hold(start, psi(5.0));
    let state = solve(&leaking, &air()).unwrap();
    // Dead end: u′(1) = 0. With y′(1) = 0 too, B/y(1) = 0, so that u is in proportion to y all along.
    let outside = air().ambient.pascals();
    let squared = |gauge: f64| (gauge * PSI + outside).powi(2) - outside * outside;
    let far = pascals(&normal, end).unwrap() / PSI;
    let expected = squared(far) * squared(5.0) / squared(8.0);
    let found = squared(pascals(&state, end).unwrap() / PSI);
    assert!(
        (found / expected - 1.0).abs() < 1e-9,
        "{found} Pa², {expected} Pa² expected"
    );
}

/// A line that air did not reach has no normal pressure, and one that usage empties has none above the air outside.
#[test]
fn what_has_no_normal_pressure_is_named() {
    let mut network = Network::new();
    let (dryer, cable, alone, beyond) = (network.node(), network.node(), network.node(), network.node());
    network.supply(
        dryer,
        Supply {
            delivers: psi(8.0),
            capacity: None,
        },
    );
    let fed = network.link(dryer, cable, section(0.1, 3.0, 1.0));
    let dead = network.link(alone, beyond, section(0.1, 3.0, 1.0));
    let low = network.node();
    let emptied = network.link(cable, low, section(0.1, 9.0, 15.0));
    let normal = solve(&network, &air()).unwrap();
    assert!(pascals(&normal, low).unwrap() < 0.0);
    let (_, unknown) = following(&network, &normal);
    assert_eq!(unknown, [dead, emptied]);
    assert!(!unknown.contains(&fed));
}
