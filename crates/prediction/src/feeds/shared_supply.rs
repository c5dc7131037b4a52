//! What arrives where several loads share conductors.
//!
//! A load that holds its power draws more the less voltage its panel has, so the panels' voltages and the currents are
//! found together, by Newton's method: each load's current is taken as a straight line in the voltage of its panel, the
//! tree of conductors is then solved from its far ends to the battery and back, and so on. A load's current is a convex
//! falling function of the voltage. Beginning at the battery's voltage, no step therefore goes too far: the voltages
//! fall until nothing moves, or, where no voltage holds the loads, until one of the lines has no solution.

use drysheath_engineering::feeds::{Arrival, FeedError, arrival};
use drysheath_engineering::measure::{Power, Resistance, Voltage};
use drysheath_office::{Given, ThingId};

use super::supplies::{Battery, PanelIndex, Source, Supplies};
use super::{Conductor, Feed, Leaf};

/// Voltages that move less than this have settled.
const SETTLED: f64 = 1e-9;
/// A few steps suffice unless the loads take the very last that the conductors can carry.
const MOST_STEPS: u32 = 64;
/// Halvings in the search for the most that a load can take beside the others.
const HALVINGS: u32 = 40;
/// Second feeds of loads on one supply, beyond which something else is meant than loads with two feeds.
const MOST_SECOND_FEEDS: usize = 64;

/// The feeds of all loads of which everything is known, in the order of `leaves`.
pub(super) fn feeds(supplies: &Supplies, leaves: &[Leaf], temperature: Given) -> Vec<Feed> {
    let first_panel = |leaf: &Leaf| match leaf.source {
        Source::Battery(_) => None,
        Source::Panel(panel) => Some(supplies.panels[panel].first),
    };
    // Loads behind one supply are adjacent, and so do the feeds of one load.
    let leaves = leaves.iter().enumerate();
    let mut order: Vec<_> = leaves
        .map(|(at, leaf)| (first_panel(leaf), leaf.load, at, leaf))
        .collect();
    order.sort_unstable_by_key(|(panel, load, at, _)| (*panel, *load, *at));
    let mut found = Vec::with_capacity(order.len());
    for together in order.chunk_by(|one, other| one.0.is_some() && one.0 == other.0) {
        let routes: Option<Vec<_>> = together
            .iter()
            .map(|(_, _, at, leaf)| Route::new(supplies, leaf, *at))
            .collect();
        if let Some(routes) = routes {
            arrivals(supplies, &routes, &mut |route, nodes, arrival| {
                found.push((route.at, route.feed(nodes, arrival, temperature)));
            });
        }
    }
    found.sort_unstable_by_key(|(at, _)| *at);
    found.into_iter().map(|(_, feed)| feed).collect()
}

/// A load's path to its battery, of which everything is known.
struct Route<'s> {
    /// The number of its leaf.
    at: usize,
    load: ThingId,
    battery: &'s Battery,
    source: Given,
    draws: Given,
    /// The supplies of the panels from the load to the battery, with the panels' numbers.
    supplies: Vec<(PanelIndex, Conductor)>,
    own: Conductor,
    total: Resistance,
}

impl<'s> Route<'s> {
    fn new(plan: &'s Supplies, leaf: &Leaf, at: usize) -> Option<Self> {
        let (draws, own) = leaf.draws.zip(leaf.conductor)?;
        let mut supplies = Vec::new();
        let mut total = own.resistance;
        let mut source = leaf.source;
        let battery = loop {
            match source {
                Source::Battery(battery) => break &plan.batteries[battery],
                Source::Panel(number) => {
                    let panel = &plan.panels[number];
                    let supply = panel.supply?;
                    total = total + supply.resistance;
                    supplies.push((number, supply));
                    source = panel.source;
                }
            }
        };
        Some(Self {
            at,
            load: leaf.load,
            battery,
            source: battery.voltage?,
            draws,
            supplies,
            own,
            total,
        })
    }

    fn power(&self) -> Power {
        Power::from_watts(self.draws.quantity.si())
    }

    fn voltage(&self) -> Voltage {
        Voltage::from_volts(self.source.quantity.si())
    }

    /// What arrives if no other load draws.
    fn alone(&self) -> Result<Arrival, FeedError> {
        arrival(self.voltage(), self.power(), self.total)
    }

    /// How much the load asks of its feed.
    fn strain(&self) -> f64 {
        self.power().watts() * self.total.ohms()
    }

    fn feed(&self, nodes: &[Node], arrival: Result<Arrival, FeedError>, temperature: Given) -> Feed {
        let shared = |(panel, supply): &(PanelIndex, Conductor)| Conductor {
            shared_by: position(nodes, *panel)
                .and_then(|at| nodes.get(at))
                .map_or(1, |node| node.loads),
            ..*supply
        };
        Feed {
            load: self.load,
            battery: self.battery.thing,
            source: self.source,
            draws: self.draws,
            temperature,
            conductors: self.supplies.iter().rev().map(shared).chain([self.own]).collect(),
            total: self.total,
            arrival,
        }
    }
}

/// Finds what arrives at the loads that share a supply, which come sorted by load, and hands it to `found`.
fn arrivals(
    plan: &Supplies,
    routes: &[Route<'_>],
    found: &mut impl FnMut(&Route<'_>, &[Node], Result<Arrival, FeedError>),
) {
    if let [only] = routes {
        found(only, &[], only.alone());
        return;
    }
    let mut plant = Plant::new(plan, routes);
    let alone: Vec<_> = routes.iter().map(Route::alone).collect();
    // What cannot run even by itself brings down what is beside it.
    let failing = |(at, alone): &(usize, &Result<Arrival, FeedError>)| alone.is_err() && plant.draws_at(*at);
    if alone.iter().enumerate().any(|it| failing(&it)) {
        for (at, alone) in alone.iter().enumerate().filter(failing) {
            if let Some(route) = routes.get(at) {
                found(route, &plant.nodes, *alone);
            }
        }
        return;
    }
    if plant.draws.iter().filter(|draw| draw.second_of.is_some()).count() > MOST_SECOND_FEEDS {
        return;
    }
    if !plant.holds() {
        let firsts = routes.iter().enumerate().filter(|(at, _)| plant.draws_at(*at));
        let strained = firsts.max_by(|(_, one), (_, other)| one.strain().total_cmp(&other.strain()));
        if let Some((at, route)) = strained {
            let error = plant.brink(at, route);
            found(route, &plant.nodes, Err(error));
        }
        return;
    }
    let mut arrivals: Vec<_> = (0..routes.len()).map(|at| plant.arrival(at)).collect();
    for (at, (route, (alone, slot))) in routes.iter().zip(alone.into_iter().zip(&mut arrivals)).enumerate() {
        if let Some(first) = plant.draws.get(at).and_then(|draw| draw.second_of) {
            *slot = alone.and_then(|_| plant.arrival_instead(first, at, route));
        }
    }
    for (route, arrival) in routes.iter().zip(arrivals) {
        found(route, &plant.nodes, arrival);
    }
}

/// A battery, the supplies of its panels and the loads on them.
struct Plant {
    source: Voltage,
    /// Sorted by panel, and so from the battery outwards.
    nodes: Vec<Node>,
    /// One for each route.
    draws: Vec<Draw>,
}

/// A panel and the conductors that lead to it.
struct Node {
    /// The number of the panel among the supplies.
    panel: PanelIndex,
    /// The number of the panel before it in the list, if there is one.
    above: Option<usize>,
    /// Resistance of both conductors of its supply, Ω.
    ohms: f64,
    /// How many loads draw through it.
    loads: u32,
    volts: f64,
    /// The current as a straight line: at no voltage, and for each volt.
    line: (f64, f64),
}

/// A load at the end of a conductor of its own.
struct Draw {
    /// The number of its panel in the list of nodes.
    node: usize,
    ohms: f64,
    watts: f64,
    draws: bool,
    /// The first feed of the same load: of all its feeds only that one draws.
    second_of: Option<usize>,
}

impl Plant {
    fn new(plan: &Supplies, routes: &[Route<'_>]) -> Self {
        let supplies = routes.iter().flat_map(|route| &route.supplies);
        let mut panels: Vec<_> = supplies
            .map(|(panel, supply)| (*panel, supply.resistance.ohms()))
            .collect();
        panels.sort_unstable_by_key(|(panel, _)| *panel);
        panels.dedup_by_key(|(panel, _)| *panel);
        let node = |(panel, ohms)| Node {
            panel,
            above: None,
            ohms,
            loads: 0,
            volts: 0.0,
            line: (0.0, 0.0),
        };
        let mut nodes: Vec<Node> = panels.into_iter().map(node).collect();
        for at in 0..nodes.len() {
            let panel = nodes.get(at).map(|node| &plan.panels[node.panel]);
            if let Some(Source::Panel(number)) = panel.map(|panel| panel.source) {
                let above = position(&nodes, number);
                if let Some(node) = nodes.get_mut(at) {
                    node.above = above;
                }
            }
        }
        let mut draws: Vec<Draw> = Vec::with_capacity(routes.len());
        let mut first = None;
        // For each node the last load that was counted.
        let mut counted = vec![None; nodes.len()];
        for (at, route) in routes.iter().enumerate() {
            let second_of = first.filter(|(load, _)| *load == route.load).map(|(_, first)| first);
            if second_of.is_none() {
                first = Some((route.load, at));
            }
            for (panel, _) in &route.supplies {
                let Some(node) = position(&nodes, *panel) else { continue };
                let slot = counted.get_mut(node).zip(nodes.get_mut(node));
                if let Some((last, node)) = slot.filter(|(last, _)| **last != Some(route.load)) {
                    *last = Some(route.load);
                    node.loads += 1;
                }
            }
            let panel = route.supplies.first().and_then(|(panel, _)| position(&nodes, *panel));
            draws.push(Draw {
                node: panel.unwrap_or_default(),
                ohms: route.own.resistance.ohms(),
                watts: route.power().watts(),
                draws: second_of.is_none(),
                second_of,
            });
        }
        Self {
            source: routes.first().map_or(Voltage::from_volts(0.0), Route::voltage),
            nodes,
            draws,
        }
    }

    fn draws_at(&self, at: usize) -> bool {
        self.draws.get(at).is_some_and(|draw| draw.draws)
    }

    fn turn(&mut self, at: usize, draws: bool) {
        if let Some(draw) = self.draws.get_mut(at) {
            draw.draws = draws;
        }
    }

    /// Finds the voltages at which all loads have their power; without them the answer is no.
    fn holds(&mut self) -> bool {
        let source = self.source.volts().abs();
        for node in &mut self.nodes {
            node.volts = source;
        }
        for _ in 0..MOST_STEPS {
            match self.step(source) {
                Some(moved) if moved < SETTLED => return true,
                Some(_) => {}
                None => return false,
            }
        }
        // Only on the very brink.
        false
    }

    /// One of Newton's steps: how far it moves the voltages, or nothing where no voltages hold the loads.
    fn step(&mut self, source: f64) -> Option<f64> {
        for node in &mut self.nodes {
            node.line = (0.0, 0.0);
        }
        for draw in self.draws.iter().filter(|draw| draw.draws) {
            let node = self.nodes.get_mut(draw.node)?;
            let (current, slope) = draw.current(node.volts)?;
            node.line.0 += current - slope * node.volts;
            node.line.1 += slope;
        }
        // From the far ends to the battery: what goes into a panel, as a line in the voltage before its supply.
        for at in (0..self.nodes.len()).rev() {
            let node = self.nodes.get_mut(at)?;
            let give = 1.0 + node.line.1 * node.ohms;
            if give.is_nan() || give <= 0.0 {
                return None;
            }
            node.line = (node.line.0 / give, node.line.1 / give);
            let (line, above) = (node.line, node.above);
            if let Some(above) = above {
                let above = self.nodes.get_mut(above)?;
                above.line = (above.line.0 + line.0, above.line.1 + line.1);
            }
        }
        // And back: the voltages.
        let mut moved: f64 = 0.0;
        for at in 0..self.nodes.len() {
            let above = self.nodes.get(at)?.above;
            let before = above.map_or(Some(source), |above| self.nodes.get(above).map(|node| node.volts))?;
            let node = self.nodes.get_mut(at)?;
            let volts = before - node.ohms * (node.line.0 + node.line.1 * before);
            if !volts.is_finite() {
                return None;
            }
            moved = moved.max((volts - node.volts).abs());
            node.volts = volts;
        }
        Some(moved)
    }

    /// What arrives at a load once the voltages are found.
    fn arrival(&self, at: usize) -> Result<Arrival, FeedError> {
        let draw = self.draws.get(at).ok_or(FeedError::Unusable)?;
        let node = self.nodes.get(draw.node).ok_or(FeedError::Unusable)?;
        let volts = Voltage::from_volts(node.volts.copysign(self.source.volts()));
        arrival(volts, Power::from_watts(draw.watts), Resistance::from_ohms(draw.ohms))
    }

    /// What arrives at a load over another of its feeds than the first.
    fn arrival_instead(&mut self, first: usize, at: usize, route: &Route<'_>) -> Result<Arrival, FeedError> {
        self.turn(first, false);
        self.turn(at, true);
        let arrival = if self.holds() {
            self.arrival(at)
        } else {
            Err(self.brink(at, route))
        };
        self.turn(at, false);
        self.turn(first, true);
        arrival
    }

    /// Why a load fails that holds only without the others, with the most that it could take beside them.
    fn brink(&mut self, at: usize, route: &Route<'_>) -> FeedError {
        let (mut least, mut most) = (0.0, route.power().watts());
        for _ in 0..HALVINGS {
            let between = f64::midpoint(least, most);
            if let Some(draw) = self.draws.get_mut(at) {
                draw.watts = between;
            }
            if self.holds() {
                least = between;
            } else {
                most = between;
            }
        }
        if let Some(draw) = self.draws.get_mut(at) {
            draw.watts = route.power().watts();
        }
        FeedError::Collapse {
            source: Voltage::from_volts(self.source.volts().abs()),
            load: route.power(),
            resistance: route.total,
            most: Power::from_watts(least),
        }
    }
}

impl Draw {
    /// The current at this voltage of the panel, and how it rises with the voltage. Nothing where the power cannot arrive.
    fn current(&self, volts: f64) -> Option<(f64, f64)> {
        let discriminant = volts * volts - 4.0 * self.watts * self.ohms;
        if volts.is_nan() || volts <= 0.0 || discriminant.is_nan() || discriminant < 0.0 {
            return None;
        }
        let root = discriminant.sqrt();
        let arrived = f64::midpoint(volts, root);
        let rise = f64::midpoint(1.0, volts / root);
        Some((self.watts / arrived, -self.watts / (arrived * arrived) * rise))
    }
}

/// The number of a panel in the list.
fn position(nodes: &[Node], panel: PanelIndex) -> Option<usize> {
    nodes.binary_search_by_key(&panel, |node| node.panel).ok()
}
