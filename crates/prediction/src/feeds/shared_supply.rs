//! Voltages at loads that share conductors.
//!
//! A load that holds its power draws more the less voltage its panel has, so the panels' voltages and the currents are
//! found together, by Newton's method: each load's current is taken as a straight line in the voltage of its panel, the
//! tree of conductors is then solved from its far ends to the battery and back, and so on. A load's current is a convex
//! falling function of the voltage. Beginning at the battery's voltage, no step therefore goes too far: the voltages
//! fall until nothing moves, or, where no voltage holds the loads, until one of the lines has no solution.

use drysheath_engineering::feeds::{ReceivingEnd, VoltageCollapse, receiving_end};
use drysheath_engineering::index::IndexVec;
use drysheath_engineering::index_type;
use drysheath_engineering::measure::{Power, Resistance, Voltage};
use drysheath_office::{GivenQuantity, ThingId};
use rustc_hash::FxHashMap;

use super::supplies::{Battery, PanelIndex, Source, Supplies};
use super::{ConductorRun, Feed, FeedEnd};

/// Voltages that move less than this have settled.
const SETTLED: f64 = 1e-9;
/// Limit of Newton steps: a few suffice unless the loads take nearly all that the conductors can carry.
const MOST_STEPS: u32 = 64;
/// Bisection steps in the search for the most power that a load can take beside the others.
const HALVINGS: u32 = 40;
/// Limit of second feeds on one supply: more is not a case of loads with two feeds.
const MOST_SECOND_FEEDS: usize = 64;

index_type! {
    /// Index of a panel in a plant, counted from the battery outwards.
    struct NodeIndex;
    /// Index of a feed in a plant, sorted by load and, for each load, in the order of the file.
    struct DrawIndex;
}

/// The feeds of all loads whose figures are all known, in the order of `leaves`.
pub(super) fn feeds(supplies: &Supplies, leaves: &[FeedEnd], temperature: GivenQuantity) -> Vec<Feed> {
    let first_panel = |leaf: &FeedEnd| match leaf.source {
        Source::Battery(_) => None,
        Source::Panel(panel) => Some(supplies.panels[panel].first),
    };
    // Sort so that loads behind one supply are adjacent, and so are the feeds of one load.
    let leaves = leaves.iter().enumerate();
    let mut order: Vec<_> = leaves
        .map(|(at, leaf)| (first_panel(leaf), leaf.load, at, leaf))
        .collect();
    order.sort_unstable_by_key(|(panel, load, at, _)| (*panel, *load, *at));
    let mut found = Vec::with_capacity(order.len());
    for together in order.chunk_by(|one, other| one.0.is_some() && one.0 == other.0) {
        let feed_paths: Option<IndexVec<DrawIndex, _>> = together
            .iter()
            .map(|(_, _, at, leaf)| FeedPath::new(supplies, leaf, *at))
            .collect();
        if let Some(feed_paths) = feed_paths {
            receiving_ends(supplies, &feed_paths, &mut |feed_path, loads, receiving_end| {
                found.push((feed_path.at, feed_path.feed(loads, receiving_end, temperature)));
            });
        }
    }
    found.sort_unstable_by_key(|(at, _)| *at);
    found.into_iter().map(|(_, feed)| feed).collect()
}

/// The path from a load to its battery, with all figures known.
struct FeedPath<'s> {
    /// Index of its leaf.
    at: usize,
    load: ThingId,
    battery: &'s Battery,
    source: GivenQuantity,
    draws: GivenQuantity,
    /// The panels from the load to the battery, with the supply of each.
    supplies: Vec<(PanelIndex, &'s ConductorRun)>,
    own: &'s ConductorRun,
    total: Resistance,
}

impl<'s> FeedPath<'s> {
    fn new(plan: &'s Supplies, leaf: &'s FeedEnd, at: usize) -> Option<Self> {
        let (draws, own) = leaf.draws.zip(leaf.conductor.as_ref())?;
        let mut supplies = Vec::new();
        let mut total = own.resistance();
        let mut source = leaf.source;
        let battery = loop {
            match source {
                Source::Battery(battery) => break &plan.batteries[battery],
                Source::Panel(number) => {
                    let panel = &plan.panels[number];
                    let supply = panel.supply.as_ref()?;
                    total = total + supply.resistance();
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

    /// Voltage and current at the load if no other load draws.
    fn alone(&self) -> Result<ReceivingEnd, VoltageCollapse> {
        receiving_end(self.voltage(), self.power(), self.total)
    }

    /// Power times resistance of the feed: how hard the load strains it.
    fn strain(&self) -> f64 {
        self.power().watts() * self.total.ohms()
    }

    /// Builds the feed; `loads` gives the number of loads that draw through a panel.
    fn feed(
        &self,
        loads: Loads<'_>,
        receiving_end: Result<ReceivingEnd, VoltageCollapse>,
        temperature: GivenQuantity,
    ) -> Feed {
        let supplies = self.supplies.iter().rev();
        let shared = supplies.flat_map(|(panel, supply)| supply.shared_by(loads(*panel)));
        Feed {
            load: self.load,
            battery: self.battery.thing,
            source: self.source,
            draws: self.draws,
            temperature,
            conductors: shared.chain(self.own.shared_by(1)).collect(),
            total: self.total,
            receiving_end,
        }
    }
}

/// Gives the number of loads that draw through a panel.
type Loads<'l> = &'l dyn Fn(PanelIndex) -> u32;

/// Computes the voltages at the loads that share a supply, sorted by load, and passes them to `found`.
fn receiving_ends(
    plan: &Supplies,
    feed_paths: &IndexVec<DrawIndex, FeedPath<'_>>,
    found: &mut impl FnMut(&FeedPath<'_>, Loads<'_>, Result<ReceivingEnd, VoltageCollapse>),
) {
    if let [only] = feed_paths.as_slice() {
        found(only, &|_| 1, only.alone());
        return;
    }
    let mut plant = PowerPlant::new(plan, feed_paths);
    let alone: IndexVec<DrawIndex, _> = feed_paths.iter().map(FeedPath::alone).collect();
    // A load that cannot run even alone brings down the loads beside it.
    let failing =
        |(at, alone): &(DrawIndex, &Result<ReceivingEnd, VoltageCollapse>)| alone.is_err() && plant.draws[*at].draws;
    if alone.enumerated().any(|it| failing(&it)) {
        for (at, alone) in alone.enumerated().filter(failing) {
            found(&feed_paths[at], &|panel| plant.loads(panel), *alone);
        }
        return;
    }
    if plant.draws.iter().filter(|draw| draw.second_of.is_some()).count() > MOST_SECOND_FEEDS {
        return;
    }
    if !plant.holds() {
        let firsts = feed_paths.enumerated().filter(|(at, _)| plant.draws[*at].draws);
        let strained = firsts.max_by(|(_, one), (_, other)| one.strain().total_cmp(&other.strain()));
        if let Some((at, feed_path)) = strained {
            let error = plant.collapse_limit(at, feed_path);
            found(feed_path, &|panel| plant.loads(panel), Err(error));
        }
        return;
    }
    let mut receiving_ends: IndexVec<DrawIndex, _> = plant.draws.keys().map(|at| plant.receiving_end(at)).collect();
    for (at, feed_path) in feed_paths.enumerated() {
        if let Some(first) = plant.draws[at].second_of {
            receiving_ends[at] = alone[at].and_then(|_| plant.second_feed_end(first, at, feed_path));
        }
    }
    for (at, feed_path) in feed_paths.enumerated() {
        found(feed_path, &|panel| plant.loads(panel), receiving_ends[at]);
    }
}

/// A battery, the supplies of its panels and the loads on them.
struct PowerPlant {
    source: Voltage,
    /// Sorted by panel, and so from the battery outwards.
    nodes: IndexVec<NodeIndex, Node>,
    /// Node of each panel.
    node_of: FxHashMap<PanelIndex, NodeIndex>,
    /// One for each path.
    draws: IndexVec<DrawIndex, LoadDraw>,
}

/// A panel and the conductors that lead to it.
struct Node {
    /// The panel that feeds it. `None` if the battery does.
    above: Option<NodeIndex>,
    /// Resistance of both conductors of its supply, Ω.
    ohms: f64,
    /// Number of loads that draw through it.
    loads: u32,
    volts: f64,
    /// Current as a linear function of voltage: value at 0 V, and slope in A/V.
    line: (f64, f64),
}

/// A load at the end of its own conductor.
struct LoadDraw {
    /// The panel that feeds it.
    node: NodeIndex,
    ohms: f64,
    watts: f64,
    draws: bool,
    /// The first feed of the same load: only that one draws.
    second_of: Option<DrawIndex>,
}

impl PowerPlant {
    fn new(plan: &Supplies, feed_paths: &IndexVec<DrawIndex, FeedPath<'_>>) -> Self {
        let supplies = feed_paths.iter().flat_map(|feed_path| &feed_path.supplies);
        let mut panels: Vec<_> = supplies
            .map(|(panel, supply)| (*panel, supply.resistance().ohms()))
            .collect();
        panels.sort_unstable_by_key(|(panel, _)| *panel);
        panels.dedup_by_key(|(panel, _)| *panel);
        let mut plant = Self {
            source: feed_paths
                .iter()
                .next()
                .map_or(Voltage::from_volts(0.0), FeedPath::voltage),
            nodes: IndexVec::with_capacity(panels.len()),
            node_of: FxHashMap::default(),
            draws: IndexVec::with_capacity(feed_paths.len()),
        };
        for (panel, ohms) in panels {
            // A panel is pushed after the panel that feeds it.
            let above = match plan.panels[panel].source {
                Source::Panel(above) => Some(plant.node(above)),
                Source::Battery(_) => None,
            };
            let node = plant.nodes.push(Node {
                above,
                ohms,
                loads: 0,
                volts: 0.0,
                line: (0.0, 0.0),
            });
            plant.node_of.insert(panel, node);
        }
        let mut first = None;
        // The last load that was counted at each node.
        let mut counted: IndexVec<NodeIndex, Option<ThingId>> = IndexVec::filled(None, plant.nodes.len());
        for feed_path in feed_paths {
            // A path that shares its supply leads through a panel.
            let Some((panel, _)) = feed_path.supplies.first() else {
                continue;
            };
            let second_of = first
                .filter(|(load, _)| *load == feed_path.load)
                .map(|(_, first)| first);
            for (panel, _) in &feed_path.supplies {
                let node = plant.node(*panel);
                if counted[node].replace(feed_path.load) != Some(feed_path.load) {
                    plant.nodes[node].loads += 1;
                }
            }
            let draw = plant.draws.push(LoadDraw {
                node: plant.node(*panel),
                ohms: feed_path.own.resistance().ohms(),
                watts: feed_path.power().watts(),
                draws: second_of.is_none(),
                second_of,
            });
            if second_of.is_none() {
                first = Some((feed_path.load, draw));
            }
        }
        plant
    }

    /// The node of a panel.
    #[expect(
        clippy::indexing_slicing,
        reason = "a panel of another plant is a mistake in the program"
    )]
    fn node(&self, panel: PanelIndex) -> NodeIndex {
        self.node_of[&panel]
    }

    /// Number of loads that draw through a panel.
    fn loads(&self, panel: PanelIndex) -> u32 {
        self.nodes[self.node(panel)].loads
    }

    /// Finds the voltages at which all loads get their power. Returns whether such voltages exist.
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
        // Reached only at the very limit of what the conductors carry.
        false
    }

    /// One Newton step: returns the largest change of a voltage, or `None` where no voltages hold the loads.
    fn step(&mut self, source: f64) -> Option<f64> {
        for node in &mut self.nodes {
            node.line = (0.0, 0.0);
        }
        for draw in self.draws.iter().filter(|draw| draw.draws) {
            let node = &mut self.nodes[draw.node];
            let (current, slope) = draw.current(node.volts)?;
            node.line.0 += current - slope * node.volts;
            node.line.1 += slope;
        }
        // From the far ends to the battery: current into each panel, as a linear function of the voltage before its
        // supply.
        for at in self.nodes.keys().rev() {
            let node = &mut self.nodes[at];
            let give = 1.0 + node.line.1 * node.ohms;
            if give.is_nan() || give <= 0.0 {
                return None;
            }
            node.line = (node.line.0 / give, node.line.1 / give);
            let (line, above) = (node.line, node.above);
            if let Some(above) = above {
                let above = &mut self.nodes[above];
                above.line = (above.line.0 + line.0, above.line.1 + line.1);
            }
        }
        // From the battery outwards: the voltages.
        let mut moved: f64 = 0.0;
        for at in self.nodes.keys() {
            let before = self.nodes[at].above.map_or(source, |above| self.nodes[above].volts);
            let node = &mut self.nodes[at];
            let volts = before - node.ohms * (node.line.0 + node.line.1 * before);
            if !volts.is_finite() {
                return None;
            }
            moved = moved.max((volts - node.volts).abs());
            node.volts = volts;
        }
        Some(moved)
    }

    /// Voltage and current at a load, once the voltages are found.
    fn receiving_end(&self, at: DrawIndex) -> Result<ReceivingEnd, VoltageCollapse> {
        let draw = &self.draws[at];
        let volts = Voltage::from_volts(self.nodes[draw.node].volts.copysign(self.source.volts()));
        receiving_end(volts, Power::from_watts(draw.watts), Resistance::from_ohms(draw.ohms))
    }

    /// Voltage and current at a load that is fed over a feed other than its first.
    fn second_feed_end(
        &mut self,
        first: DrawIndex,
        at: DrawIndex,
        feed_path: &FeedPath<'_>,
    ) -> Result<ReceivingEnd, VoltageCollapse> {
        self.draws[first].draws = false;
        self.draws[at].draws = true;
        let receiving_end = if self.holds() {
            self.receiving_end(at)
        } else {
            Err(self.collapse_limit(at, feed_path))
        };
        self.draws[at].draws = false;
        self.draws[first].draws = true;
        receiving_end
    }

    /// Why a load fails that runs only without the others, with the most power that it could take beside them.
    fn collapse_limit(&mut self, at: DrawIndex, feed_path: &FeedPath<'_>) -> VoltageCollapse {
        let (mut least, mut most) = (0.0, feed_path.power().watts());
        for _ in 0..HALVINGS {
            let between = f64::midpoint(least, most);
            self.draws[at].watts = between;
            if self.holds() {
                least = between;
            } else {
                most = between;
            }
        }
        self.draws[at].watts = feed_path.power().watts();
        VoltageCollapse {
            source: Voltage::from_volts(self.source.volts().abs()),
            load: feed_path.power(),
            resistance: feed_path.total,
            most: Power::from_watts(least),
        }
    }
}

impl LoadDraw {
    /// Current at a voltage of the panel, and its derivative. `None` where the power cannot arrive.
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
